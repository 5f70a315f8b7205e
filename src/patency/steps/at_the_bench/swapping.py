"""A piece that cannot go into the load is swapped for an equal spare: a deviation, with its reason."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.ledger import Kind, MovePiece, Piece, Place, Refused, Where
from patency.steps.at_the_bench.load_progress import FORM
from patency.steps.at_the_bench.loading import Loading, show_loading
from patency.steps.at_the_bench.matching import pieces_of_step
from patency.steps.at_the_bench.permission import SOILED, families_of_pieces, not_permitted
from patency.steps.at_the_bench.showing import ShownPiece, show_piece
from patency.steps.at_the_bench.workplace import note

if TYPE_CHECKING:
    from patency.ledger import Circumstances, Command
    from patency.steps.at_the_bench.workplace import Workplace

_ASIDE = "set aside at the soiled side"


@dataclass(frozen=True, slots=True)
class Swap:
    """A piece of a step and the spares that may take its place.

    Parameters
    ----------
    piece
        What lies in the set now.
    spares
        Equal pieces on the shelf that nothing holds; of the very same type, so that the plan and its flow stay.
    """

    piece: ShownPiece
    spares: tuple[ShownPiece, ...]


def swaps_on(workplace: Workplace, load_id: str, step: str) -> tuple[Swap, ...] | Refused:
    """Say which pieces of a step can be swapped for which spares.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.
    step
        The step.

    Returns
    -------
    tuple[Swap, ...] or Refused
        One for each piece of the step, also where there is no spare.
    """
    shown = show_loading(workplace, load_id, step)
    if isinstance(shown, Refused):
        return shown
    if shown.now is None or shown.now.key != step:
        return Refused.because(f"step {step!r}", f"is none of load {load_id}", "a step of this load")
    ledger = workplace.ledger
    shelf = [one for one in ledger.all_of(Piece) if one.place.where is Where.SPARE]
    free = [one for one in shelf if not ledger.holds(Kind.PIECE, one.piece)]
    mine = [ledger.find(Piece, key) for key in pieces_of_step(workplace, shown.now).values()]
    return tuple(
        Swap(
            show_piece(workplace, piece),
            tuple(show_piece(workplace, spare) for spare in free if spare.type_key == piece.type_key),
        )
        for piece in mine
        if piece is not None
    )


def swap_piece(
    workplace: Workplace, load_id: str, step: str, pair: tuple[str, str], why: str, around: Circumstances
) -> Loading | Refused:
    """Put an equal spare in the place of a piece; that one goes to quarantine, the step is confirmed again.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.
    step
        The step.
    pair
        The piece that goes out, and the spare that comes in.
    why
        The reason.
    around
        Who, when, where, under which key.

    Returns
    -------
    Loading or Refused
        The load at the step in question. Refused for a spare of another type, without a reason, and once the set is
        wholly loaded or the load has started.
    """
    if workplace.did(around):
        return show_loading(workplace, load_id)
    swaps = swaps_on(workplace, load_id, step)
    if isinstance(swaps, Refused):
        return swaps
    out, into = pair
    offered = {spare.key for swap in swaps if swap.piece.key == out for spare in swap.spares}
    piece, spare = (workplace.ledger.find(Piece, key) for key in pair)
    if into not in offered or spare is None or spare.place.where is not Where.SPARE:
        return Refused.because(f"spare {into!r}", f"was not offered for {out}", ", ".join(sorted(offered)) or "none")
    if not why.strip():
        return Refused.because("deviation", "has no reason", "why it is done otherwise")
    shown = show_loading(workplace, load_id, step)
    if isinstance(shown, Refused) or piece is None or piece.place.where is not Where.SET:
        return Refused.because(f"piece {out}", "lies in no set by now", "a piece of a set of this load")
    if shown.started:
        return Refused.because(f"load {load_id}", "has started", "a load that stands open")
    words, reason = f"{into} instead of {out}", f"swapped while loading {load_id}: {why}"
    commands: list[Command] = [
        MovePiece(piece=out, from_place=piece.place, to=Place(where=Where.QUARANTINE, key=_ASIDE), why=reason),
        MovePiece(piece=into, from_place=spare.place, to=piece.place, why=f"in the place of {out}: {why}"),
        note(
            Kind.LOAD, load_id, FORM, act="otherwise", wrong=f"piece not fit at {step}", chosen=words, why=why,
            change={}, again=[step], costs=[],
        ),
    ]  # fmt: skip
    against = not_permitted(workplace, around, SOILED, families_of_pieces(workplace, [out]))
    return against or workplace.write(around, commands) or show_loading(workplace, load_id)
