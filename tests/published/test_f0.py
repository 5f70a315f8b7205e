"""F0 and the saturation of steam against published numbers.

Sources: FDA, Current Good Manufacturing Practice in the Manufacture of Large Volume Parenterals, proposed rule, Federal
Register 41, 1 June 1976, section 212.3, read as quoted elsewhere: minutes at 121 °C or 250 °F, z = 10 °C or 18 °F; what
constant temperatures are worth is worked out by hand from these words. C. R. Stumbo, Thermobacteriology in Food
Processing, 2nd edition, 1973 (title and edition from memory, not verified) is named for the lethal rate beside a worked
example of W. M. A. Mullan, dairyscience.info (author from memory, page without a year): at 110 °C, against 121.11 °C,
0.077. IAPWS-IF97 (2007), table 36, gives the saturation temperatures at 0.1 and 1 MPa. EN 285:2015 (note to 8.3, from
memory, not verified) gives a formula of its own for the temperature of saturated steam,
T = 42.6776 - 3892.70 / (ln p - 9.48654) with p in MPa, T in K.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from patency.evidence import f0_s
from patency.evidence.steam.case import saturation_c
from patency.evidence.timing import lay_out_time


def f0_min(celsius: float, minutes: float, reference_c: float) -> float:
    axis = lay_out_time(np.arange(0.0, minutes * 60 + 1.0))
    assert axis is not None
    hot = np.full(axis.kept.size, celsius)
    return f0_s(axis, hot, np.ones(hot.size, dtype=bool), reference_c) / 60.0


@pytest.mark.parametrize(("celsius", "minutes", "f0"), [(121.0, 15, 15.0), (111.0, 15, 1.5)])
def test_f0_of_constant_temperatures_is_what_the_definition_says(celsius: float, minutes: float, f0: float) -> None:
    assert f0_min(celsius, minutes, 121.0) == pytest.approx(f0, rel=1e-9)


def test_the_lethal_rate_is_that_of_the_published_worked_example() -> None:
    assert f0_min(110.0, 1, 121.11) == pytest.approx(0.077, abs=5e-4)


def test_the_three_reference_temperatures_in_use_differ_by_up_to_two_and_a_half_percent() -> None:
    by_reference = [f0_min(134.0, 3, reference) for reference in (121.0, 121.1, 121.11)]
    assert by_reference == pytest.approx([3 * 10**1.3, 3 * 10**1.29, 3 * 10**1.289], rel=1e-9)
    assert by_reference[0] / by_reference[2] == pytest.approx(1.0257, abs=1e-4)


def test_saturation_temperatures_are_those_of_the_published_table() -> None:
    found = saturation_c(np.array([0.1e6, 1.0e6])) + 273.15
    assert found == pytest.approx([372.755919, 453.035632], abs=5e-7)


def test_the_formula_of_the_sterilizer_standard_lies_a_tenth_of_a_kelvin_above() -> None:
    pressures = np.array([101325.0, 205039.0, 304199.0])
    formula = [42.6776 - 3892.70 / (math.log(p / 1e6) - 9.48654) - 273.15 for p in pressures]
    apart = np.array(formula) - saturation_c(pressures)
    assert ((apart > 0.10) & (apart < 0.16)).all()


def test_outside_the_range_of_steam_there_is_no_saturation_temperature() -> None:
    assert np.isnan(saturation_c(np.array([500.0, 2e6, np.nan]))).all()
