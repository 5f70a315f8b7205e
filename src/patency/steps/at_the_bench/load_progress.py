"""How far the loading of a carrier is, as the ledger tells it: so nobody's place is lost by an interruption."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from patency.ledger import Kind
from patency.load import CappedPort, Connection
from patency.steps.at_the_bench.workplace import notes_of

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from patency.load import Load
    from patency.steps.at_the_bench.workplace import Workplace

FORM = "loading"


@dataclass(frozen=True, slots=True)
class Done:
    """A confirmed step: by whom, when, and the pieces whose mark was read."""

    person: str
    at: str
    scanned: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Deviation:
    """What was done otherwise than planned: what was wrong, what was chosen, why, by whom."""

    wrong: str
    chosen: str
    why: str
    person: str
    at: str
    costs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a load is.

    Parameters
    ----------
    load
        The load with its deviations.
    done
        Step to its confirmation, in the order of confirming.
    deviations
        What was done otherwise, in order.
    person
        Who loads; None before the first step.
    checked
        What was looked at before the start.
    """

    load: Load
    done: Mapping[str, Done] = field(default_factory=dict)
    deviations: tuple[Deviation, ...] = ()
    person: str | None = None
    checked: tuple[str, ...] = ()


def progress_of(workplace: Workplace, load: Load) -> Progress:
    """Read from the ledger how far a load is.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load
        The load as planned.

    Returns
    -------
    Progress
        Where it stands.
    """
    done: dict[str, Done] = {}
    deviations: list[Deviation] = []
    person, checked = None, ()
    for one in notes_of(workplace, Kind.LOAD, load.id, FORM):
        act, person = one["act"], one["person"]
        if act == "confirmed":
            done[one["step"]] = Done(person, one["at"], tuple(one["scanned"]))
        elif act == "undone":
            done.pop(one["step"], None)
        elif act == "otherwise":
            load = changed(load, one["change"])
            for step in one["again"]:
                done.pop(step, None)
            texts = (one["wrong"], one["chosen"], one["why"])
            deviations.append(Deviation(*texts, person, one["at"], tuple(one.get("costs", ()))))
        elif act == "checked":
            checked = tuple(one["checks"])
    return Progress(load, done, tuple(deviations), person, checked)


def changed(load: Load, change: Mapping[str, Any]) -> Load:
    """Apply a deviation to a load.

    Parameters
    ----------
    load
        The load before.
    change
        ``piece`` with ``set`` and ``connection``: a lumen connected otherwise; ``capped``: port to cap or nothing, of
        ports whose end changes; ``open``: ports left open.

    Returns
    -------
    Load
        The load after.
    """
    pieces = load.pieces
    if "connection" in change:
        new = Connection.model_validate({**change["connection"], "chain": tuple(change["connection"]["chain"])})
        pieces = tuple(
            _connected(piece, new) if (piece.set, piece.piece) == (change["set"], change["piece"]) else piece
            for piece in load.pieces
        )
    caps = {one.port: one.cap for one in load.capped_ports}
    for port, cap in change.get("capped", {}).items():
        caps.pop(port, None)
        if cap:
            caps[port] = cap
    left_open = [port for port in load.open_ports if port not in caps]
    left_open += [port for port in change.get("open", ()) if port not in left_open]
    return load.model_copy(
        update={
            "pieces": pieces,
            "capped_ports": tuple(CappedPort(port=port, cap=cap) for port, cap in caps.items()),
            "open_ports": tuple(left_open),
        }
    )


def _connected(piece: Any, new: Connection) -> Any:  # noqa: ANN401 - a placed piece, before and after
    lumens = tuple(new if one.lumen == new.lumen else one for one in piece.lumens)
    return piece.model_copy(update={"lumens": lumens, "position": lumens[0].port})
