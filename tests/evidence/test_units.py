"""Units of records against their definitions."""

from __future__ import annotations

import pytest

from patency.evidence.units import RECORD_UNITS, to_inside


# BIPM SI Brochure, 9th edition (2019); NIST Special Publication 811 (2008), appendix B.8, for Fahrenheit and psi.
@pytest.mark.parametrize(
    ("quantity", "unit", "written", "inside"),
    [
        ("temperature", "degC", 90.0, 90.0),
        ("temperature", "K", 363.15, 90.0),
        ("temperature", "degF", 194.0, 90.0),
        ("temperature", "degF", -40.0, -40.0),
        ("pressure", "Pa", 1.0, 1.0),
        ("pressure", "kPa", 20.0, 20000.0),
        ("pressure", "mbar", 200.0, 20000.0),
        ("pressure", "bar", 0.2, 20000.0),
        ("pressure", "psi", 1.0, 6894.757293168),
        ("rotation", "rpm", 30.0, 30.0),
        ("conductivity", "uS/cm", 12.0, 12.0),
        ("dosed volume", "mL", 120.0, 120e-6),
        ("dosed volume", "L", 0.12, 120e-6),
    ],
)
def test_a_unit_is_converted_by_its_definition(quantity: str, unit: str, written: float, inside: float) -> None:
    factor, offset = to_inside(quantity, unit)
    assert written * factor + offset == pytest.approx(inside, rel=1e-12)


def test_a_volume_of_a_dose_is_never_in_cubic_metres() -> None:
    assert "m3" not in RECORD_UNITS["dosed volume"]
