"""What several criteria of heat ask alike: how long readings lay in a band, and the hottest of them."""

from __future__ import annotations

from functools import partial
from math import isnan
from typing import TYPE_CHECKING

from patency.evidence.criteria import Asked, Bounds, shown
from patency.evidence.measuring import Asking, Measure, extremes, time_within
from patency.evidence.weighing import Weighed, left_open, weighed, weighed_time

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from patency.evidence.case import Case
    from patency.evidence.holding import Shown
    from patency.evidence.measuring import Answer
    from patency.evidence.record import Trace

    Doubts = tuple[tuple[str, float | None], ...]


def time_in_band(
    sensors: Sequence[Trace],
    place: int,
    band_c: tuple[float, float],
    how: Callable[[Answer], Shown],
    weighing: tuple[Asked, Bounds, Callable[[Case], str]],
) -> Asking:
    """Judge how long every one of some thermometers lay within a band during a stage.

    Parameters
    ----------
    sensors
        The thermometers, one at least.
    place
        The place of the stage among those found.
    band_c
        Lowest and highest temperature of the band [°C].
    how
        How time counts: the longest stretch, or all of it.
    weighing
        What is asked, how long it should be, and what writes the note.

    Returns
    -------
    Asking
        One criterion; where the uncertainty of a sensor is not known its readings are taken as they are, and a time
        that is long enough is not evaluated.
    """
    asked, bounds, note = weighing
    known = None not in [one.uncertainty for one in sensors]

    def weigh(case: Case, answers: Sequence[Answer]) -> list[Weighed]:
        lasted, words = how(answers[0]), partial(note, case)
        if not known:
            return [weighed(asked, lasted.certain_s, None, bounds, words)]
        return [weighed_time(asked, lasted.certain_s, lasted.possible_s, bounds, words)]

    return Asking((time_within(sensors, place, band_c, worsened=float(known)),), weigh)


def between(ends_c: tuple[float, float]) -> str:
    """Say between which temperatures every sensor should be.

    Parameters
    ----------
    ends_c
        Lowest and highest [°C].

    Returns
    -------
    str
        Part of a sentence.
    """
    return f"every sensor from {shown(ends_c[0], 'degC')} to {shown(ends_c[1], 'degC')}"


def hottest_asked(sensors: Iterable[Trace], places: Sequence[int]) -> tuple[Measure, ...]:
    """Ask for what `hottest_of` compares.

    Parameters
    ----------
    sensors
        The thermometers.
    places
        The places of the stages among those found.

    Returns
    -------
    tuple
        One measure for each sensor and stage.
    """
    return tuple(extremes(one.name, place) for one in sensors for place in places)


def hottest_of(doubts: Doubts, answers: Sequence[Answer]) -> tuple[float, str, float | None] | None:
    """Return the highest reading in some stages and its sensor, the one that counts worst first.

    Parameters
    ----------
    doubts
        Column of each thermometer and its uncertainty [K].
    answers
        The answers to `hottest_asked` of these.

    Returns
    -------
    tuple or None
        Reading [°C], column of the sensor and its uncertainty [K]; None where no sensor shows a value.
    """
    places = len(answers) // max(len(doubts), 1)
    found = [
        (answer[1] + (doubts[number // places][1] or 0.0), answer[1], doubts[number // places])
        for number, answer in enumerate(answers)
        if not isnan(answer[1])
    ]
    if not found:
        return None
    _, value, (name, doubt) = max(found, key=lambda item: item[0])
    return value, name, doubt


def doubts_of(sensors: Iterable[Trace]) -> Doubts:
    """Tell what is known of sensors without any sample.

    Parameters
    ----------
    sensors
        The sensors.

    Returns
    -------
    tuple
        Column and uncertainty of each.
    """
    return tuple((one.name, one.uncertainty) for one in sensors)


def beside_hottest(
    lasted: Asking, sensors: Sequence[Trace], place: int, heat: Asked, bounds: Bounds, none: str
) -> Asking:
    """Judge the highest reading in a stage beside a time in a band.

    Parameters
    ----------
    lasted
        What asks for the time, by one measure.
    sensors
        The thermometers.
    place
        The place of the stage among those found.
    heat
        What is asked of the highest reading.
    bounds
        What it should be at most [°C].
    none
        Why neither is evaluated where no thermometer shows a value.

    Returns
    -------
    Asking
        The time, and the highest reading.
    """
    doubts = doubts_of(sensors)

    def weigh(case: Case, answers: Sequence[Answer]) -> list[Weighed]:
        (time,) = lasted.weigh(case, answers[:1])
        hottest = hottest_of(doubts, answers[1:])
        if hottest is None:
            return [left_open(time.asked, none), left_open(heat, none)]
        value, sensor, doubt = hottest
        return [time, weighed(Asked(heat.name, heat.unit, heat.stage, sensor), value, doubt, bounds)]

    return Asking((*lasted.measures, *hottest_asked(sensors, [place])), weigh)
