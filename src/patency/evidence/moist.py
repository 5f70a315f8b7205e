"""Which part of a record is moist heat that may count: the wet stages up to the end of disinfection."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import StageKind
from patency.evidence.running import running, stretches

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.evidence.record import CycleRecord

# Above it a washer-disinfector's water would boil, so what is hotter is air: saturation temperature at 101.325 kPa,
# 99.97 °C (IAPWS-IF97, 2007), rounded up for high-pressure weather.
WATER_BOILS_C = 100.5


@dataclass(frozen=True, slots=True, eq=False)
class Moist:
    """What counts as moist heat.

    Parameters
    ----------
    counted
        Which samples count, shape (n,).
    running
        When the circulation pump ran, shape (n,); None when nothing shows it.
    doubt
        Why it is doubtful that it was moist; empty where it is not.
    """

    counted: NDArray[np.bool_]
    running: NDArray[np.bool_] | None
    doubt: str = ""


def find_moist(record: CycleRecord) -> Moist:
    """Find the moist heat of a record from the record alone.

    With a stage column the wet stages count up to the end of the last disinfection. Without it the time counts in
    which water circulated. Without either everything counts up to the first reading that is too hot for water, and it
    stays doubtful.

    Parameters
    ----------
    record
        The record.

    Returns
    -------
    Moist
        What counts, and why it may be doubtful.
    """
    on = running(record)
    if record.stages is not None:
        return _by_words(filled_words(record.stages), on)
    if on is not None:
        return Moist(on, on)
    hot = np.zeros(record.time_s.size, dtype=bool)
    for trace in record.of("temperature"):
        hot |= np.nan_to_num(trace.values, nan=-np.inf) > WATER_BOILS_C
    doubt = (
        "nothing in the record shows which heat was moist: no stage column, no circulation pressure, no arm rotation"
    )
    return Moist(~np.logical_or.accumulate(hot), None, doubt)


def filled_words(words: tuple[str, ...]) -> NDArray[np.str_]:
    """Give samples without a word for their stage the word around them, where it is the same on both sides.

    Parameters
    ----------
    words
        One word for each sample, empty where the machine named no stage.

    Returns
    -------
    numpy.ndarray
        The words, shape (n,).
    """
    labels = np.array(words)
    for first, last in stretches(labels == ""):
        if first > 0 and last + 1 < labels.size and labels[first - 1] == labels[last + 1]:
            labels[first : last + 1] = labels[first - 1]
    return labels


def _by_words(labels: NDArray[np.str_], on: NDArray[np.bool_] | None) -> Moist:
    disinfection = labels == StageKind.DISINFECT.value
    wet = np.isin(labels, [kind.value for kind in StageKind if kind.wet])
    still_to_come = np.logical_or.accumulate(disinfection[::-1])[::-1]
    counted = wet & still_to_come
    if on is None or not disinfection.any() or (share := float(on[disinfection].mean())) >= 0.5:
        return Moist(counted, on)
    return Moist(counted, on, f"water circulates in only {share:.0%} of what should be the disinfection")
