"""Surface tension of water and capillary rise against published values.

* IAPWS R1-76(2014), Revised Release on Surface Tension of Ordinary Water Substance, table 1, in mN/m. The values are
  quoted from memory; the release itself was not at hand.
* CoolProp, which has a correlation of its own for water, fitted by other authors.
* Jurin's law: F. M. White, Fluid Mechanics, chapter 1, capillary rise of water in a glass tube of 1 mm radius, 15 mm
  (from memory, not verified).

Agreement reached: every printed digit of the table; within 0.25 % of CoolProp up to 150 °C.
"""

from __future__ import annotations

import pytest
from CoolProp.CoolProp import PropsSI

from patency.reach import hold_up_m, surface_tension_n_m

TABLE_MN_M = [
    (0.01, 75.65),
    (10.0, 74.22),
    (20.0, 72.74),
    (30.0, 71.19),
    (40.0, 69.60),
    (50.0, 67.94),
    (60.0, 66.24),
    (70.0, 64.48),
    (80.0, 62.67),
    (90.0, 60.82),
    (100.0, 58.91),
    (200.0, 37.67),
    (300.0, 14.36),
]


@pytest.mark.parametrize(("temperature_c", "printed_mn_m"), TABLE_MN_M)
def test_surface_tension_is_that_of_the_release(temperature_c: float, printed_mn_m: float) -> None:
    assert round(1e3 * surface_tension_n_m(temperature_c), 2) == printed_mn_m


@pytest.mark.parametrize("temperature_c", [1.0, 25.0, 55.0, 93.0, 150.0])
def test_surface_tension_is_that_of_a_reference_library(temperature_c: float) -> None:
    outside = PropsSI("surface_tension", "T", temperature_c + 273.15, "Q", 0, "Water")
    assert surface_tension_n_m(temperature_c) == pytest.approx(outside, rel=2.5e-3)


def test_capillary_rise_is_that_of_the_textbook() -> None:
    assert round(hold_up_m(0.002, 20.0), 3) == 0.015
