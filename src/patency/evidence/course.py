"""The criteria of a stage's course: how fast it heats, and how much of the water before a rinse carries over."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import StageKind
from patency.evidence.criteria import Asked, Bounds, Criterion, compared, limit_fault, shown, unanswered
from patency.evidence.process import part_of
from patency.evidence.timing import Spacing

if TYPE_CHECKING:
    from patency.evidence.case import Case
    from patency.evidence.found_stages import StageSpan
    from patency.evidence.record import Trace

_MINUTE_S = 60.0


def heating_criteria(case: Case) -> list[Criterion]:
    """Judge that no thermometer rose faster than water can be heated: faster is steam, air or a sensor at fault.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        One criterion for each wet stage found, with the largest rise of any thermometer within a minute; its
        uncertainty counts fully, though most of a sensor's error does not change within a minute.
    """
    limit = case.limits.fastest_heating
    fault = limit_fault(limit, "K", case.on)
    if not case.found.wet or not case.thermometers:
        why = "no wet stage was found in the record" if case.thermometers else "the record has no thermometer"
        return [unanswered(Asked("fastest heating", "K"), why, limit)]
    criteria = []
    for span in case.found.wet:
        asked = Asked("fastest heating", "K", span.called)
        if limit is None or fault is not None:
            criteria.append(unanswered(asked, fault or "", limit))
            continue
        rises = [
            (rise + (one.uncertainty or 0.0), rise, one) for one in case.thermometers for rise in _rise(case, span, one)
        ]
        if not rises:
            criteria.append(unanswered(asked, "no unbroken minute with readings", limit))
            continue
        _, rise, trace = max(rises, key=lambda item: item[0])
        asked = Asked(asked.name, asked.unit, span.called, trace.name)
        criteria.append(compared(asked, rise, trace.uncertainty, Bounds(limit.source, high=limit.value), "in a minute"))
    return criteria


def _rise(case: Case, span: StageSpan, trace: Trace) -> list[float]:
    """Return the largest rise within a minute as a list of one; none where no minute of the stage is unbroken."""
    axis = case.record.axis
    time, values = axis.elapsed_s[span.first : span.last + 1], trace.values[span.first : span.last + 1]
    # Across a clock set back nobody knows how long a rise took: none reaches over one.
    leap = np.concatenate(([0], np.cumsum(axis.spacing[span.first : span.last] == Spacing.CLOCK_STEP)))
    ends = np.searchsorted(time, time + _MINUTE_S, side="right") - 1
    usable = (ends > np.arange(time.size)) & (leap == leap[ends])
    rises = (values[ends] - values)[usable]
    rises = rises[~np.isnan(rises)]
    return [float(rises.max())] if rises.size else []


def carry_over_criteria(case: Case) -> list[Criterion]:
    """Judge that every rinse without a dose took the water before it away, by its conductivity.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        For each such rinse the conductivity at its end as a share of that at the end of the wet stage before, the
        probe's uncertainty against both; water as pure as the last has to be is enough. Rinses with a dose are left
        out: the agent conducts too.
    """
    return [_carry_over(case, position) for position in _plain_rinses(case)]


def _plain_rinses(case: Case) -> list[int]:
    stages = case.programme.stages
    return [
        position
        for position, stage in enumerate(stages)
        if position and stage.kind is StageKind.RINSE and not stage.doses and stages[position - 1].kind.wet
    ]


def _carry_over(case: Case, position: int) -> Criterion:
    asked = Asked("carried over into the rinse", "1", case.called[position])
    limit, last, pure = (
        case.limits.rinse_carry_over,
        case.limits.last_water_share,
        case.limits.final_rinse_conductivity,
    )
    fault = limit_fault(limit, "1", case.on)
    if limit is None or fault is not None:
        return unanswered(asked, fault or "", limit)
    fault = limit_fault(last, "1", case.on)
    if last is None or fault is not None:
        return unanswered(asked, f"share of the last water: {fault}", limit)
    fault = limit_fault(pure, "uS/cm", case.on)
    if pure is None or fault is not None:
        return unanswered(asked, f"what the last water may conduct: {fault}", limit)
    spans = {span.position: span for span in case.found.spans}
    if position not in spans or position - 1 not in spans:
        return unanswered(asked, "the rinse or the stage before it was not found in the record", limit)
    found = []
    for probe in case.record.of("conductivity"):
        before, after = (part_of(case, probe, spans[one], (1 - last.value, 1.0)) for one in (position - 1, position))
        if before.size and after.size:
            doubt = probe.uncertainty or 0.0
            least = max(float(before.min()) - doubt, pure.value / limit.value if limit.value else 0.0)
            share = (float(after.max()) + doubt) / least if least > 0 else float("inf")
            found.append((share, probe, float(after.max())))
    if not found:
        return unanswered(asked, "no conductivity at the end of both", limit)
    share, probe, value = max(found, key=lambda item: item[0])
    if not np.isfinite(share):
        return unanswered(asked, "the water before conducts no more than the probe is uncertain by", limit)
    asked = Asked(asked.name, asked.unit, asked.stage, probe.name)
    known = None if probe.uncertainty is None else 0.0
    note = f"{shown(value, 'uS/cm')} at its end, uncertainty taken into account"
    return compared(asked, share, known, Bounds(limit.source, high=limit.value), note)
