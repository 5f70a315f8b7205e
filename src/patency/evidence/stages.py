"""Where each stage of the programme lies in a record: by the machine's own words, or by when its pump ran."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import StageKind
from patency.evidence.findings import Finding, FindingKind
from patency.evidence.moist import Moist, filled_words, find_moist
from patency.evidence.running import Stretch, pauses, stretches
from patency.evidence.stage_calls import stage_calls

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.catalogue import Programme, Stage
    from patency.evidence.record import CycleRecord

# A burst of the pump shorter than this share of the longest stretch beside it is no stage. A choice of
# method: from 0.05 to 0.5 the same stages are found (tests/demo/test_cycle_truth.py).
_BURST_SHARE = 0.1
_WORDS_TOLD = 12


class Origin(StrEnum):
    """By what the stages were found."""

    COLUMN = "stage column"
    CIRCULATION = "circulation"
    NOTHING = "nothing"


@dataclass(frozen=True, slots=True)
class StageSpan:
    """Where one stage of the programme lies.

    Parameters
    ----------
    position
        Position of the stage in the programme, counted from 0.
    stage
        The stage as prescribed.
    first
        Position of its first sample.
    last
        Position of its last sample.
    called
        What it is called: its name, with a number behind it where the name comes again.
    """

    position: int
    stage: Stage
    first: int
    last: int
    called: str


@dataclass(frozen=True, slots=True, eq=False)
class StagesFound:
    """The stages of a record.

    Parameters
    ----------
    origin
        By what they were found.
    spans
        The stages found, in the order of the programme.
    moist
        The moist heat that may count, and when the circulation pump ran.
    contradictions
        What in the record contradicts the programme.
    doubts
        Why the stages cannot be told for certain.
    """

    origin: Origin
    spans: tuple[StageSpan, ...]
    moist: Moist
    contradictions: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()

    def of(self, *kinds: StageKind) -> list[StageSpan]:
        """Return the stages found of certain kinds.

        Parameters
        ----------
        kinds
            The kinds asked for.

        Returns
        -------
        list
            In the order of the programme.
        """
        return [span for span in self.spans if span.stage.kind in kinds]

    @property
    def running(self) -> NDArray[np.bool_] | None:
        """When the circulation pump ran, shape (n,); None when nothing shows it."""
        return self.moist.running

    @property
    def wet(self) -> list[StageSpan]:
        """The stages in which water circulates."""
        return [span for span in self.spans if span.stage.kind.wet]


def find_stages(record: CycleRecord, programme: Programme) -> StagesFound:
    """Find the stages of a programme in a record.

    The machine's stage column is followed where there is one, and checked against the circulation. Without it, each
    stretch in which the pump ran is one wet stage; where there are more stretches than wet stages, those with the
    shortest pauses between them belong together. Without either nothing is found.

    Parameters
    ----------
    record
        The record.
    programme
        The programme that should have run.

    Returns
    -------
    StagesFound
        What was found, with contradictions and doubts in words.
    """
    moist = find_moist(record)
    if record.stages is not None:
        found = _by_column(filled_words(record.stages), programme, moist)
    elif moist.running is not None:
        found = _by_circulation(record, programme, moist)
    else:
        found = StagesFound(Origin.NOTHING, (), moist, doubts=(moist.doubt,))
    return _checked(found)


def interruptions(record: CycleRecord, found: StagesFound) -> list[Finding]:
    """Report where the circulation stopped inside a wet stage.

    Parameters
    ----------
    record
        The record.
    found
        Its stages.

    Returns
    -------
    list
        One finding for each pause between two stretches of circulation of the same stage.
    """
    if found.running is None:
        return []
    findings = []
    for span in found.wet:
        for first, last in pauses(found.running, span.first, span.last):
            duration = record.time_s[last + 1] - record.time_s[first]
            message = f"stopped for {duration:.4g} s in stage {span.called!r}"
            findings.append(Finding(FindingKind.INTERRUPTION, message, lines=(int(record.lines[first]),)))
    return findings


def _by_column(labels: NDArray[np.str_], programme: Programme, moist: Moist) -> StagesFound:
    runs = [
        (word, first, last)
        for word in dict.fromkeys(labels.tolist())
        if word
        for first, last in stretches(labels == word)
    ]
    runs.sort(key=lambda run: run[1])
    groups = [
        (kind.value, list(members)) for kind, members in groupby(enumerate(programme.stages), lambda item: item[1].kind)
    ]
    has, asks = [word for word, _, _ in runs], [word for word, _ in groups]
    contradictions = [f"the record runs through {_told(has)}; the programme prescribes {_told(asks)}"]
    spans: list[StageSpan] = []
    doubts: list[str] = []
    calls = stage_calls(programme)
    for word in dict.fromkeys(asks):
        if has.count(word) != asks.count(word):
            continue
        ours = [members for other, members in groups if other == word]
        theirs = [(first, last) for other, first, last in runs if other == word]
        for members, (first, last) in zip(ours, theirs, strict=True):
            parts = _split(first, last, len(members), moist.running)
            if parts is None:
                names = " and ".join(calls[position] for position, _ in members)
                doubts.append(f"{names} cannot be told apart in the record; each is judged over all of both")
            for (position, stage), (start, end) in zip(members, parts or [(first, last)] * len(members), strict=True):
                spans.append(StageSpan(position, stage, start, end, calls[position]))
    spans.sort(key=lambda span: span.position)
    return StagesFound(Origin.COLUMN, tuple(spans), moist, () if has == asks else tuple(contradictions), tuple(doubts))


def _told(words: list[str]) -> str:
    more = f" and {len(words) - _WORDS_TOLD} more" if len(words) > _WORDS_TOLD else ""
    return ", ".join(words[:_WORDS_TOLD]) + more if words else "no stage"


def _split(first: int, last: int, parts: int, on: NDArray[np.bool_] | None) -> list[Stretch] | None:
    """Cut a run of equal stages at its longest pauses of circulation; None where there are too few."""
    if parts == 1:
        return [(first, last)]
    if on is None:
        return None
    ran = _long_enough(on, first, last)
    between = sorted(pauses(ran, first, last), key=lambda pause: pause[0] - pause[1])[: parts - 1]
    if len(between) < parts - 1:
        return None
    cuts = sorted((start + end) // 2 for start, end in between)
    return list(zip([first, *(cut + 1 for cut in cuts)], [*cuts, last], strict=True))


def _long_enough(on: NDArray[np.bool_], first: int, last: int) -> NDArray[np.bool_]:
    """Leave out short bursts of the pump within a run: running down after the word changed, priming while filling."""
    bursts = stretches(on[first : last + 1])
    longest = max((end - start for start, end in bursts), default=0)
    ran = np.zeros_like(on)
    for start, end in bursts:
        if end - start >= _BURST_SHARE * longest:
            ran[first + start : first + end + 1] = True
    return ran


def _by_circulation(record: CycleRecord, programme: Programme, moist: Moist) -> StagesFound:
    wet = [(position, stage) for position, stage in enumerate(programme.stages) if stage.kind.wet]
    parts = stretches(moist.counted)
    if len(parts) < len(wet):
        doubt = f"{len(parts)} stretches of circulation for {len(wet)} wet stages"
        return StagesFound(Origin.CIRCULATION, (), replace(moist, doubt=doubt), doubts=(doubt,))
    parts = _joined(record.time_s, parts, len(wet))
    calls = stage_calls(programme)
    spans = [
        StageSpan(position, stage, first, last, calls[position])
        for (position, stage), (first, last) in zip(wet, parts, strict=True)
    ]
    doubts = _too_hot(record, spans)
    counted = np.zeros_like(moist.counted)
    end = max((span.position for span in spans if span.stage.kind is StageKind.DISINFECT), default=-1)
    for span in spans:
        if span.position <= end:
            counted[span.first : span.last + 1] = True
    after, samples = parts[-1][1] + 1, moist.counted.size
    if after < samples:
        dry = [(position, stage) for position, stage in enumerate(programme.stages) if not stage.kind.wet]
        spans += [StageSpan(position, stage, after, samples - 1, calls[position]) for position, stage in dry]
    found = replace(moist, counted=counted, doubt=doubts[0] if doubts else "")
    return StagesFound(Origin.CIRCULATION, tuple(spans), found, doubts=tuple(doubts))


def _joined(time_s: NDArray[np.float64], parts: list[Stretch], count: int) -> list[Stretch]:
    """Join stretches until as many are left as wanted; the longest pauses stay."""
    starts = np.array([first for first, _ in parts])
    ends = np.array([last for _, last in parts])
    pause = time_s[starts[1:]] - time_s[ends[:-1]]
    cuts = np.sort(np.argsort(-pause, kind="stable")[: count - 1])
    return list(zip(starts[[0, *(cuts + 1)]].tolist(), ends[[*cuts, -1]].tolist(), strict=True))


def _checked(found: StagesFound) -> StagesFound:
    """Doubt stages that the circulation does not bear out: heat without water is not moist heat."""
    doubts = list(found.doubts)
    if found.moist.doubt and found.moist.doubt not in doubts:
        doubts.append(found.moist.doubt)
    for span in found.spans:
        if found.running is not None and not span.stage.kind.wet:
            share = float(found.running[span.first : span.last + 1].mean())
            if share > 0.5:
                doubts.append(f"water circulates in {share:.0%} of what should be {span.called!r}")
    return replace(found, doubts=tuple(doubts))


def _too_hot(record: CycleRecord, spans: list[StageSpan]) -> list[str]:
    """Doubt a finding by circulation in which another wet stage is hotter than the disinfection."""
    heat = {
        span.position: max((np.nanmax(part) for part in parts if not np.isnan(part).all()), default=np.nan)
        for span in spans
        if span.stage.kind.wet
        for parts in [[t.values[span.first : span.last + 1] for t in record.of("temperature", "chamber", "load")]]
    }
    hottest = max((heat[s.position] for s in spans if s.stage.kind is StageKind.DISINFECT), default=np.nan)
    return [
        f"what should be {span.called!r} is hotter than what should be the disinfection"
        for span in spans
        if span.stage.kind.wet and heat[span.position] > hottest
    ]
