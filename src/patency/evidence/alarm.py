"""The alarm on the readings of pressure and flow together, held against earlier cycles of the same load."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.criteria import Asked, Bounds, CriterionState, limit_fault, shown
from patency.evidence.stage_readings import water_read
from patency.evidence.weighing import Weighed, left_open, weighed

if TYPE_CHECKING:
    from patency.evidence.case import Case

ALARM_CRITERION = "alarm on the readings of the water"
_NO_BASELINE = "no baseline of earlier cycles of this load is kept, so nobody raises an alarm: look at what is listed"


def alarm_criterion(case: Case) -> Weighed:
    """Judge how likely a cycle without fault shows readings at least as far from the baseline.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Weighed
        Not evaluated, which asks for a look, where that is less likely than false alarms are allowed; not met where it
        is less likely than false rejects are, or where the site does not say how many of these it allows. Not
        evaluated without a baseline.
    """
    asked = Asked(ALARM_CRITERION, "1")
    limit = case.limits.false_alarms
    alarm = case.prediction.alarm if case.prediction else None
    if alarm is None:
        return left_open(asked, _NO_BASELINE, limit)
    fault = limit_fault(limit, "1", case.on)
    if limit is None or fault:
        return left_open(asked, f"share of false alarms: {fault}")
    named = case.record.description.machine
    if named != alarm.machine:
        why = f"the baseline is of {alarm.machine}, the record of {named or 'a machine it does not name'}"
        return left_open(asked, why, limit)
    if case.record.sha256 in alarm.records:
        return left_open(asked, "this record is itself part of the baseline", limit)
    from patency.flow import Baseline  # heavier than all of this room, and asked for only here

    baseline = case.once(
        Baseline, lambda: Baseline(alarm.machine, alarm.columns, np.array(alarm.readings), alarm.records)
    )
    water, left_out = water_read(case)
    unknown = [f"{one.sensor} in {one.stage}" for one in water if (one.stage, one.sensor) not in alarm.columns]
    if unknown:
        return left_open(asked, f"the baseline has no reading of {', '.join(unknown)}", limit)
    chance = baseline.chance_of({(one.stage, one.sensor): one.value for one in water})
    if isinstance(chance, str):
        return left_open(asked, "; ".join(dict.fromkeys([chance, *left_out])), limit)
    note = f"how likely a cycle without fault lies as far off, {baseline.name}"
    rest = "" if alarm.share == 1.0 else f"; {alarm.share:.3g} of it, the rest for the arms"
    bounds = Bounds(f"{limit.source}{rest}", low=limit.value * alarm.share)
    return _too_unlikely(case, weighed(asked, chance, 0.0, bounds, note), alarm.share)


def _too_unlikely(case: Case, judged: Weighed, share: float) -> Weighed:
    """Leave an alarm open that chance alone raises more often than it may refuse a cycle: a person has to look."""
    rejects = case.limits.false_rejects
    if judged.state is not CriterionState.NOT_MET or rejects is None or judged.value is None:
        return judged
    if limit_fault(rejects, "1", case.on) or judged.value < rejects.value * share:
        return judged
    least = f"an alarm, though not below {shown(rejects.value * share, '1')}, where it would refuse the cycle"
    look = "look at every hose, cap and sensor before anybody decides"
    return judged.but(CriterionState.NOT_EVALUATED, f"{least} ({rejects.source}): {look}")
