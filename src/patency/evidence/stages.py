"""Where each stage of the programme lies in a record: by the machine's own words, or by the signals."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.by_signals import find_by_signals
from patency.evidence.findings import Finding, FindingKind
from patency.evidence.found_stages import Origin, StagesFound, StageSpan
from patency.evidence.moist import Moist, filled_words, find_moist
from patency.evidence.running import Stretch, long_enough, pauses, stretches
from patency.evidence.stage_calls import stage_calls

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.catalogue import Programme
    from patency.evidence.record import CycleRecord

_WORDS_TOLD = 12


def find_stages(record: CycleRecord, programme: Programme) -> StagesFound:
    """Find the stages of a programme in a record.

    The machine's stage column is followed where there is one, and checked against what the signals say. Without it the
    signals decide: the circulation, with temperatures and doses, says which stretch belongs to which stage, and where
    temperatures and conductivity leave their course one stage ends and the next begins. Without circulation nothing is
    found.

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
        if moist.running is not None and found.spans:
            signals = find_by_signals(record, programme, replace(moist, counted=moist.running))
            found = replace(found, doubts=(*found.doubts, *_at_odds(found, signals)))
    elif moist.running is not None:
        found = find_by_signals(record, programme, moist)
    else:
        found = StagesFound(Origin.NOTHING, (), moist, doubts=(moist.doubt,))
    return _checked(found)


def _at_odds(found: StagesFound, signals: StagesFound) -> list[str]:
    """Doubt the machine's words where less than half of a stage's circulation, by the signals, lies within them."""
    if signals.doubts or found.running is None:
        return []
    words = {span.position: span for span in found.spans}
    odd = []
    for span in signals.spans:
        ours = words.get(span.position)
        on = np.flatnonzero(found.running[span.first : span.last + 1]) + span.first
        if ours is None or not span.stage.kind.wet or not on.size:
            continue
        share = float(((on >= ours.first) & (on <= ours.last)).mean())
        if share < 0.5:
            odd.append(f"by the signals only {share:.0%} of {span.called!r} lies where the machine's words put it")
    return odd


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
    ran = long_enough(on, first, last)
    between = sorted(pauses(ran, first, last), key=lambda pause: pause[0] - pause[1])[: parts - 1]
    if len(between) < parts - 1:
        return None
    cuts = sorted((start + end) // 2 for start, end in between)
    return list(zip([first, *(cut + 1 for cut in cuts)], [*cuts, last], strict=True))


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
