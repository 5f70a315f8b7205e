"""Quantities as they stand in files, both ways."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from patency.catalogue.written import Plain, WithTolerance, write_quantity
from patency.quantities import UNITS, Toleranced, parse_quantity

DIMENSIONS = sorted(UNITS)
numbers = st.just(0.0) | st.floats(min_value=1e-12, max_value=1e12) | st.floats(min_value=-1e12, max_value=-1e-12)


@given(numbers, st.sampled_from(DIMENSIONS))
def test_a_quantity_reads_back_as_exactly_the_same_number(number: float, dimension: str) -> None:
    assert parse_quantity(write_quantity(number, dimension), dimension) == Toleranced(number)


@given(numbers, numbers, st.sampled_from([name for name in DIMENSIONS if name != "temperature"]))
def test_a_tolerance_reads_back_as_exactly_the_same_number(number: float, half: float, dimension: str) -> None:
    quantity = Toleranced(number, abs(half))
    assert parse_quantity(write_quantity(quantity, dimension), dimension) == quantity


@pytest.mark.parametrize(
    ("value", "dimension", "text"),
    [
        (0.0042, "length", "4.2 mm"),
        (0.3, "length", "300 mm"),
        (1.2, "length", "1.2 m"),
        (3.0, "length", "3 m"),
        (1.5e-6, "length", "1.5 µm"),
        (Toleranced(0.005, 0.0005), "length", "5 ± 0.5 mm"),
        (600.0, "time", "10 min"),
        (3.0, "time", "3 s"),
        (3000.0, "time", "50 min"),
        (0.025, "mass", "25 g"),
        (18.0, "mass", "18 kg"),
        (100 / 60e6, "flow", "100 mL/min"),
        (0.01, "flow", "600 L/min"),
        (20000.0, "pressure", "200 mbar"),
        (1.0, "pressure", "1 Pa"),
        (0.7, "share", "70 %"),
        (20.0, "temperature", "20 °C"),
        (1.5, "number", "1.5"),
    ],
)
def test_a_quantity_is_written_as_people_write_it(value: float | Toleranced, dimension: str, text: str) -> None:
    assert write_quantity(value, dimension) == text


@pytest.mark.parametrize(
    ("mark", "text", "words"),
    [
        (
            Plain("length", above=0.0),
            "0 mm",
            "'0 mm' is too small|a length with its unit (m, cm, mm, µm, um), more than z",
        ),
        (
            Plain("length", lowest=0.0),
            "-1 mm",
            "'-1 mm' is too small|a length with its unit (m, cm, mm, µm, um), at least z",
        ),
        (Plain("share", highest=0.5), "60 %", "'60 %' is too large|a share with its unit (%), at most 50 %"),
        (Plain("length"), "1 ± 0.1 mm", "'1 ± 0.1 mm' has a tolerance|"),
        (Plain("length"), "5 s", "'5 s' has the unit 's'|a length"),
        (WithTolerance("length", above=0.0), "1 ± 1 mm", "'1 ± 1 mm' is too small|"),
        (WithTolerance("length", highest=0.001), "1 ± 0.1 mm", "'1 ± 0.1 mm' is too large|"),
        (Plain("length"), "9" * 400 + " mm", f"'{'9' * 40}'… is longer than 100 signs|a length"),
        (Plain("length"), "9" * 5000 + " mm", f"'{'9' * 40}'… is longer than 100 signs|a length"),
    ],
)
def test_a_quantity_out_of_range_is_refused_with_what_and_expected(mark: Plain, text: str, words: str) -> None:
    with pytest.raises(ValueError, match=r"\|") as refused:
        getattr(mark, "read_plain", mark.read)(text)
    assert str(refused.value).startswith(words)


def test_the_range_holds_for_the_whole_tolerance() -> None:
    assert WithTolerance("length", above=0.0).read("1 ± 0.9 mm") == Toleranced(0.001, 0.0009)
    assert Plain("angle", lowest=0.0, highest=90.0).read_plain("90 °") == 90.0


def test_a_bare_number_is_written_where_there_is_no_unit() -> None:
    mark = WithTolerance("number")
    assert [mark.write(value) for value in (2.0, Toleranced(0.5), Toleranced(0.5, 0.1))] == [2, 0.5, "0.5 ± 0.1"]
