"""The law of friction: continuous with its slope, rising head, and what it does at its edges."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from patency.errors import InputError
from patency.flow import annulus_constant, friction_factor, wall_shear_pa
from patency.flow.friction import equivalent_reynolds
from patency.flow.kernels import friction_factor_and_slope

ROUGHNESS = st.floats(0.0, 0.49)


@pytest.mark.parametrize("edge", [2000.0, 4000.0])
@given(roughness=ROUGHNESS)
def test_the_law_has_no_jump_and_no_kink_where_it_changes(edge: float, roughness: float) -> None:
    below, slope_below = friction_factor_and_slope(edge * (1 - 1e-9), roughness)
    above, slope_above = friction_factor_and_slope(edge * (1 + 1e-9), roughness)
    assert below == pytest.approx(above, rel=1e-7)
    assert slope_below == pytest.approx(slope_above, rel=1e-6, abs=1e-8)


@given(st.floats(1.0, 1e7), ROUGHNESS)
def test_the_slope_is_that_of_the_factor(reynolds: float, roughness: float) -> None:
    _, slope = friction_factor_and_slope(reynolds, roughness)
    step = 1e-6
    ahead, _ = friction_factor_and_slope(reynolds * (1 + step), roughness)
    behind, _ = friction_factor_and_slope(reynolds * (1 - step), roughness)
    assert slope == pytest.approx((ahead - behind) / (2 * step), rel=1e-4, abs=1e-8)


@given(st.floats(0.1, 1e7), st.floats(1e-6, 1.0), ROUGHNESS)
def test_more_flow_always_costs_more_head(reynolds: float, more: float, roughness: float) -> None:
    quicker = reynolds * (1 + more)
    assert friction_factor(quicker, roughness) * quicker**2 > friction_factor(reynolds, roughness) * reynolds**2


def test_a_rough_wall_rubs_more_once_the_flow_is_turbulent() -> None:
    assert friction_factor(1e5, 1e-2) > friction_factor(1e5, 1e-4) > friction_factor(1e5)
    assert friction_factor(1500.0, 1e-2) == friction_factor(1500.0)


@pytest.mark.parametrize("reynolds", [0.0, -1.0, math.nan, math.inf])
def test_a_reynolds_number_that_means_nothing_is_refused(reynolds: float) -> None:
    with pytest.raises(InputError, match=r"^Reynolds number: "):
        friction_factor(reynolds)


@pytest.mark.parametrize("roughness", [-1e-9, 0.5, math.nan])
def test_a_roughness_beyond_the_law_is_refused(roughness: float) -> None:
    with pytest.raises(InputError, match=r"^relative roughness: "):
        friction_factor(1e4, roughness)


@pytest.mark.parametrize("ratio", [0.0, 1.0, -0.1, math.nan])
def test_an_annulus_without_gap_or_rod_is_refused(ratio: float) -> None:
    with pytest.raises(InputError, match=r"^diameter ratio: "):
        annulus_constant(ratio)
    with pytest.raises(InputError, match=r"^diameter ratio: "):
        equivalent_reynolds(1000.0, ratio)


@given(st.floats(1e-12, 0.999))
def test_the_annulus_constant_rises_from_the_bore_s_to_the_plates_(ratio: float) -> None:
    thicker = ratio + (1 - ratio) * 0.01
    assert 64 < annulus_constant(ratio) < annulus_constant(thicker) < 96


def test_the_series_for_a_narrow_gap_meets_the_closed_form() -> None:
    assert annulus_constant(0.99 + 1e-12) == pytest.approx(annulus_constant(0.99 - 1e-12), rel=1e-10)


def test_wall_shear_grows_with_the_square_of_the_velocity() -> None:
    assert wall_shear_pa(0.03, 1000.0, 2.0) == pytest.approx(4 * wall_shear_pa(0.03, 1000.0, 1.0)) == 15.0
