"""The plug that capillarity keeps: its range and how it scales."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from patency.errors import InputError
from patency.reach import hold_up_m, surface_tension_n_m


@pytest.mark.parametrize("temperature_c", [0.0, -5.0, 374.0, float("nan")])
def test_surface_tension_outside_its_range_is_refused(temperature_c: float) -> None:
    with pytest.raises(InputError, match="surface tension of water"):
        surface_tension_n_m(temperature_c)


@given(diameter=st.floats(1e-4, 0.02), temperature_c=st.floats(0.01, 100.0))
def test_half_the_bore_holds_twice_the_plug(diameter: float, temperature_c: float) -> None:
    assert hold_up_m(diameter / 2, temperature_c) == pytest.approx(2 * hold_up_m(diameter, temperature_c))


@given(temperatures=st.tuples(st.floats(0.01, 100.0), st.floats(0.01, 100.0)).map(sorted))
def test_colder_water_holds_the_longer_plug(temperatures: list[float]) -> None:
    assert hold_up_m(0.001, temperatures[0]) >= hold_up_m(0.001, temperatures[1])
