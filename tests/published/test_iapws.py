"""Water and the saturation line against the releases of IAPWS, and against a general property library.

* IAPWS R7-97(2012), Industrial Formulation 1997, tables 35 and 36: the values for checking programs.
* IAPWS SR6-08(2011), Liquid Water at 0.1 MPa: the values for checking programs, as the test suite of the
  open-source package ``iapws`` quotes them (it names table 8, page 11); the release itself was not at hand.
* CoolProp: IAPWS-95 for the density and IAPWS R12-08 for the viscosity, both computed at 0.101325 MPa.

Agreement reached: every digit printed in the releases; density within 7.1e-7 of IAPWS-95 (the 1325 Pa between
0.1 MPa and the standard atmosphere are 6e-7 of it), viscosity within 2.9e-5 of R12-08, saturation within 1e-14.
"""

from __future__ import annotations

import pytest
from CoolProp.CoolProp import PropsSI

from patency.quantities import water

ZERO_C_K = 273.15

SATURATION_PRESSURE_MPA = [(300.0, "0.00353658941"), (500.0, "2.63889776"), (600.0, "12.3443146")]
SATURATION_TEMPERATURE_K = [(0.1, "372.755919"), (1.0, "453.035632"), (10.0, "584.149488")]


def as_printed(value: float, printed: str) -> str:
    """The value, rounded to as many decimals as the printed one has."""
    return f"{value:.{len(printed.split('.')[1])}f}"


@pytest.mark.parametrize(("kelvin", "printed"), SATURATION_PRESSURE_MPA)
def test_saturation_pressure_agrees_with_every_printed_digit_of_table_35(kelvin: float, printed: str) -> None:
    assert as_printed(water.saturation_pressure_pa(kelvin - ZERO_C_K) / 1e6, printed) == printed


@pytest.mark.parametrize(("megapascal", "printed"), SATURATION_TEMPERATURE_K)
def test_saturation_temperature_agrees_with_every_printed_digit_of_table_36(megapascal: float, printed: str) -> None:
    assert as_printed(water.saturation_temperature_c(megapascal * 1e6) + ZERO_C_K, printed) == printed


def test_liquid_water_at_25_c_agrees_with_every_printed_digit_of_the_release() -> None:
    assert as_printed(water.water_density_kg_m3(25.0), "997.047013") == "997.047013"
    assert as_printed(water.water_dynamic_viscosity_pa_s(25.0) * 1e6, "889.996774") == "889.996774"


@pytest.mark.parametrize(
    ("kelvin", "density", "viscosity"), [(260.0, "997.068360", "3058.36075"), (375.0, "957.009710", "276.207245")]
)
def test_the_release_s_other_two_states_agree_when_the_narrower_range_is_lifted(
    monkeypatch: pytest.MonkeyPatch, kelvin: float, density: str, viscosity: str
) -> None:
    monkeypatch.setattr(water, "_LIQUID_RANGE_C", (-20.0, 110.0))
    assert as_printed(water.water_density_kg_m3(kelvin - ZERO_C_K), density) == density
    assert as_printed(water.water_dynamic_viscosity_pa_s(kelvin - ZERO_C_K) * 1e6, viscosity) == viscosity


@pytest.mark.parametrize("temperature_c", [0.01, 5.0, 20.0, 37.0, 45.0, 60.0, 80.0, 93.0, 99.9])
def test_liquid_water_agrees_with_the_general_library(temperature_c: float) -> None:
    state = ("T", temperature_c + ZERO_C_K, "P", 101325.0, "Water")
    density, viscosity = PropsSI("D", *state), PropsSI("V", *state)
    assert water.water_density_kg_m3(temperature_c) == pytest.approx(density, rel=1e-6)
    assert water.water_dynamic_viscosity_pa_s(temperature_c) == pytest.approx(viscosity, rel=5e-5)
    assert water.water_kinematic_viscosity_m2_s(temperature_c) == pytest.approx(viscosity / density, rel=5e-5)


@pytest.mark.parametrize("temperature_c", [0.01, 20.0, 55.0, 93.0, 100.0, 121.0, 134.0, 140.0, 250.0])
def test_saturation_line_agrees_with_the_general_library(temperature_c: float) -> None:
    pressure = PropsSI("P", "T", temperature_c + ZERO_C_K, "Q", 0, "IF97::Water")
    assert water.saturation_pressure_pa(temperature_c) == pytest.approx(pressure, rel=1e-13)
    assert water.saturation_temperature_c(pressure) == pytest.approx(temperature_c, abs=1e-9)
