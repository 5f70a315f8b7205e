"""What people saw when a load came out, as evidence for its release, and which of its sets may still go on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from patency.evidence import EnteredCheck, EyeCheck, RestOfLoad
from patency.evidence import Seen as Looked
from patency.flow import still_reached
from patency.ledger import Kind
from patency.load import pieces_of_set
from patency.steps.at_the_bench.workplace import notes_of

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from patency.load import Load
    from patency.steps.at_the_bench.workplace import Workplace

UNLOADED = "unloading"
"""Name of the format in which the ledger keeps what was seen at unloading."""


@dataclass(frozen=True, slots=True)
class Off:
    """What was off when a load came out.

    Parameters
    ----------
    port, set_key, piece
        Where, whose, what.
    person
        Who saw it.
    """

    port: str
    set_key: str
    piece: str
    person: str


@dataclass(frozen=True, slots=True)
class Rest:
    """Which sets of a load go on, and which do not, with something of it off.

    Parameters
    ----------
    back
        Sets that do not go on, each with the first reason.
    stays
        What was computed of the others; None where there are none.
    """

    back: tuple[tuple[str, str], ...]
    stays: RestOfLoad | None


def said_at_unloading(workplace: Workplace, load_id: str) -> list[dict[str, Any]]:
    """List what was said when a load came out.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.

    Returns
    -------
    list[dict]
        In order; ``act`` is ``off``, ``wet``, ``damaged`` or ``looked``.
    """
    return notes_of(workplace, Kind.LOAD, load_id, UNLOADED)


def off_at_unloading(workplace: Workplace, load_id: str) -> tuple[Off, ...]:
    """List what was off when a load came out.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.

    Returns
    -------
    tuple[Off, ...]
        In the order in which it was seen.
    """
    said = said_at_unloading(workplace, load_id)
    return tuple(Off(one["port"], one["set"], one["piece"], one["person"]) for one in said if one["act"] == "off")


def all_looked_at(said: Sequence[dict[str, Any]]) -> bool:
    """Tell whether every port or pack was looked at since the last one that was said to be off, wet or damaged.

    Parameters
    ----------
    said
        What was said, in order.

    Returns
    -------
    bool
        Whether it was.
    """
    return bool(said) and said[-1]["act"] == "looked"


def rest_of_load(workplace: Workplace, load: Load, ports: Sequence[str], sets: Sequence[str], on: date) -> Rest:
    """Work out which sets of a load still get their water with what hung on some ports off.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load
        The load as it was put together.
    ports
        Where something was off; at least one.
    sets
        The sets that are asked about.
    on
        The day of the decision, on which limits have to be in date.

    Returns
    -------
    Rest
        A set of which one lumen falls short, or cannot be computed, does not go on.
    """
    found = still_reached(workplace.department, load, ports, on)
    placed = {(piece.set, piece.piece) for piece in load.pieces}
    back, least = [], []
    for name in sets:
        lumens = [
            ((name, piece.key, lumen), piece)
            for piece in pieces_of_set(workplace.department, name)
            if (name, piece.key) in placed
            for lumen in piece.lumens
        ]
        doubts = [f"{piece.words}: {doubt}" for key, piece in lumens if (doubt := found.doubt(key))]
        if found.not_computed or doubts:
            back.append((name, found.not_computed or doubts[0]))
        else:
            least.append((name, min((found.margin[key] for key, _ in lumens), default=1.0)))
    return Rest(tuple(back), _stays(load, ports, least))


def _stays(load: Load, ports: Sequence[str], least: Sequence[tuple[str, float]]) -> RestOfLoad | None:
    if not least:
        return None
    source = f"computed for load {load.id} with {' '.join(ports)} off"
    return RestOfLoad(tuple(name for name, _ in least), min(margin for _, margin in least), source)


def eye_check_of(workplace: Workplace, load_id: str, rest: Rest | None = None) -> EyeCheck | None:
    """Return the look at unloading as evidence for the release.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.
    rest
        What was computed of its sets with what was off; None where that was not asked for.

    Returns
    -------
    EyeCheck or None
        None where nobody said that everything was looked at, and nothing was found off either. Sets stay only where
        everything was looked at after the last thing that was off.
    """
    said = said_at_unloading(workplace, load_id)
    off = [one for one in said if one["act"] == "off"]
    looked = [one for one in said if one["act"] == "looked"]
    if off:
        remark = "; ".join(f"{one['port']}: {one['piece']}" for one in off)
        last = off[-1]
        stays = rest.stays if rest is not None and all_looked_at(said) else None
        return EyeCheck(Looked.SOMETHING_OFF, last["person"], datetime.fromisoformat(last["at"]), remark, stays)
    if looked:
        return EyeCheck(Looked.ALL_IN_PLACE, looked[-1]["person"], datetime.fromisoformat(looked[-1]["at"]))
    return None


def dry_check_of(workplace: Workplace, load_id: str) -> EnteredCheck | None:
    """Return the look at the packs of a sterilizer load as evidence for the release.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.

    Returns
    -------
    EnteredCheck or None
        Failed where a pack was wet; None where nobody said that every pack was looked at, and none was wet either.
    """
    said = said_at_unloading(workplace, load_id)
    told = [one for one in said if one["act"] == "wet"] or [one for one in said if one["act"] == "looked"]
    if not told:
        return None
    at = datetime.fromisoformat(told[-1]["at"]).replace(tzinfo=None)
    result = "failed" if told[-1]["act"] == "wet" else "passed"
    return EnteredCheck.model_validate({"result": result, "at": at, "by": told[-1]["person"]})
