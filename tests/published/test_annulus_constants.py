"""The constant of the concentric annulus against printed tables.

* F. M. White, Fluid Mechanics, 4th edition, table 6.3 (laminar friction factors for a concentric annulus),
  values as printed; they come from the formula in R. K. Shah and A. L. London, Laminar Flow Forced Convection
  in Ducts, 1978.
* The limits: 64 for a bore, 96 for parallel plates (Hagen-Poiseuille and plane Poiseuille flow).

Agreement reached: every printed digit.
"""

from __future__ import annotations

import numpy as np
import pytest

from patency.flow import annulus_constant
from patency.flow.friction import equivalent_reynolds

WHITE_TABLE_6_3 = [
    (0.00001, "70.09"),
    (0.0001, "71.78"),
    (0.001, "74.68"),
    (0.01, "80.11"),
    (0.05, "86.27"),
    (0.1, "89.37"),
    (0.2, "92.35"),
    (0.4, "94.71"),
    (0.6, "95.59"),
    (0.8, "95.92"),
]
WHITE_EFFECTIVE_OVER_HYDRAULIC = [(0.01, "0.799"), (0.1, "0.716"), (0.2, "0.693"), (0.6, "0.670"), (0.8, "0.667")]


@pytest.mark.parametrize(("ratio", "printed"), WHITE_TABLE_6_3)
def test_the_constant_agrees_with_every_printed_digit(ratio: float, printed: str) -> None:
    assert f"{annulus_constant(ratio):.2f}" == printed


@pytest.mark.parametrize(("ratio", "printed"), WHITE_EFFECTIVE_OVER_HYDRAULIC)
def test_the_effective_diameter_agrees_with_every_printed_digit(ratio: float, printed: str) -> None:
    assert f"{equivalent_reynolds(1.0, ratio):.3f}" == printed


def test_a_narrow_gap_comes_to_parallel_plates_and_a_wire_slowly_to_a_bore() -> None:
    assert annulus_constant(1 - 1e-9) == pytest.approx(96.0, rel=1e-12)
    assert 64.0 < annulus_constant(1e-300) < 64.2


@pytest.mark.parametrize("ratio", [0.05, 0.3, 0.7, 0.95, 0.98, 0.995])
def test_the_constant_is_what_the_velocity_profile_gives(ratio: float) -> None:
    """u(r) = 1 - r² + (1 - k²) ln r / ln(1/k) at unit outer radius and dp/dx = -4 mu, integrated numerically."""
    from scipy.integrate import quad

    def profile(r: float) -> float:
        return float(1 - r**2 + (1 - ratio**2) * np.log(r) / np.log(1 / ratio))

    mean = quad(lambda r: 2 * r * profile(r), ratio, 1, epsabs=1e-15)[0] / (1 - ratio**2)
    # f = 2 D_h (4 mu) / (rho u²), Re = rho u D_h / mu, D_h = 2 (1 - k)
    assert annulus_constant(ratio) == pytest.approx(8 * (2 * (1 - ratio)) ** 2 / mean, rel=1e-8)
