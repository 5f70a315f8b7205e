"""Published equivalences of thermal disinfection."""

from __future__ import annotations

from functools import partial

from patency.evidence import a0
from patency.steps.self_checking.check import PublishedCheck

_FORUM = "European Forum for Hospital Sterile Supply, questions and answers on A0, 2004"
_DGKH = "German Society for Hospital Hygiene (DGKH), Hygiene-Tipp, June 2012"
_DEFINITION = "ISO 15883-1, Annex B, as publicly rendered: nothing counts below 65 °C"
_EQUIVALENCES = (
    (80.0, 600, 600.0, _FORUM),
    (90.0, 60, 600.0, _FORUM),
    (70.0, 6000, 600.0, _FORUM),
    (90.0, 300, 3000.0, _DGKH),
    (64.9, 3600, 0.0, _DEFINITION),
)


def _held(temperature_c: float, seconds: int) -> float:
    import numpy as np

    time_s = np.arange(0.0, seconds + 1.0)
    return float(a0(time_s, np.full(time_s.size, temperature_c)).a0_s)


def lethality_checks() -> list[PublishedCheck]:
    """List the checks on A0.

    Returns
    -------
    list[PublishedCheck]
        Constant temperatures, sampled every second.
    """
    return [
        PublishedCheck(
            "disinfection",
            f"A0 of {seconds} s at {temperature:g} °C",
            source,
            expected,
            "s",
            1e-6,
            "rounding of a sum over the samples",
            partial(_held, temperature, seconds),
        )
        for temperature, seconds, expected, source in _EQUIVALENCES
    ]
