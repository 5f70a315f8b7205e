"""F0: the time at a reference temperature that would do as much as what was measured, with z = 10 K.

F0 is defined for moist heat. What lies above the saturation temperature of the measured pressure is credited with no
more than that. F0 is told, it releases nothing: wrapped and hollow loads rest on air removal, band and holding time.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.lethality import credited

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.evidence.timing import TimeAxis

Z_VALUE_K = 10.0  # part of the definition (ISO 17665:2024; FDA 1976), no limit of a site


def f0_s(axis: TimeAxis, temperature_c: NDArray[np.float64], counted: NDArray[np.bool_], reference_c: float) -> float:
    """Integrate the lethal rate at a reference temperature over the samples that count.

    Parameters
    ----------
    axis
        The time axis, n samples.
    temperature_c
        Temperatures, shape (n,), not-a-number where missing [°C].
    counted
        Which samples count, shape (n,); an interval counts when every sample from end to end does.
    reference_c
        The reference temperature: 121, 121.1 or 121.11 °C by the source followed.

    Returns
    -------
    float
        F0 [s]; divide by 60 for the usual minutes. A gap is credited with its lower neighbour, a clock set back with
        nothing.

    Examples
    --------
    >>> from patency.evidence.timing import lay_out_time
    >>> axis = lay_out_time(np.arange(0.0, 901.0))
    >>> hot = np.full(901, 121.0)
    >>> round(f0_s(axis, hot, np.ones(901, dtype=bool), 121.0) / 60, 6)
    15.0
    """
    return credited(axis, temperature_c, counted, (reference_c, Z_VALUE_K, -np.inf))[0]
