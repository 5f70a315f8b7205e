"""Judges a whole archive again, under changed limits or with corrected sensors; nothing in the archive is changed."""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from multiprocessing import get_context
from typing import TYPE_CHECKING

from patency.steps.archive_parts import part_site, parts_of, samples_path
from patency.steps.revising import cycles_again

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from patency.evidence import JudgedAgain
    from patency.steps.revising import Revision

# Another process takes seconds to start; this one judges so many bytes, some 12 million samples, in not many more.
_WORTH_STARTING = 80_000_000


@dataclass(frozen=True, slots=True)
class CycleChanged:
    """A cycle whose verdict changes.

    Parameters
    ----------
    sha256, name
        Its raw record.
    machine, day
        Where and when it ran.
    judged
        Verdicts before and after, and the criteria whose state changes.
    """

    sha256: str
    name: str
    machine: str
    day: str
    judged: JudgedAgain


@dataclass(slots=True)
class Rejudged:
    """What came of judging an archive again.

    Parameters
    ----------
    cycles, samples, values
        How many were looked at: cycles, rows of their records, and single readings read from the archive.
    judged
        How many cycles had a criterion that the change could touch.
    elsewhere
        How many cycles keep their verdict although the state of a criterion changes.
    changed
        The cycles whose verdict changes.
    """

    cycles: int = 0
    samples: int = 0
    values: int = 0
    judged: int = 0
    elsewhere: int = 0
    changed: tuple[CycleChanged, ...] = ()

    def with_part(self, other: Rejudged) -> Rejudged:
        """Add what came of another part.

        Parameters
        ----------
        other
            The other part.

        Returns
        -------
        Rejudged
            Both together.
        """
        return Rejudged(
            self.cycles + other.cycles,
            self.samples + other.samples,
            self.values + other.values,
            self.judged + other.judged,
            self.elsewhere + other.elsewhere,
            (*self.changed, *other.changed),
        )


def rejudge_archive(archive: Path, revision: Revision, *, site: str | None = None, processes: int = 1) -> Rejudged:
    """Judge every cycle of an archive again; of each only the parts that the change can touch.

    Parameters
    ----------
    archive
        The archive's folder.
    revision
        What is other than before.
    site
        Only the cycles of this site; None for all.
    processes
        How many processes share a large archive, this one among them; of a small one it judges all.

    Returns
    -------
    Rejudged
        What was looked at and what changes. Each process holds no more in memory than a part's cycles without samples,
        some million readings and one cycle.

    Raises
    ------
    InputError
        When there is no such folder or a part is damaged.
    """
    parts = [part for part in parts_of(archive) if site is None or part_site(part) == site]
    whole = Rejudged()
    for found in _each(parts, revision, processes):
        whole = whole.with_part(found)
    return whole


def _each(parts: Sequence[Path], revision: Revision, processes: int) -> Iterable[Rejudged]:
    samples = [samples_path(part) for part in parts]
    if processes == 1 or sum(path.stat().st_size for path in samples if path.exists()) < _WORTH_STARTING:
        return (rejudge_part(part, revision) for part in parts)
    return _shared(parts, revision, processes - 1)


def _shared(parts: Sequence[Path], revision: Revision, others: int) -> list[Rejudged]:
    """Share parts with other processes: while they start this one begins at the end, until all are taken."""
    pool = ProcessPoolExecutor(others, mp_context=get_context("spawn"))
    try:
        asked = [pool.submit(rejudge_part, part, revision) for part in parts]
        own = {
            place: rejudge_part(parts[place], revision)
            for place in reversed(range(len(parts)))
            if asked[place].cancel()
        }
        return [own[place] if place in own else asked[place].result() for place in range(len(parts))]
    finally:
        pool.shutdown(cancel_futures=True)


def rejudge_part(part: Path, revision: Revision) -> Rejudged:
    """Judge the cycles of one part again.

    Parameters
    ----------
    part
        Its file of cycles.
    revision
        What is other than before.

    Returns
    -------
    Rejudged
        What was looked at and what changes.
    """
    result = Rejudged()
    changed = []
    for one in cycles_again(part, revision):
        result.cycles += 1
        result.samples += one.row["samples"]
        result.values += one.values
        if one.judged is None:
            continue
        result.judged += 1
        if one.judged.before is not one.judged.after:
            row = one.row
            judged = replace(one.judged, judged=())  # what changed is told; all the rest stays where it was judged
            changed.append(CycleChanged(row["sha256"], row["name"], row["machine"], row["day"], judged))
        elif one.judged.changes:
            result.elsewhere += 1
    result.changed = tuple(changed)
    return result
