"""Quantities as people write them."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from patency.errors import InputError
from patency.quantities import INSIDE_UNIT, UNITS, Toleranced, expectation, parse_quantity, pattern


@pytest.mark.parametrize(
    ("written", "dimension", "inside"),
    [
        ("4.2 mm", "length", 0.0042),
        ("420 µm", "length", 0.00042),
        ("33 cm", "length", 0.33),
        ("5 min", "time", 300.0),
        ("20 °C", "temperature", 20.0),
        ("293.15 K", "temperature", 20.0),
        ("208 mbar", "pressure", 20_800.0),
        ("1.2 bar", "pressure", 120_000.0),
        ("600 L/min", "flow", 0.01),
        ("480 mL/min", "flow", 8e-6),
        ("250 g", "mass", 0.25),
        ("5 %", "share", 0.05),
        ("15 °", "angle", 15.0),
    ],
)
def test_a_written_quantity_is_the_nearest_float_in_the_unit_used_inside(
    written: str, dimension: str, inside: float
) -> None:
    assert parse_quantity(written, dimension) == Toleranced(inside)


def test_a_tolerance_is_in_the_same_unit_as_its_value() -> None:
    assert parse_quantity("4.2 ± 0.05 mm", "length") == Toleranced(0.0042, 0.00005)
    assert parse_quantity("4.2 +/- 0.05 mm", "length") == Toleranced(0.0042, 0.00005)


def test_a_temperature_tolerance_has_no_offset() -> None:
    assert parse_quantity("293.15 ± 1 K", "temperature") == Toleranced(20.0, 1.0)


@pytest.mark.parametrize(
    ("written", "what"),
    [
        (4.2, "4.2 has no unit"),
        ("4.2", "'4.2' has no unit"),
        ("4.2 bar", "has the unit 'bar'"),
        ("4,2 mm", "is not a quantity"),
        ("about 4 mm", "is not a quantity"),
        ("", "is not a quantity"),
        (True, "True is not a quantity"),
        (None, "None is not a quantity"),
        ("nan mm", "is not a quantity"),
        ("1e999 mm", "'1e999 mm' is too large, the largest number read is 1e+99"),
        ("1e-300 mm", "'1e-300 mm' is too small, the smallest number read besides 0 is 1e-99"),
        (f"4 ± 1e{'9' * 50} mm", "'… is too large"),
        (f"{'9' * 300} mm", f"'{'9' * 40}'… is longer than 100 signs"),
        (f"0.{'0' * 5000}1 mm", "'… is longer than 100 signs"),
        (f"4 {'m' * 300}", "… is longer than 100 signs"),
        ("٤ mm", "is not a quantity"),
        ("4.2 ± -0.1 mm", "has a negative tolerance"),
    ],
)
def test_what_cannot_be_read_is_refused_with_what_was_expected(written: object, what: str) -> None:
    with pytest.raises(InputError, match=re.escape(what)) as refusal:
        parse_quantity(written, "length")
    assert "a length with its unit" in refusal.value.expected


def test_a_whole_number_of_thousands_of_digits_is_refused() -> None:
    for number in (10**6000, -(10**6000)):
        with pytest.raises(InputError, match="the number is too large"):
            parse_quantity(number, "number")


def test_a_bare_number_is_a_number() -> None:
    assert parse_quantity(1.5, "number") == Toleranced(1.5)
    with pytest.raises(InputError, match="is not a quantity"):
        parse_quantity("x", "number")


@given(st.decimals(min_value=0, max_value=10_000, places=4), st.sampled_from(sorted(UNITS["length"])))
def test_the_editor_s_pattern_accepts_what_the_reader_accepts(number: object, unit: str) -> None:
    written = f"{number} {unit}"
    assert parse_quantity(written, "length").nominal >= 0
    assert re.match(pattern("length"), written)


_DIGITS = st.text("0123456789", max_size=120) | st.integers(1, 6000).map(lambda count: "7" * count)
_EXPONENTS = st.just("") | st.builds("{}{}{}".format, st.sampled_from("eE"), st.sampled_from(["", "+", "-"]), _DIGITS)
_NUMBERS = st.builds(
    "{}{}{}{}{}".format, st.sampled_from(["", "+", "-"]), _DIGITS, st.sampled_from(["", "."]), _DIGITS, _EXPONENTS
)
_WITH_UNIT = st.builds(
    "{} {} {}".format, _NUMBERS, st.just("") | _NUMBERS.map("± {}".format), st.sampled_from(["", *UNITS["pressure"]])
)


@given(st.text(max_size=20) | _WITH_UNIT | st.integers() | st.floats() | st.integers(1, 9).map(lambda n: n * 10**5000))
def test_anything_is_read_as_a_finite_quantity_or_refused_in_one_line(written: str | float) -> None:
    for dimension in ("pressure", "number"):
        value = _read_or_refused(written, dimension)
        if isinstance(value, str):
            assert len(value) < 300
            assert value.isprintable()
        else:
            assert math.isfinite(value.nominal)
            assert value.plus_minus is None or 0 <= value.plus_minus < math.inf


def _read_or_refused(written: str | float, dimension: str) -> Toleranced | str:
    try:
        return parse_quantity(written, dimension)
    except InputError as refusal:
        return refusal.line


@given(st.floats(1e-99, 1e99))
def test_a_number_of_any_size_meant_is_read_to_the_nearest_float(number: float) -> None:
    assert parse_quantity(f"{number!r} m", "length").nominal == number


def test_every_dimension_has_its_article() -> None:
    assert expectation("angle").startswith("an angle with")
    assert expectation("length").startswith("a length with")


def test_every_dimension_has_a_unit_inside_and_reads_it() -> None:
    assert set(INSIDE_UNIT) == set(UNITS)
    for dimension, unit in INSIDE_UNIT.items():
        if unit != "1":
            assert parse_quantity(f"1 {unit}", dimension) == Toleranced(1.0)
