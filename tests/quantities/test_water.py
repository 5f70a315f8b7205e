"""Water: where the formulas end, and what must hold between their ends."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from patency.errors import InputError
from patency.quantities import water

if TYPE_CHECKING:
    from collections.abc import Callable

LIQUID = [water.water_density_kg_m3, water.water_dynamic_viscosity_pa_s, water.water_kinematic_viscosity_m2_s]


@pytest.mark.parametrize("formula", LIQUID)
@pytest.mark.parametrize("temperature_c", [-0.01, 100.01, 373.0, math.nan, math.inf, -math.inf])
def test_liquid_water_outside_its_range_is_refused_in_one_line(
    formula: Callable[[float], float], temperature_c: float
) -> None:
    with pytest.raises(InputError, match=r"^water temperature: .* °C \(expected: 0 to 100 °C"):
        formula(temperature_c)


@pytest.mark.parametrize("formula", LIQUID)
def test_both_ends_of_the_range_are_inside_it(formula: Callable[[float], float]) -> None:
    assert formula(0.0) > 0
    assert formula(100.0) > 0


@pytest.mark.parametrize("temperature_c", [-1.0, 374.0, math.nan])
def test_a_saturation_temperature_beyond_the_line_is_refused(temperature_c: float) -> None:
    with pytest.raises(InputError, match=r"^saturation temperature: "):
        water.saturation_pressure_pa(temperature_c)


@pytest.mark.parametrize("pressure_pa", [0.0, -100.0, 611.0, 22.1e6, math.nan])
def test_a_saturation_pressure_beyond_the_line_is_refused(pressure_pa: float) -> None:
    with pytest.raises(InputError, match=r"^saturation pressure: "):
        water.saturation_temperature_c(pressure_pa)


@given(st.floats(0.0, 373.0))
def test_the_two_saturation_formulas_undo_each_other(temperature_c: float) -> None:
    pressure = water.saturation_pressure_pa(temperature_c)
    assert water.saturation_temperature_c(pressure) == pytest.approx(temperature_c, abs=1e-9)


@given(st.floats(0.0, 99.0), st.floats(0.01, 1.0))
def test_warmer_water_is_thinner_and_boils_at_more_pressure(temperature_c: float, step: float) -> None:
    warmer = temperature_c + step
    assert water.water_dynamic_viscosity_pa_s(warmer) < water.water_dynamic_viscosity_pa_s(temperature_c)
    assert water.saturation_pressure_pa(warmer) > water.saturation_pressure_pa(temperature_c)


def test_water_is_densest_at_four_degrees() -> None:
    densest = max(range(101), key=lambda tenth: water.water_density_kg_m3(tenth / 10))
    assert densest / 10 == pytest.approx(4.0, abs=0.1)
