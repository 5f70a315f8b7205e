"""The fitter against certified nonlinear regressions: values, their standard deviations, the sum of squares.

NIST/ITL Statistical Reference Datasets, nonlinear regression (public domain; files of 1978 to 1999 as quoted, data,
starting and certified values unedited, by open packages): Misra1a and Misra1b (lower difficulty), Misra1c, Misra1d and
Roszman1 (average). Both published starts. Agreement: seven digits of values, six of standard deviations.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pytest

from patency.flow.numerics import least_squares

if TYPE_CHECKING:
    from collections.abc import Callable

MISRA = np.array(
    [
        (10.07, 77.6),
        (14.73, 114.9),
        (17.94, 141.1),
        (23.93, 190.8),
        (29.61, 239.9),
        (35.18, 289.0),
        (40.02, 332.8),
        (44.82, 378.4),
        (50.76, 434.8),
        (55.05, 477.3),
        (61.01, 536.8),
        (66.40, 593.1),
        (75.47, 689.1),
        (81.78, 760.0),
    ]
)
ROSZMAN = np.array(
    [
        (0.252429, -4868.68),
        (0.252141, -4868.09),
        (0.251809, -4867.41),
        (0.297989, -3375.19),
        (0.296257, -3373.14),
        (0.295319, -3372.03),
        (0.339603, -2473.74),
        (0.337731, -2472.35),
        (0.333820, -2469.45),
        (0.389510, -1894.65),
        (0.386998, -1893.40),
        (0.438864, -1497.24),
        (0.434887, -1495.85),
        (0.427893, -1493.41),
        (0.471568, -1208.68),
        (0.461699, -1206.18),
        (0.461144, -1206.04),
        (0.513532, -997.92),
        (0.506641, -996.61),
        (0.505062, -996.31),
        (0.535648, -834.94),
        (0.533726, -834.66),
        (0.568064, -710.03),
        (0.612886, -530.16),
        (0.624169, -464.17),
    ]
)


class Certified(NamedTuple):
    """A data set with what NIST certifies of its regression."""

    data: np.ndarray
    model: Callable[[np.ndarray, np.ndarray], tuple[np.ndarray, np.ndarray]]
    starts: tuple[tuple[float, ...], tuple[float, ...]]
    values: tuple[float, ...]
    deviations: tuple[float, ...]
    squares: float


def misra1a(b: np.ndarray, x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Exponential, b1 (1 - exp(-b2 x)), and its derivatives."""
    fall = np.exp(-b[1] * x)
    return b[0] * (1.0 - fall), np.column_stack((1.0 - fall, b[0] * x * fall))


def misra1b(b: np.ndarray, x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Power, b1 (1 - (1 + b2 x/2)^-2)."""
    inside = 1.0 + b[1] * x / 2.0
    return b[0] * (1.0 - inside**-2), np.column_stack((1.0 - inside**-2, b[0] * x * inside**-3))


def misra1c(b: np.ndarray, x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Root, b1 (1 - (1 + 2 b2 x)^-1/2)."""
    inside = 1.0 + 2.0 * b[1] * x
    return b[0] * (1.0 - inside**-0.5), np.column_stack((1.0 - inside**-0.5, b[0] * x * inside**-1.5))


def misra1d(b: np.ndarray, x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Hyperbola, b1 b2 x / (1 + b2 x)."""
    inside = 1.0 + b[1] * x
    return b[0] * b[1] * x / inside, np.column_stack((b[1] * x / inside, b[0] * x / inside**2))


def roszman1(b: np.ndarray, x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Arc tangent, b1 - b2 x - arctan(b3 / (x - b4)) / pi."""
    far = x - b[3]
    both = math.pi * (far**2 + b[2] ** 2)
    return (
        b[0] - b[1] * x - np.arctan(b[2] / far) / math.pi,
        np.column_stack((np.ones_like(x), -x, -far / both, -b[2] / both)),
    )


CERTIFIED = {
    "Misra1a": Certified(
        MISRA,
        misra1a,
        ((500.0, 0.0001), (250.0, 0.0005)),
        (2.3894212918e02, 5.5015643181e-04),
        (2.7070075241e00, 7.2668688436e-06),
        1.2455138894e-01,
    ),
    "Misra1b": Certified(
        MISRA,
        misra1b,
        ((500.0, 0.0001), (300.0, 0.0002)),
        (3.3799746163e02, 3.9039091287e-04),
        (3.1643950207e00, 4.2547321834e-06),
        7.5464681533e-02,
    ),
    "Misra1c": Certified(
        MISRA,
        misra1c,
        ((500.0, 0.0001), (600.0, 0.0002)),
        (6.3642725809e02, 2.0813627256e-04),
        (4.6638326572e00, 1.7728423155e-06),
        4.0966836971e-02,
    ),
    "Misra1d": Certified(
        MISRA,
        misra1d,
        ((500.0, 0.0001), (450.0, 0.0003)),
        (4.3736970754e02, 3.0227324449e-04),
        (3.6489174345e00, 2.9334354479e-06),
        5.6419295283e-02,
    ),
    "Roszman1": Certified(
        ROSZMAN,
        roszman1,
        ((0.1, -0.00001, 1000.0, -100.0), (0.2, -0.000005, 1200.0, -150.0)),
        (2.0196866396e-01, -6.1953516256e-06, 1.2044556708e03, -1.8134269537e02),
        (1.9172666023e-02, 3.2058931691e-06, 7.4050983057e01, 4.9573513849e01),
        4.9484847331e-04,
    ),
}


@pytest.mark.parametrize("name", CERTIFIED)
@pytest.mark.parametrize("start", [0, 1])
def test_a_certified_regression_is_found_with_its_standard_deviations(name: str, start: int) -> None:
    case = CERTIFIED[name]
    measured, at = case.data.T

    def residuals(values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        shown, jacobian = case.model(values, at)
        return shown - measured, jacobian

    found = least_squares(residuals, np.array(case.starts[start]))
    squares = float(found.residuals @ found.residuals)
    assert squares == pytest.approx(case.squares, rel=1e-9)
    assert found.values == pytest.approx(np.array(case.values), rel=1e-7)
    variance = squares / (measured.size - len(case.values))
    assert np.sqrt(variance * np.diag(found.covariance)) == pytest.approx(np.array(case.deviations), rel=1e-6)
