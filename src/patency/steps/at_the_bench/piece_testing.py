"""Tests of single pieces at the clean side: what each showed; a piece that does not pass is held."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.ledger import Kind, Refused
from patency.steps.at_the_bench.permission import CLEAN, not_permitted
from patency.steps.at_the_bench.showing import show_pieces
from patency.steps.at_the_bench.workplace import hold, note, notes_of

if TYPE_CHECKING:
    from patency.ledger import Circumstances, Command
    from patency.steps.at_the_bench.workplace import Workplace

_FORM = "inspection"


def note_test(
    workplace: Workplace, piece_key: str, method: str, verdict: str, remark: str, around: Circumstances
) -> Refused | None:
    """Write down what a test of a piece showed; a piece that does not pass is held.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    piece_key
        The piece.
    method
        What was tested: insulation, function, residue.
    verdict
        ``met`` or ``not met``.
    remark
        What was seen or measured, with its unit.
    around
        Who, when, where, under which key.

    Returns
    -------
    Refused or None
        Why it was not written; None where it was.
    """
    if workplace.did(around):
        return None
    shown = show_pieces(workplace, [piece_key])
    if not shown:
        return Refused.because(f"piece {piece_key}", "is not known", "a piece that was enrolled")
    if verdict not in {"met", "not met"}:
        return Refused.because(f"test of {piece_key}", f"verdict {verdict!r}", "met or not met")
    commands: list[Command] = [note(Kind.PIECE, piece_key, _FORM, verdict, method=method, remark=remark)]
    if verdict == "not met":
        commands.append(hold(around, Kind.PIECE, piece_key, f"{method}: {remark or 'not met'}"))
    return not_permitted(workplace, around, CLEAN) or workplace.write(around, commands)


def piece_tests(workplace: Workplace, piece_key: str) -> list[dict[str, str]]:
    """List what tests of a piece showed.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    piece_key
        The piece.

    Returns
    -------
    list[dict]
        In order: ``method``, ``verdict``, ``remark``, ``person``, ``at``.
    """
    kept = ("method", "verdict", "remark", "person", "at")
    return [{key: one[key] for key in kept} for one in notes_of(workplace, Kind.PIECE, piece_key, _FORM)]
