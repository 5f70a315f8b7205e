"""Where each stage of the programme lies in a record: by the machine's own words, or by when its pump ran."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import StageKind
from patency.evidence.findings import Finding, FindingKind
from patency.evidence.running import Stretch, pauses, running, stretches

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.catalogue import Programme, Stage
    from patency.evidence.record import CycleRecord


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
    """

    position: int
    stage: Stage
    first: int
    last: int


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
        Which samples are moist heat that may count: wet stages up to the end of disinfection, shape (n,).
    running
        When the circulation pump ran, shape (n,); None when nothing shows it.
    contradictions
        What in the record contradicts the programme.
    doubts
        Why the stages cannot be told for certain.
    moist_doubt
        Why it is doubtful that the heat counted as moist was moist; empty where it is not.
    """

    origin: Origin
    spans: tuple[StageSpan, ...]
    moist: NDArray[np.bool_]
    running: NDArray[np.bool_] | None
    contradictions: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    moist_doubt: str = ""

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
    on = running(record)
    if record.stages is not None:
        found = _by_column(_filled(record.stages), programme, on)
    elif on is not None:
        found = _by_circulation(record, programme, on)
    else:
        doubt = "the record has no stage column, no circulation pressure and no arm rotation"
        found = StagesFound(Origin.NOTHING, (), np.zeros(record.time_s.size, dtype=bool), None, doubts=(doubt,))
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
            message = f"stopped for {duration:.4g} s in stage {span.stage.name!r}"
            findings.append(Finding(FindingKind.INTERRUPTION, message, lines=(int(record.lines[first]),)))
    return findings


def _filled(words: tuple[str, ...]) -> NDArray[np.str_]:
    """Give samples without a word the word around them, where it is the same on both sides."""
    labels = np.array(words)
    for first, last in stretches(labels == ""):
        if first > 0 and last + 1 < labels.size and labels[first - 1] == labels[last + 1]:
            labels[first : last + 1] = labels[first - 1]
    return labels


def _by_column(labels: NDArray[np.str_], programme: Programme, on: NDArray[np.bool_] | None) -> StagesFound:
    runs = [
        (word, first, last)
        for word in dict.fromkeys(labels.tolist())
        if word
        for first, last in stretches(labels == word)
    ]
    runs.sort(key=lambda run: run[1])
    groups = [
        (kind, list(members)) for kind, members in groupby(enumerate(programme.stages), lambda item: item[1].kind)
    ]
    contradictions = []
    if [word for word, _, _ in runs] != [kind.value for kind, _ in groups]:
        has, asks = ", ".join(word for word, _, _ in runs), ", ".join(kind.value for kind, _ in groups)
        contradictions.append(f"the record runs through {has or 'no stage'}; the programme prescribes {asks}")
    spans: list[StageSpan] = []
    doubts: list[str] = []
    for kind in dict.fromkeys(kind for kind, _ in groups):
        ours = [members for other, members in groups if other is kind]
        theirs = [(first, last) for word, first, last in runs if word == kind.value]
        if len(ours) != len(theirs):
            continue
        for members, (first, last) in zip(ours, theirs, strict=True):
            parts = _split(first, last, len(members), on)
            if parts is None:
                names = " and ".join(stage.name for _, stage in members)
                doubts.append(f"{names} cannot be told apart in the record; each is judged over all of both")
            for (position, stage), (start, end) in zip(members, parts or [(first, last)] * len(members), strict=True):
                spans.append(StageSpan(position, stage, start, end))
    spans.sort(key=lambda span: span.position)
    wet = np.isin(labels, [kind.value for kind in StageKind if kind.wet])
    disinfection = np.flatnonzero(labels == StageKind.DISINFECT.value)
    end = int(disinfection[-1]) if disinfection.size else -1
    moist = wet & (np.arange(labels.size) <= end)
    return StagesFound(Origin.COLUMN, tuple(spans), moist, on, tuple(contradictions), tuple(doubts))


def _split(first: int, last: int, parts: int, on: NDArray[np.bool_] | None) -> list[Stretch] | None:
    """Cut a run of equal stages at its longest pauses of circulation; None where there are too few."""
    if parts == 1:
        return [(first, last)]
    between = [] if on is None else sorted(pauses(on, first, last), key=lambda pause: pause[0] - pause[1])[: parts - 1]
    if len(between) < parts - 1:
        return None
    cuts = sorted((start + end) // 2 for start, end in between)
    return list(zip([first, *(cut + 1 for cut in cuts)], [*cuts, last], strict=True))


def _by_circulation(record: CycleRecord, programme: Programme, on: NDArray[np.bool_]) -> StagesFound:
    wet = [(position, stage) for position, stage in enumerate(programme.stages) if stage.kind.wet]
    parts = stretches(on)
    moist = np.zeros(on.size, dtype=bool)
    if len(parts) < len(wet):
        doubt = f"{len(parts)} stretches of circulation for {len(wet)} wet stages"
        return StagesFound(Origin.CIRCULATION, (), moist, on, doubts=(doubt,))
    parts = _joined(record.time_s, parts, len(wet))
    spans = [
        StageSpan(position, stage, first, last) for (position, stage), (first, last) in zip(wet, parts, strict=True)
    ]
    after = parts[-1][1] + 1
    dry = [(position, stage) for position, stage in enumerate(programme.stages) if not stage.kind.wet]
    if after < on.size:
        spans += [StageSpan(position, stage, after, on.size - 1) for position, stage in dry]
    disinfection = [span for span in spans if span.stage.kind is StageKind.DISINFECT]
    for span in spans:
        if disinfection and span.stage.kind.wet and span.first <= disinfection[-1].first:
            moist[span.first : span.last + 1] = True
    doubts = _too_hot(record, spans)
    return StagesFound(
        Origin.CIRCULATION, tuple(spans), moist, on, doubts=tuple(doubts), moist_doubt=doubts[0] if doubts else ""
    )


def _joined(time_s: NDArray[np.float64], parts: list[Stretch], count: int) -> list[Stretch]:
    """Join stretches until as many are left as wanted; the longest pauses stay."""
    starts = np.array([first for first, _ in parts])
    ends = np.array([last for _, last in parts])
    pause = time_s[starts[1:]] - time_s[ends[:-1]]
    cuts = np.sort(np.argsort(-pause, kind="stable")[: count - 1])
    return list(zip(starts[[0, *(cuts + 1)]].tolist(), ends[[*cuts, -1]].tolist(), strict=True))


def _checked(found: StagesFound) -> StagesFound:
    """Doubt stages that the circulation does not bear out: heat without water is not moist heat."""
    if found.running is None:
        return found
    doubts, moist_doubt = list(found.doubts), found.moist_doubt
    for span in found.spans:
        share = float(found.running[span.first : span.last + 1].mean())
        if span.stage.kind is StageKind.DISINFECT and share < 0.5:
            moist_doubt = f"water circulates in only {share:.0%} of what should be {span.stage.name!r}"
            doubts.append(moist_doubt)
        if not span.stage.kind.wet and share > 0.5:
            doubts.append(f"water circulates in {share:.0%} of what should be {span.stage.name!r}")
    return replace(found, doubts=tuple(doubts), moist_doubt=moist_doubt)


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
        f"what should be {span.stage.name!r} is hotter than what should be the disinfection"
        for span in spans
        if span.stage.kind.wet and heat[span.position] > hottest
    ]
