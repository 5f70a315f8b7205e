"""Judges a cycle by two records of it: the machine's, and that of an independent logger."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from patency.evidence import Evidence, SteamEvidence, join, overall, worse_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from patency.evidence import Criterion, CycleRecord, Joined

Judged = TypeVar("Judged", Evidence, SteamEvidence)


def judged_with_logger(
    record: CycleRecord, logger: CycleRecord | None, judging: Callable[[CycleRecord], Judged]
) -> tuple[CycleRecord, Judged]:
    """Judge a record, and again with the logger's sensors beside its own; the worse counts.

    Parameters
    ----------
    record
        The machine's record.
    logger
        The logger's; None where there is none.
    judging
        Judges a record.

    Returns
    -------
    tuple
        The record with the logger's sensors, and the evidence: of each criterion what is worse, and whether the two
        recorders agree.
    """
    alone: Judged = judging(record)
    if logger is None:
        return record, alone
    joined: Joined = join(record, logger)
    together: Judged = judging(joined.record)
    worst: tuple[Criterion, ...] = worse_of(alone.criteria, together.criteria)
    if joined.by_the_other is not None:
        worst = worse_of(judging(joined.by_the_other).criteria, worst)
    criteria = (*worst, *joined.criteria)
    verdict = overall(one.state for one in criteria)
    return joined.record, together.model_copy(update={"criteria": criteria, "verdict": verdict})
