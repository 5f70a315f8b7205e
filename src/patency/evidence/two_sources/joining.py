"""A machine's record together with that of an independent logger: all sensors on one time axis, and compared."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.criteria import Asked, Bounds, Criterion, CriterionState, compared, unanswered
from patency.evidence.findings import Finding, FindingKind
from patency.evidence.timing import Spacing
from patency.evidence.two_sources.alignment import Alignment, align, common_pairs

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.evidence.record import CycleRecord, Trace

AGREEMENT = "agreement of two recorders"
# Quantities whose criteria take every sensor at a place and let the worst decide. A pressure is judged where the
# machine measures the same: at the same place and against the same, so that the height of its tap is known.
_JOINED = ("temperature", "conductivity", "rotation")
# Readings are compared over a minute, where neither changes by more than both are uncertain by: a sensor that follows
# more slowly is then no disagreement. A choice of method.
_WINDOW_S = 60.0
_FEWEST = 5
_DIFFERENCE_UNITS = {
    "temperature": "K",
    "pressure": "Pa",
    "flow": "m3/s",
    "conductivity": "uS/cm",
    "rotation": "rpm",
}


@dataclass(frozen=True, slots=True, eq=False)
class Joined:
    """Two records of one cycle as one.

    Parameters
    ----------
    record
        The machine's record with the logger's sensors beside its own, named ``logger: …``, on the machine's time axis;
        the machine's record as it was where the two could not be aligned.
    alignment
        The logger's clock against the machine's; None where it was not found.
    criteria
        Whether the two agree, for each pair of sensors.
    by_the_other
        The same with the logger's pressure of the chamber in place of the machine's, as what a sterilizer did is judged
        by one pressure; None where the logger has none.
    """

    record: CycleRecord
    alignment: Alignment | None
    criteria: tuple[Criterion, ...]
    by_the_other: CycleRecord | None = None


def join(machine: CycleRecord, logger: CycleRecord) -> Joined:
    """Bring the record of an independent logger beside that of the machine.

    Parameters
    ----------
    machine
        The machine's record.
    logger
        The logger's.

    Returns
    -------
    Joined
        Judged like any record, the worst sensor decides, from whichever recorder; nothing is filled in where the logger
        has a gap or did not record.
    """
    found = align(machine, logger)
    if isinstance(found, str):
        noticed = Finding(FindingKind.SECOND_SOURCE, f"the logger's record could not be aligned: {found}")
        open_ = unanswered(Asked(AGREEMENT), found)
        return Joined(replace(machine, findings=(*machine.findings, noticed)), None, (open_,))
    pairs = common_pairs(machine, logger)
    at_s = (machine.time_s - found.offset_s) / (1.0 + found.drift)
    beside = {other.name: one.name for one, other in pairs if one.quantity == "pressure" and one.gauge == other.gauge}
    added = {
        f"logger: {trace.name}": replace(
            trace,
            name=f"logger: {trace.name}",
            values=_at(logger, trace, at_s),
            beside=beside.get(trace.name),
        )
        for trace in logger.traces.values()
        if trace.quantity in _JOINED or trace.name in beside
    }
    noticed = Finding(
        FindingKind.SECOND_SOURCE,
        f"the logger's first sample lies at {found.offset_s:.1f} ± {found.offset_u_s:.1f} s of the machine's time, its "
        f"clock differs by {found.drift * 1e6:.0f} ± {found.drift_u * 1e6:.0f} millionths; "
        f"SHA-256 of its record {logger.sha256}",
    )
    record = replace(
        machine,
        traces={**machine.traces, **added},
        findings=(*machine.findings, noticed, *(_of_logger(one) for one in logger.findings)),
    )
    criteria = tuple(_agreement(machine, one, other, _at(logger, other, at_s), found) for one, other in pairs)
    return Joined(record, found, criteria, _by_the_other(record))


def _by_the_other(record: CycleRecord) -> CycleRecord | None:
    other = {trace.beside: trace for trace in record.of("pressure", "chamber") if trace.beside is not None}
    if not other:
        return None
    kept = {name: trace for name, trace in record.traces.items() if name not in other}
    return replace(record, traces=kept)


def _of_logger(finding: Finding) -> Finding:
    return replace(finding, message=f"in the logger's record: {finding.message}")


def _at(logger: CycleRecord, trace: Trace, at_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a logger's readings at other times; missing where its samples around one are no usual interval apart."""
    time = logger.time_s
    after = np.clip(np.searchsorted(time, at_s, side="left"), 1, time.size - 1)
    before = after - 1
    length = np.maximum(time[after] - time[before], 1e-9)
    share = (at_s - time[before]) / length
    values = trace.values[before] * (1.0 - share) + trace.values[after] * share
    whole = (logger.axis.spacing[before] == Spacing.USUAL) & (at_s >= time[0]) & (at_s <= time[-1])
    values = np.where(share == 0.0, trace.values[before], np.where(share == 1.0, trace.values[after], values))
    return np.where(whole, values, np.nan)


def _agreement(
    machine: CycleRecord, one: Trace, other: Trace, values: NDArray[np.float64], found: Alignment
) -> Criterion:
    unit = _DIFFERENCE_UNITS[one.quantity]
    asked = Asked(f"{AGREEMENT}: {one.name} and the logger's {other.name}", unit, sensor=one.name)
    known = None not in (one.uncertainty, other.uncertainty)
    doubt = float(np.hypot(one.uncertainty or 0.0, other.uncertainty or 0.0))
    late_s = found.uncertainty_s(float(machine.time_s[-1]))
    worst: tuple[float, float, float] | None = None
    for begin in np.unique(machine.time_s // _WINDOW_S) * _WINDOW_S:
        inside = (machine.time_s >= begin) & (machine.time_s < begin + _WINDOW_S)
        inside &= ~np.isnan(one.values) & ~np.isnan(values)
        if inside.sum() < _FEWEST:
            continue
        rate = max(_rate(machine.time_s[inside], series[inside]) for series in (one.values, values))
        if doubt and rate * _WINDOW_S > doubt:
            continue
        off = float(np.median(one.values[inside] - values[inside]))
        allowed = doubt + rate * late_s
        if worst is None or abs(off) - allowed > abs(worst[0]) - worst[1]:
            worst = off, allowed, begin
    if worst is None:
        return unanswered(asked, "no minute in which both show a steady value")
    off, allowed, begin = worst
    bounds = Bounds("both sensors' stated uncertainty and that of the time between them", high=allowed)
    judged = compared(asked, abs(off), 0.0 if known else None, bounds, f"from {begin / 60:.0f} min on")
    if judged.state is CriterionState.NOT_MET and not known:
        # Nobody has stated how far the two may lie apart.
        return replace(judged, state=CriterionState.NOT_EVALUATED)
    return judged


def _rate(time_s: NDArray[np.float64], values: NDArray[np.float64]) -> float:
    """Return how fast a course changes, by a straight line through it."""
    centred = time_s - time_s.mean()
    spread = float(centred @ centred)
    return abs(float(centred @ values)) / spread if spread else 0.0


def worse_of(alone: tuple[Criterion, ...], together: tuple[Criterion, ...]) -> tuple[Criterion, ...]:
    """Take of each criterion what is worse: judged by the machine's record alone, or with the logger's beside it.

    Parameters
    ----------
    alone
        By the machine's record.
    together
        By both.

    Returns
    -------
    tuple
        As ``together``, with whatever is worse or only there by the machine's record.
    """
    order = {CriterionState.NOT_MET: 0, CriterionState.NOT_EVALUATED: 1, CriterionState.MET: 2}

    def key(one: Criterion) -> tuple[str, str | None, str | None]:
        return one.name, one.stage, one.sensor

    def badness(one: Criterion) -> tuple[int, float]:
        return order[one.state], float("inf") if one.margin is None else one.margin

    left = {key(one): one for one in alone}
    merged = [min(one, left.pop(key(one), one), key=badness) for one in together]
    return (*merged, *left.values())
