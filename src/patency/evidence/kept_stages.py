"""The stages found in a record as text, and back: kept beside a record, so that judging it again need not find them."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.found_stages import Origin, StagesFound, StageSpan
from patency.evidence.moist import Moist
from patency.evidence.running import stretches
from patency.evidence.stage_calls import stage_calls

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.catalogue import Programme


def stages_as_text(found: StagesFound) -> str:
    """Write the stages of a record as JSON.

    Parameters
    ----------
    found
        The stages.

    Returns
    -------
    str
        Spans as positions of samples, what counts and when the pump ran as stretches.
    """
    running = found.moist.running
    kept = {
        "origin": found.origin.value,
        "spans": [[span.position, span.first, span.last] for span in found.spans],
        "counted": stretches(found.moist.counted),
        "running": None if running is None else stretches(running),
        "doubt": found.moist.doubt,
        "contradictions": found.contradictions,
        "doubts": found.doubts,
    }
    return json.dumps(kept, ensure_ascii=False, separators=(",", ":"))


def stages_of_text(text: str, programme: Programme, samples: int) -> StagesFound:
    """Read what `stages_as_text` wrote.

    Parameters
    ----------
    text
        The JSON.
    programme
        The programme they are stages of.
    samples
        How many samples the record has.

    Returns
    -------
    StagesFound
        The same value.
    """
    kept = json.loads(text)
    calls = stage_calls(programme)
    stages = programme.stages
    running = None if kept["running"] is None else _mask(kept["running"], samples)
    return StagesFound(
        Origin(kept["origin"]),
        tuple(StageSpan(place, stages[place], first, last, calls[place]) for place, first, last in kept["spans"]),
        Moist(_mask(kept["counted"], samples), running, kept["doubt"]),
        tuple(kept["contradictions"]),
        tuple(kept["doubts"]),
    )


def _mask(parts: list[list[int]], samples: int) -> NDArray[np.bool_]:
    mask = np.zeros(samples, dtype=bool)
    for first, last in parts:
        mask[first : last + 1] = True
    return mask
