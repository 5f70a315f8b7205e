"""What criteria ask of the samples of a record, and the answers: all that is asked is found in one run over them.

A part of the verdict says first what it asks, from what is known without any sample. Cycles that are alike ask the
same, so that what they ask is put together once; the answers of each are weighed one by one.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from patency.evidence.holding import Shown
from patency.evidence.lethality import COUNTS
from patency.evidence.machine_code import compiled
from patency.evidence.measure_kernels import (
    BEST_WINDOW,
    CREDIT,
    EXTREMES,
    LONGEST_GAP,
    TIME_RUNNING,
    TIME_WITHIN,
    WHOLE,
)
from patency.evidence.timing import GAP_FACTOR

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from numpy.typing import NDArray

    from patency.evidence.case import BareCase
    from patency.evidence.record import Trace
    from patency.evidence.weighing import Weighed

    Answer = Sequence[float]

_NO_PUMP = np.zeros(0, dtype=np.bool_)


class Measure(NamedTuple):
    """One thing that is asked of the samples.

    Parameters
    ----------
    kind
        What, as in `patency.evidence.measure_kernels`.
    place
        Where: the place of a stage among those found, all of the record, or the window asked for before it.
    sensor
        Column of the sensor; None for none or several.
    readings
        Several sensors together: the column of each, and by how much its readings are worsened.
    more
        Two numbers that say more.
    """

    kind: int
    place: int = WHOLE
    sensor: str | None = None
    readings: tuple[tuple[str, float], ...] = ()
    more: tuple[float, float] = (0.0, 0.0)


class Asking(NamedTuple):
    """What a part of a verdict asks, and what makes criteria of the answers.

    Parameters
    ----------
    measures
        What it asks of the samples.
    weigh
        Called with the case and one answer for each of them.
    """

    measures: tuple[Measure, ...]
    weigh: Callable[[Any, Sequence[Answer]], Sequence[Weighed]]


def said(*criteria: Weighed) -> Asking:
    """Say what follows from no sample.

    Parameters
    ----------
    criteria
        The criteria.

    Returns
    -------
    Asking
        Asks nothing.
    """
    return Asking((), lambda _, __: criteria)


def together(askings: Sequence[Asking]) -> Asking:
    """Ask several things one after the other.

    Parameters
    ----------
    askings
        What is asked.

    Returns
    -------
    Asking
        All of it.
    """
    ends = list(accumulate(len(one.measures) for one in askings))
    each = [(one.weigh, slice(end - len(one.measures), end)) for one, end in zip(askings, ends, strict=True)]

    def weigh(case: BareCase, answers: Sequence[Answer]) -> list[Weighed]:
        return [one for weigh, now in each for one in weigh(case, answers[now])]

    return Asking(tuple(measure for one in askings for measure in one.measures), weigh)


def longest_gap(sensor: str | None = None) -> Measure:
    """Ask for the longest time without a value of a sensor, or without a sample where none is named.

    Parameters
    ----------
    sensor
        Column of the sensor.

    Returns
    -------
    Measure
        The answer begins with it, negative where no value is missing [s].
    """
    return Measure(LONGEST_GAP, sensor=sensor)


def extremes(sensor: str, place: int) -> Measure:
    """Ask for the lowest and the highest reading of a sensor.

    Parameters
    ----------
    sensor
        Column of the sensor.
    place
        The place of the stage among those found, or `IN_WINDOW`.

    Returns
    -------
    Measure
        The answer begins with them, not-a-number where there is none.
    """
    return Measure(EXTREMES, place, sensor)


def time_within(sensors: Iterable[Trace], place: int, band: tuple[float, float], *, worsened: float = 1.0) -> Measure:
    """Ask how long every one of some sensors lay within a band during a stage.

    Parameters
    ----------
    sensors
        The sensors; how long the stage lasted where there are none.
    place
        The place of the stage among those found.
    band
        Lowest and highest value of the band.
    worsened
        How many times its uncertainty each reading is worsened by.

    Returns
    -------
    Measure
        The answer is what `longest` and `in_all` read.
    """
    readings = tuple((one.name, worsened * (one.uncertainty or 0.0)) for one in sensors)
    return Measure(TIME_WITHIN, place, readings=readings, more=band)


def time_running(place: int) -> Measure:
    """Ask how long the pump ran in a stage.

    Parameters
    ----------
    place
        The place of the stage among those found.

    Returns
    -------
    Measure
        The answer is what `longest` and `in_all` read; no time where nothing tells when the pump ran.
    """
    return Measure(TIME_RUNNING, place)


def credit(sensor: str, highest: float, subtracted: float) -> Measure:
    """Ask for A0 of a sensor.

    Parameters
    ----------
    sensor
        Column of the sensor.
    highest
        Above which a reading counts as missing [°C].
    subtracted
        What is subtracted from each of the others [K].

    Returns
    -------
    Measure
        The answer begins with A0 and the part of it credited across long gaps [s].
    """
    return Measure(CREDIT, sensor=sensor, more=(highest, subtracted))


def best_window(sensors: Iterable[Trace], place: int, length_s: float) -> Measure:
    """Ask for the time in a stage in which the lowest reading, uncertainties subtracted, is highest.

    Parameters
    ----------
    sensors
        The sensors, one at least.
    place
        The place of the stage among those found.
    length_s
        How long a time [s].

    Returns
    -------
    Measure
        The answer begins with its first and last sample, negative where no unbroken time is long enough.
    """
    readings = tuple((one.name, one.uncertainty or 0.0) for one in sensors)
    return Measure(BEST_WINDOW, place, readings=readings, more=(length_s, 0.0))


def longest(answer: Answer) -> Shown:
    """Read how long something lasted at a stretch.

    Parameters
    ----------
    answer
        The answer.

    Returns
    -------
    Shown
        The longest stretch.
    """
    return Shown(answer[0], answer[1], int(answer[4]))


def in_all(answer: Answer) -> Shown:
    """Read how long something lasted in all.

    Parameters
    ----------
    answer
        The answer.

    Returns
    -------
    Shown
        The sum of all stretches.
    """
    return Shown(answer[2], answer[3], int(answer[4]))


@dataclass(frozen=True, slots=True, eq=False)
class Coded:
    """What is asked, as the kernel reads it.

    Parameters
    ----------
    sensors
        The columns whose readings are looked at.
    asked
        What `patency.evidence.measure_kernels.numbers` is asked.
    of_pump
        Whether any of it rests on when the pump ran.
    """

    sensors: tuple[str, ...]
    asked: tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]
    of_pump: bool


def coded(measures: Sequence[Measure]) -> Coded:
    """Put together what is asked of a record.

    Parameters
    ----------
    measures
        What is asked.

    Returns
    -------
    Coded
        To be found by `answers_of`.
    """
    readings = list(dict.fromkeys(one.readings for one in measures if one.readings))
    named = [one.sensor for one in measures if one.sensor is not None]
    sensors = tuple(dict.fromkeys([*named, *(name for group in readings for name, _ in group)]))
    rows = [
        (
            one.kind,
            one.place,
            -1 if one.sensor is None else sensors.index(one.sensor),
            readings.index(one.readings) if one.readings else -1,
        )
        for one in measures
    ]
    worsened = np.array([[dict(group).get(name, np.nan) for name in sensors] for group in readings])
    return Coded(
        sensors,
        (
            np.array(rows, dtype=np.int64).reshape(len(rows), 4),
            np.array([one.more for one in measures], dtype=np.float64).reshape(len(rows), 2),
            worsened.reshape(len(readings), len(sensors)),
        ),
        any(one.kind == TIME_RUNNING for one in measures),
    )


def answers_of(case: BareCase, asked: Coded) -> list[list[float]]:
    """Find in the samples of a record what is asked.

    Parameters
    ----------
    case
        The case.
    asked
        What is asked.

    Returns
    -------
    list
        One answer for each.
    """
    if not asked.asked[0].size:
        return []
    record, axis = case.record, case.record.axis
    ran = case.pump_ran if asked.of_pump else None
    values = np.empty((len(asked.sensors), axis.elapsed_s.size))
    for row, name in enumerate(asked.sensors):
        values[row] = record.traces[name].values
    found: list[list[float]] = compiled("numbers")(
        asked.asked,
        np.array([(span.first, span.last) for span in case.spans], dtype=np.int64).reshape(-1, 2),
        values,
        (axis.elapsed_s, axis.clock_step, GAP_FACTOR * axis.usual_s, case.tolerated_gap_s),
        (case.moist.counted, _NO_PUMP if ran is None else ran),
        COUNTS,
    ).tolist()
    return found


def answer_of(case: BareCase, measure: Measure) -> Answer:
    """Find one thing in the samples of a record.

    Parameters
    ----------
    case
        The case.
    measure
        What is asked.

    Returns
    -------
    Sequence
        The answer.
    """
    return answers_of(case, coded([measure]))[0]
