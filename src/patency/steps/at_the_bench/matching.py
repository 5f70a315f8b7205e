"""Which piece of the ledger stands for which piece of the plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.ledger import Piece, Refused

if TYPE_CHECKING:
    from patency.ledger import InstrumentSet
    from patency.steps.at_the_bench.load_steps import LoadStep
    from patency.steps.at_the_bench.workplace import Workplace


def pieces_of_step(workplace: Workplace, step: LoadStep) -> dict[tuple[str, str], str]:
    """Say which pieces of the ledger the pieces of a step are.

    A piece stands for its own place in the plan; where it is not in the set, another of its type does that has no
    place of its own.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    step
        The step.

    Returns
    -------
    dict
        Set and key of the plan to the key of the ledger; a place for which nothing is there is left out.
    """
    if not step.set_key:
        return {}
    found = workplace.set_of(step.set_key)
    matched = {} if isinstance(found, Refused) else match_pieces(workplace, found)
    return {place: matched[place] for place in step.pieces if place in matched}


def match_pieces(workplace: Workplace, found: InstrumentSet) -> dict[tuple[str, str], str]:
    """Match the places of a set in a plan with the pieces that lie in it.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    found
        The set.

    Returns
    -------
    dict
        Set and key of the plan to the key of the ledger.
    """
    places = {piece.key: f"{piece.instrument}/{piece.piece}" for piece in workplace.planned_pieces(found)}
    inside = set(found.pieces)
    matched = {(found.set_key, key): f"{found.set_key}/{key}" for key in places if f"{found.set_key}/{key}" in inside}
    left = sorted(inside - set(matched.values()))
    for key in left:
        piece = workplace.ledger.find(Piece, key)
        free = (one for one, kind in places.items() if piece and kind == piece.type_key)
        place = next((one for one in free if (found.set_key, one) not in matched), None)
        if place is not None:
            matched[found.set_key, place] = key
    return matched
