"""Descriptions that are as they should be, and the schema an editor reads."""

from __future__ import annotations

from datetime import date

import pytest

from patency.errors import InputErrors
from patency.evidence import description_schema, read_description
from patency.evidence.description import PressureColumn, StageColumn, TemperatureColumn

# The example of the format's own description.
EXAMPLE = """\
format: patency-record/1
time:    {column: time, unit: s}            # seconds from start, or unit: iso8601 with offset
decimal: "."                                # or ","
columns:
  T1:   {quantity: temperature, unit: degC, place: chamber, uncertainty: 0.5, range: [0, 110], calibrated: 2026-05-01}
  T2:   {quantity: temperature, unit: degC, place: load, uncertainty: 0.3}
  P1:   {quantity: pressure, unit: mbar, reference: gauge, place: circulation, uncertainty: 2}
  arm:  {quantity: rotation, unit: rpm, place: upper arm}
  cond: {quantity: conductivity, unit: uS/cm, place: chamber}
  dose: {quantity: dosed volume, unit: mL, place: detergent}
  step: {quantity: stage}                   # optional: flush, clean, rinse, disinfect, dry; or pulse, heat, hold, ...
machine: Alder                              # optional
programme: gentle_lumen                     # optional
"""


def test_the_example_of_the_format_is_read_whole() -> None:
    description = read_description(EXAMPLE)
    assert list(description.columns) == ["T1", "T2", "P1", "arm", "cond", "dose", "step"]
    first = description.columns["T1"]
    assert isinstance(first, TemperatureColumn)
    assert (first.uncertainty, first.range, first.calibrated) == (0.5, (0.0, 110.0), date(2026, 5, 1))
    pressure = description.columns["P1"]
    assert isinstance(pressure, PressureColumn)
    assert pressure.reference == "gauge"
    assert isinstance(description.columns["step"], StageColumn)
    assert (description.machine, description.programme, description.decimal) == ("Alder", "gentle_lumen", ".")


def test_what_may_be_left_out_has_no_value() -> None:
    text = "format: patency-record/1\ntime: {column: t, unit: iso8601}\ncolumns: {x: {quantity: stage}}\n"
    description = read_description(text)
    assert (description.machine, description.programme, description.decimal) == (None, None, ".")


def test_a_column_may_bear_a_name_that_yaml_would_read_as_something_else() -> None:
    text = "format: patency-record/1\ntime: {column: t, unit: s}\ncolumns: {no: {quantity: stage}}\n"
    assert list(read_description(text).columns) == ["no"]


@pytest.mark.parametrize(
    ("columns", "says"),
    [
        ("{}", "description:3: columns: a mapping cannot stand here (expected: at least one)"),
        ('{"": {quantity: stage}}', "description:3: columns['']: '' cannot stand here (expected: some text)"),
        ("[a]", "description:3: columns: a list cannot stand here (expected: a mapping of keys and values)"),
    ],
)
def test_columns_without_content_are_refused(columns: str, says: str) -> None:
    with pytest.raises(InputErrors) as caught:
        read_description(f"format: patency-record/1\ntime: {{column: t, unit: s}}\ncolumns: {columns}\n")
    assert caught.value.line == says


def test_the_schema_forbids_unknown_keys_and_lists_the_units() -> None:
    schema = description_schema()
    assert schema["additionalProperties"] is False
    assert schema["$defs"]["TemperatureColumn"]["properties"]["unit"]["enum"] == ["degC", "°C", "degF", "K"]
    assert "k = 2" in schema["$defs"]["PressureColumn"]["properties"]["uncertainty"]["description"]
