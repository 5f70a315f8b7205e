"""Local losses and developing laminar flow against handbooks.

Sources: Crane Co., Flow of Fluids Through Valves, Fittings, and Pipe, Technical Paper 410 (2009), as coded in the
open-source ``fluids`` library (C. Bell and others); I. E. Idelchik, Handbook of Hydraulic Resistance, 3rd edition
(1994), diagrams 4-1 and 4-10, as quoted in the documentation of the Modelica Standard Library; D. C. Rennels and
H. M. Hudson, Pipe Flow (2012), as coded in ``fluids``; T. S. Lundgren, E. M. Sparrow and J. B. Starr, J. Basic Eng.
86 (1964), whose integral over the developed profile gives the excess loss of a long duct; R. K. Shah and A. L. London,
Laminar Flow Forced Convection in Ducts (1978), for 24/35 (plates) and 4/3 (bore) of that integral.

Reached: Crane and Borda-Carnot to the last digit; our contraction is up to 0.05 below Idelchik, and between 0.13
below and 0.014 above Rennels and Hudson; the excess losses of R. K. Shah (1978), which follow measured and computed
flows, are 1.5 to 6 % below Lundgren's integral.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from fluids import fittings as library

from patency.flow import annulus_constant
from patency.flow.development import laminar_development_loss
from patency.flow.losses import EXIT, TEE_BRANCH, sudden_contraction, sudden_expansion

RATIOS = [0.05, 0.2, 0.4, 0.5, 0.6, 0.8, 0.95]


@pytest.mark.parametrize("ratio", RATIOS)
def test_a_widening_costs_what_borda_and_carnot_say(ratio: float) -> None:
    assert sudden_expansion(ratio**2, 1.0) == pytest.approx(library.diffuser_sharp(ratio, 1.0), rel=1e-12)


@pytest.mark.parametrize("ratio", RATIOS)
def test_a_narrowing_costs_what_crane_says(ratio: float) -> None:
    expected = library.contraction_sharp(1.0, ratio, method="Crane")
    assert sudden_contraction(1.0, ratio**2) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("ratio", RATIOS)
def test_other_handbooks_charge_a_little_more_for_a_narrowing(ratio: float) -> None:
    ours = sudden_contraction(1.0, ratio**2)
    idelchik = 0.5 * (1.0 - ratio**2) ** 0.75
    assert ours <= idelchik <= ours + 0.055
    assert ours - 0.015 <= library.contraction_sharp(1.0, ratio) <= ours + 0.13


def test_printed_steps_between_2_and_4_mm_are_met() -> None:
    assert sudden_expansion(2.0**2, 4.0**2) == 0.5625
    assert sudden_contraction(4.0**2, 2.0**2) == 0.375


def test_a_narrowing_out_of_the_open_is_the_sharp_entrance_of_one_half() -> None:
    assert sudden_contraction(1e6, 1.0) == pytest.approx(0.5, abs=1e-6)


def test_the_exit_loses_one_velocity_head() -> None:
    assert library.exit_normal() == EXIT


@pytest.mark.parametrize("share", [0.01, 0.03, 0.1, 0.5])
@pytest.mark.parametrize("branch_m", [3e-3, 6e-3, 12e-3])
def test_a_branch_off_a_pipe_loses_the_pipe_s_velocity_head_and_its_own(branch_m: float, share: float) -> None:
    pipe_m, flow_m3_s = 20e-3, 5e-4
    over_pipe = library.K_branch_diverging_Crane(
        pipe_m, branch_m, flow_m3_s * (1.0 - share), flow_m3_s * share, angle=90
    )
    slowness = (branch_m / pipe_m) ** 2 / share  # velocity in the pipe over that in the branch
    assert over_pipe * slowness**2 == pytest.approx(TEE_BRANCH + slowness**2, rel=1e-9)


@pytest.mark.parametrize("share", [0.01, 0.05])
def test_what_runs_on_past_a_small_branch_loses_next_to_nothing(share: float) -> None:
    assert library.K_run_diverging_Crane(20e-3, 4e-3, 5e-4 * (1.0 - share), 5e-4 * share, angle=90) < 0.002


def excess_of_profile(ratio: float) -> float:
    """Integrate 2 (u³ - u²) over the developed profile of an annulus, u over its mean: Lundgren, Sparrow and Starr."""
    nodes, weights = np.polynomial.legendre.leggauss(60)
    radius = ratio + (1.0 - ratio) * (nodes + 1.0) / 2.0
    ring = weights * radius
    velocity = 1.0 - radius**2 + (1.0 - ratio**2) / math.log(1.0 / ratio) * np.log(radius)
    velocity /= np.sum(ring * velocity) / np.sum(ring)
    return float(2.0 * np.sum(ring * (velocity**3 - velocity**2)) / np.sum(ring))


def test_the_integral_over_the_profile_meets_its_known_limit_for_plates() -> None:
    assert excess_of_profile(0.999) == pytest.approx(24.0 / 35.0, rel=1e-4)


@pytest.mark.parametrize("ratio", [0.05, 0.1, 0.5, 0.75, 0.999])
def test_a_long_annulus_loses_the_excess_of_its_profile(ratio: float) -> None:
    excess = laminar_development_loss(1e4, 1.0, 1.0, ratio)
    assert 0.955 * excess_of_profile(ratio) < excess < excess_of_profile(ratio)


def test_a_long_bore_loses_hagenbach_s_excess() -> None:
    excess = laminar_development_loss(1e4, 1.0, 1.0, ratio=0.0)
    assert excess == pytest.approx(1.25, abs=0.001)
    assert 0.93 * 4.0 / 3.0 < excess < 4.0 / 3.0  # Lundgren's integral for a bore


@pytest.mark.parametrize(("ratio", "fanning"), [(0.05, 21.567), (0.10, 22.343), (0.50, 23.813), (0.75, 23.967)])
def test_the_constants_of_the_source_hold_the_exact_friction_of_annuli(ratio: float, fanning: float) -> None:
    # 4 x Fanning's f Re of the source's table is Darcy's; the exact value comes from the closed form.
    assert 4.0 * fanning == pytest.approx(annulus_constant(ratio), rel=1e-3)
