"""Stages found from the signals alone: circulation, temperatures, doses, conductivity."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import StageKind
from patency.evidence.found_stages import Origin, StagesFound, StageSpan
from patency.evidence.meters import meter_of
from patency.evidence.running import Stretch, stretches
from patency.evidence.segmenting import MOST_STRETCHES, Burst, assign
from patency.evidence.stage_calls import stage_calls
from patency.evidence.turning_points import turning_points

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.catalogue import Programme
    from patency.evidence.moist import Moist
    from patency.evidence.record import CycleRecord


def find_by_signals(record: CycleRecord, programme: Programme, moist: Moist) -> StagesFound:
    """Find the stages of a programme by the circulation and what the other signals say of it.

    Parameters
    ----------
    record
        The record.
    programme
        The programme that should have run.
    moist
        When water circulated.

    Returns
    -------
    StagesFound
        Every stage from the end of the one before to its own end; only circulation counts as moist.
    """
    calls = stage_calls(programme)
    wet = [(position, stage) for position, stage in enumerate(programme.stages) if stage.kind.wet]
    parts = stretches(moist.counted)
    if len(parts) > MOST_STRETCHES:
        parts = _joined(record.time_s, parts, max(MOST_STRETCHES, len(wet)))
    assigned = assign(_bursts(record, programme, parts), [stage for _, stage in wet])
    if assigned is None:
        doubt = f"{len(parts)} stretches of circulation for {len(wet)} wet stages"
        return StagesFound(Origin.SIGNALS, (), replace(moist, doubt=doubt), doubts=(doubt,))
    ran = [(parts[first][0], parts[last][1]) for first, last in assigned.groups]
    dry = [(position, stage) for position, stage in enumerate(programme.stages) if not stage.kind.wet]
    bounds = _boundaries(record, ran, until_dry=bool(dry) and ran[-1][1] + 1 < record.time_s.size)
    spans = [
        StageSpan(position, stage, first, after - 1, calls[position])
        for (position, stage), (first, after) in zip(wet, pairwise(bounds), strict=True)
    ]
    doubts = [f"where {calls[wet[place][0]]!r} ends cannot be told for certain" for place in assigned.unclear]
    doubts += _too_hot(record, spans)
    counted = np.zeros_like(moist.counted)
    end = max((span.position for span in spans if span.stage.kind is StageKind.DISINFECT), default=-1)
    for span, (first, last) in zip(spans, ran, strict=True):
        if span.position <= end:
            counted[first : last + 1] = True
    if bounds[-1] < record.time_s.size:
        spans += [StageSpan(position, stage, bounds[-1], counted.size - 1, calls[position]) for position, stage in dry]
    found = replace(moist, counted=counted, doubt=doubts[0] if doubts else "")
    return StagesFound(Origin.SIGNALS, tuple(spans), found, doubts=tuple(doubts))


def _boundaries(record: CycleRecord, ran: list[Stretch], *, until_dry: bool) -> list[int]:
    """Return the first sample of each wet stage, and of what follows the last."""
    pauses = [(before[1] + 1, after[0] - 1) for before, after in pairwise(ran)]
    if until_dry:
        pauses.append((ran[-1][1] + 1, record.time_s.size - 1))
    signals = [trace.values for trace in (*record.of("temperature"), *record.of("conductivity"))]
    turns = turning_points(record.time_s, signals, pauses)
    return [0, *turns] if until_dry else [0, *turns, record.time_s.size]


def _bursts(record: CycleRecord, programme: Programme, parts: list[Stretch]) -> list[Burst]:
    """Describe each stretch of circulation by its time, its heat and what was dosed since the one before ended."""
    thermometers = [trace.values for trace in record.of("temperature", "chamber", "load")]
    agents = {dose.agent for stage in programme.stages for dose in stage.doses or ()}
    meters = {agent: meter for agent in agents if (meter := meter_of(record, agent)) is not None}
    counts = {agent: _carried_on(meter.values) for agent, meter in meters.items()}
    bursts = []
    before = 0
    for first, last in parts:
        heat = [
            float(np.nanpercentile(part, 95)) for values in thermometers if _known(part := values[first : last + 1])
        ]
        dosed = {agent: max(0.0, float(values[last] - values[before])) for agent, values in counts.items()}
        start_s, end_s = float(record.time_s[first]), float(record.time_s[last])
        bursts.append(Burst(first, last, start_s, end_s, float(np.median(heat)) if heat else np.nan, dosed))
        before = last
    return bursts


def _known(values: NDArray[np.float64]) -> bool:
    return not bool(np.isnan(values).all())


def _carried_on(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Let a missing value repeat the one before; zero before the first."""
    latest = np.maximum.accumulate(np.where(np.isnan(values), 0, np.arange(values.size)))
    return np.nan_to_num(values[latest], nan=0.0)


def _joined(time_s: NDArray[np.float64], parts: list[Stretch], count: int) -> list[Stretch]:
    """Join stretches until as many are left as wanted; the longest pauses stay."""
    starts = np.array([first for first, _ in parts])
    ends = np.array([last for _, last in parts])
    pause = time_s[starts[1:]] - time_s[ends[:-1]]
    cuts = np.sort(np.argsort(-pause, kind="stable")[: count - 1])
    return list(zip(starts[[0, *(cuts + 1)]].tolist(), ends[[*cuts, -1]].tolist(), strict=True))


def _too_hot(record: CycleRecord, spans: list[StageSpan]) -> list[str]:
    """Doubt a finding in which another wet stage is hotter than the disinfection."""
    heat = {
        span.position: max((np.nanmax(part) for part in parts if _known(part)), default=np.nan)
        for span in spans
        for parts in [[t.values[span.first : span.last + 1] for t in record.of("temperature", "chamber", "load")]]
    }
    hottest = max((heat[s.position] for s in spans if s.stage.kind is StageKind.DISINFECT), default=np.nan)
    return [
        f"what should be {span.called!r} is hotter than what should be the disinfection"
        for span in spans
        if heat[span.position] > hottest
    ]
