"""Thermal disinfection as A0: the equivalent time in seconds at 80 °C.

Definition: ISO 15883-1 Annex B. A is the equivalent time at 80 °C that gives a stated disinfection effect; with a z
value of 10 K it is called A0, the sum of 10^((T - 80)/10) times the length of each interval, in seconds, counted from
65 °C up. A sample at exactly 65 °C counts. A0 is a concept of moist heat: hot-air drying must not be counted.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.machine_code import compiled
from patency.evidence.timing import GAP_FACTOR, lay_out_time

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.evidence.timing import TimeAxis

# The definition's own numbers (ISO 15883-1 Annex B); they are no limits of a site.
REFERENCE_TEMPERATURE_C = 80.0
Z_VALUE_K = 10.0
LOWEST_COUNTED_C = 65.0
COUNTS = (REFERENCE_TEMPERATURE_C, Z_VALUE_K, LOWEST_COUNTED_C)


@dataclass(frozen=True, slots=True)
class Lethality:
    """A0 of one sensor.

    Parameters
    ----------
    a0_s
        The whole A0 [s].
    in_long_gaps_s
        The part of it credited across gaps longer than tolerated, where nobody knows the temperature [s].
    """

    a0_s: float
    in_long_gaps_s: float


def lethal_rate(temperature_c: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how many seconds at 80 °C one second at a temperature is worth.

    Parameters
    ----------
    temperature_c
        Temperatures of any shape [°C]; not-a-number counts nothing.

    Returns
    -------
    numpy.ndarray
        The rate of the same shape, zero below 65 °C.

    Notes
    -----
    ISO 15883-1 Annex B.

    Examples
    --------
    >>> lethal_rate(np.array([64.9, 70.0, 80.0, 90.0])).round(12).tolist()
    [0.0, 0.1, 1.0, 10.0]
    """
    rate = np.power(10.0, (temperature_c - REFERENCE_TEMPERATURE_C) / Z_VALUE_K)
    return np.where(temperature_c >= LOWEST_COUNTED_C, rate, 0.0)


def a0(time_s: NDArray[np.float64], temperature_c: NDArray[np.float64]) -> Lethality:
    """Return A0 of a series of temperatures that is moist heat throughout.

    Parameters
    ----------
    time_s
        Time stamps, shape (n,) [s].
    temperature_c
        Temperatures, shape (n,) [°C].

    Returns
    -------
    Lethality
        Zero for fewer than two samples.

    Examples
    --------
    >>> round(a0(np.arange(0.0, 301.0), np.full(301, 90.0)).a0_s, 6)  # 90 °C, 5 min
    3000.0
    """
    axis = lay_out_time(time_s)
    if axis is None:
        return Lethality(0.0, 0.0)
    return integrate(axis, temperature_c[axis.kept], np.ones(axis.kept.size, dtype=bool))


def integrate(
    axis: TimeAxis,
    temperature_c: NDArray[np.float64],
    counted: NDArray[np.bool_],
    tolerated_gap_s: float = 0.0,
    *,
    highest_c: float = np.inf,
    subtract_k: float = 0.0,
) -> Lethality:
    """Integrate the lethal rate over the samples that count.

    Between samples at the usual interval the gated rate is integrated by trapezoid. A gap, also one that a missing
    value leaves, is credited with its lower neighbour. Time in which the clock was set back is credited with nothing.

    Parameters
    ----------
    axis
        The time axis, n samples.
    temperature_c
        Temperatures, shape (n,), not-a-number where missing [°C].
    counted
        Which samples count, shape (n,); an interval counts when every sample from end to end does.
    tolerated_gap_s
        Up to which length a gap is not called long [s].
    highest_c
        Above which a reading counts as missing [°C].
    subtract_k
        What is subtracted from each reading [K].

    Returns
    -------
    Lethality
        A0 with the part credited across long gaps.
    """
    return Lethality(
        *credited(axis, temperature_c, counted, COUNTS, tolerated_gap_s, highest_c=highest_c, subtract_k=subtract_k)
    )


def credited(
    axis: TimeAxis,
    temperature_c: NDArray[np.float64],
    counted: NDArray[np.bool_],
    counts: tuple[float, float, float],
    tolerated_gap_s: float = 0.0,
    *,
    highest_c: float = np.inf,
    subtract_k: float = 0.0,
) -> tuple[float, float]:
    """Integrate a lethal rate of any reference temperature.

    Parameters
    ----------
    axis
        The time axis, n samples.
    temperature_c
        Temperatures, shape (n,), not-a-number where missing [°C].
    counted
        Which samples count, shape (n,); an interval counts when every sample from end to end does.
    counts
        Reference temperature, z value and lowest temperature that counts [°C, K, °C].
    tolerated_gap_s
        Up to which length a gap is not called long [s].
    highest_c
        Above which a reading counts as missing [°C].
    subtract_k
        What is subtracted from each reading [K].

    Returns
    -------
    tuple
        The equivalent time at the reference temperature, and the part of it credited across long gaps [s].
    """
    gaps_s = (GAP_FACTOR * axis.usual_s, tolerated_gap_s)
    whole, long = compiled("credit")(
        axis.elapsed_s, axis.clock_step, temperature_c, counted, counts, gaps_s, (highest_c, subtract_k)
    )
    return float(whole), float(long)
