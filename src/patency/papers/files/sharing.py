"""How the printed load file shares one row between met criteria of one kind, asked of several stages or sensors."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from patency.evidence import CriterionState

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from patency.papers.files.content import CriterionLine, LoadFile


@dataclass(frozen=True, slots=True)
class SharedRow:
    """Criteria of one kind and one source, which are then said once.

    Parameters
    ----------
    kind, source
        What they have in common.
    why
        The reasons they have in common; empty where there is none.
    lines
        Each with its own numbers and the reasons of its own alone, the tightest margin first.
    """

    kind: str
    source: str
    why: str
    lines: tuple[CriterionLine, ...]


@dataclass(frozen=True, slots=True)
class PrintedFile:
    """A load file with its criteria as the paper sets them.

    Parameters
    ----------
    file
        The load file.
    doubtful
        What is not met or not evaluated, each in a row of its own.
    met
        What is met.
    """

    file: LoadFile
    doubtful: tuple[SharedRow, ...]
    met: tuple[SharedRow, ...]


def printed_file(file: LoadFile) -> PrintedFile:
    """Let met criteria of one kind and one source share a row; whatever is doubtful keeps its own.

    Parameters
    ----------
    file
        The load file.

    Returns
    -------
    PrintedFile
        Every criterion of the load file, once.
    """
    doubtful = (line for line in file.criteria if line.state != CriterionState.MET)
    kinds: dict[tuple[str, str], list[CriterionLine]] = {}
    for line in file.criteria:
        if line.state == CriterionState.MET:
            kinds.setdefault((line.kind, line.source), []).append(line)
    return PrintedFile(file, tuple(_row([line]) for line in doubtful), tuple(_row(lines) for lines in kinds.values()))


def _row(lines: Sequence[CriterionLine]) -> SharedRow:
    shared = [one for one in _reasons(lines[0]) if all(one in _reasons(line) for line in lines)]
    own = (replace(line, why=_said(one for one in _reasons(line) if one not in shared)) for line in lines)
    tightest_first = sorted(own, key=lambda line: math.inf if line.spare is None else line.spare)
    return SharedRow(lines[0].kind, lines[0].source, _said(shared), tuple(tightest_first))


def _reasons(line: CriterionLine) -> list[str]:
    return line.why.split("; ") if line.why else []


def _said(reasons: Iterable[str]) -> str:
    return "; ".join(reasons)
