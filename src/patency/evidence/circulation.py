"""The criteria of circulation: pressure against the prediction for this very load, time, what only an eye can see."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from patency.evidence.criteria import Asked, Bounds, Criterion, CriterionState, decided, limit_fault, shown
from patency.evidence.expected_pressure import expected_reading
from patency.evidence.measuring import Asking, in_all, said, time_running
from patency.evidence.prediction import Seen
from patency.evidence.weighing import Weighed, as_weighed, left_open, weighed, weighed_time
from patency.texts import people_moment

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.evidence.case import Case
    from patency.evidence.expected_pressure import ExpectedReading
    from patency.evidence.measuring import Answer


PRESSURE_CRITERION = "circulation pressure"
_LOOK = "every hose and sleeve seen at unloading"


@dataclass(frozen=True, slots=True)
class FixedWindow:
    """What a fixed window around the expected pressure would have said; for information, it decides nothing.

    Parameters
    ----------
    stage
        What the wet stage is called.
    sensor
        Column of the pressure sensor.
    value_pa
        What the sensor shows in the steady part of the stage [Pa].
    low_pa
        Lower end of the window [Pa].
    high_pa
        Upper end of the window [Pa].
    source
        Where the window comes from.
    state
        Met inside, not met outside.
    """

    stage: str
    sensor: str
    value_pa: float
    low_pa: float
    high_pa: float
    source: str
    state: CriterionState


def pressure_criteria(case: Case) -> list[Weighed]:
    """Judge the circulation pressure of each wet stage against the interval predicted for this load.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        One criterion for each wet stage and pressure sensor of the circulation.
    """
    criteria: list[Weighed] = []
    for position, stage in enumerate(case.programme.stages):
        if stage.kind.wet:
            criteria += _pressure(case, position)
    return criteria


def _pressure(case: Case, position: int) -> list[Weighed]:
    asked = Asked(PRESSURE_CRITERION, "Pa", case.called[position])
    sensors = case.record.of("pressure", "circulation")
    if not sensors:
        return [left_open(asked, "the record has no pressure at the circulation")]
    span = next((span for span in case.found.spans if span.position == position), None)
    if span is None:
        return [left_open(asked, "the stage was not found in the record")]
    criteria = []
    for trace in sensors:
        asked = Asked(asked.name, asked.unit, asked.stage, trace.name)
        found = expected_reading(case, span, trace)
        criteria.append(left_open(asked, found) if isinstance(found, str) else _compared(case, asked, found))
    return criteria


def _compared(case: Case, asked: Asked, found: ExpectedReading) -> Weighed:
    """Hold a reading against what is expected: outside it is not met; inside, only all that it may be meets it."""
    expected = found.expected_pa
    source = f"prediction for this load ({case.prediction.source if case.prediction else ''})"
    bounds = Bounds(source, low=expected.low, high=expected.high)
    judged = weighed(asked, found.value_pa, found.uncertainty_pa, bounds, partial(_expected, found))
    _, alone = decided(found.value_pa, 0.0, bounds)
    if alone is CriterionState.MET and judged.state is CriterionState.NOT_MET:
        return judged.but(CriterionState.NOT_EVALUATED, "the reading lies within, but it is too uncertain to tell")
    if judged.state is CriterionState.MET and found.assumed:
        return judged.but(CriterionState.NOT_EVALUATED)
    return judged


def _expected(found: ExpectedReading) -> str:
    nominal = found.expected_pa.nominal
    off = f", {(found.value_pa - nominal) / found.gauge_pa:+.1%} off" if found.gauge_pa else ""
    return "; ".join(note for note in (f"expected {shown(nominal, 'Pa')}{off}", found.told, found.assumed) if note)


def circulation_time_criteria(case: Case) -> Asking:
    """Judge that water circulated in each wet stage for at least its prescribed time; pauses do not count.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Asking
        One criterion for each wet stage found.
    """
    limit = case.limits.running_share
    fault = limit_fault(limit, "1", case.on)
    places = [place for place, span in enumerate(case.found.spans) if span.stage.kind.wet]
    spans = [case.found.spans[place] for place in places]
    asked = [Asked("circulation time", "s", span.called) for span in spans]
    if limit is None or fault:
        return said(*(left_open(one, f"share of a signal that counts as running: {fault}") for one in asked))
    bounds = [Bounds(case.programme_source, low=span.stage.hold_s) for span in spans]

    def weigh(case: Case, answers: Sequence[Answer]) -> list[Weighed]:
        if case.pump_ran is None:
            return [left_open(one, "nothing shows when the pump ran") for one in asked]
        return [_circulated(case, *one) for one in zip(asked, bounds, answers, strict=True)]

    return Asking(tuple(map(time_running, places)), weigh)


def _circulated(case: Case, asked: Asked, bounds: Bounds, answer: Answer) -> Weighed:
    # Whether the pump ran is told for every sample; gaps leave time open, and so does up to one interval at each end
    # of a stretch, where it started and stopped between two samples.
    ran = in_all(answer)
    possible_s = ran.possible_s + 2 * ran.parts * case.record.axis.usual_s
    return weighed_time(asked, ran.certain_s, possible_s, bounds, f"in {ran.parts} stretches" if ran.parts > 1 else "")


def fixed_windows(case: Case) -> tuple[FixedWindow, ...]:
    """Tell what a fixed window around the predicted pressure would have said, for comparison only.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    tuple
        One entry for each wet stage with a prediction; empty where the site states no such window.
    """
    limit = case.limits.fixed_pressure_window
    if limit is None or limit_fault(limit, "1", case.on):
        return ()
    windows = []
    for trace in case.record.of("pressure", "circulation"):
        for span in case.found.wet:
            found = expected_reading(case, span, trace)
            if isinstance(found, str):
                continue
            centre, width = found.expected_pa.nominal, abs(found.gauge_pa) * limit.value
            low, high = centre - width, centre + width
            state = CriterionState.MET if low <= found.value_pa <= high else CriterionState.NOT_MET
            windows.append(FixedWindow(span.called, trace.name, found.value_pa, low, high, limit.source, state))
    return tuple(windows)


def eye_check_criterion(case: Case) -> Weighed:
    """Ask for the look at every hose and sleeve at unloading, and say what the pressure can show of one hose off.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Weighed
        Not evaluated until somebody has looked. Where something was off, not met for the load as a whole; for the sets
        that stay by what their lumens still reach with it off.
    """
    check = case.eye_check
    blind = _blindness(case)
    if check is None:
        state, why = CriterionState.NOT_EVALUATED, f"nobody has entered it; {blind}"
    elif check.seen is Seen.ALL_IN_PLACE:
        state, why = CriterionState.MET, f"seen by {check.by} at {people_moment(check.at)}"
    else:
        state = CriterionState.NOT_MET
        why = f"seen by {check.by} at {people_moment(check.at)}: {check.remark or 'something off'}"
        if check.rest is not None:
            note = f"{why}; what stays: {', '.join(check.rest.sets)}"
            return weighed(Asked(_LOOK, "1"), check.rest.margin, 0.0, Bounds(check.rest.source, low=1.0), note)
    criterion = Criterion(
        name=_LOOK,
        value=None,
        unit="",
        limit=None,
        source="common practice; a pressure sensor cannot see every disconnected lumen",
        margin=None,
        state=state,
        why=why,
    )
    return as_weighed(criterion)


def _blindness(case: Case) -> str:
    """Say whether the sensors could show a single hose off, by the number that travels with the load."""
    stages = case.prediction.stages.values() if case.prediction else ()
    shifts = [(abs(one.one_hose_off_pa), one.pressure_pa) for one in stages if one.one_hose_off_pa is not None]
    told = case.prediction.one_hose_off if case.prediction else None
    if not shifts:
        return "whether the pressure could show one hose off was not computed, so it counts as unable to"
    shift, interval = max(shifts, key=lambda item: item[0])
    share = f" ({shift / interval.nominal:.1%})" if interval.nominal else ""
    words = f"one hose off would change the pressure by at most {shown(shift, 'Pa')}{share}"
    if told is None:
        return f"{words}; how likely an alarm shows it was not computed, so it counts as unable to"
    seen = f"an alarm shows it in at most {told.probability:.0%} of cycles"
    beside = f"({told.compared}, with {told.false_alarms * 100:g}% false alarms)"
    end = "but not which hose it is" if told.probability >= told.least else "so it cannot be relied on to show it"
    return f"{words}; {seen} {beside}, {end}"
