"""Unloading at the clean side: where to look first, one tap for what was off, and counting back what the load had."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.flow import fed, flow_of_load
from patency.ledger import (
    EndLoad,
    InstrumentSet,
    Kind,
    LoadKind,
    LoadRecord,
    LoadState,
    MoveSet,
    Refused,
    ReturnAccessories,
    SetState,
    Taken,
)
from patency.papers import set_letters
from patency.steps.at_the_bench.load_progress import progress_of
from patency.steps.at_the_bench.load_steps import StepKind, steps_of_load
from patency.steps.at_the_bench.permission import CLEAN, SOILED, not_permitted
from patency.steps.at_the_bench.seen_at_unloading import UNLOADED, all_looked_at, rest_of_load, said_at_unloading
from patency.steps.at_the_bench.workplace import hold, note
from patency.steps.weakest import weakest_lumens
from patency.texts import UNLOADING_LOOK

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from patency.ledger import Circumstances, Command
    from patency.load import Load
    from patency.papers import LumenLine
    from patency.steps.at_the_bench.workplace import Workplace

_LOOK_FIRST = 8
_PACKS_LOOK = "Hot: let it cool. Is every pack dry and whole, its indicator changed? What is not goes nowhere."


@dataclass(frozen=True, slots=True)
class PortLook:
    """A connected port to be looked at.

    Parameters
    ----------
    port, set_key, letter, piece
        Where, whose, what.
    first
        Why to look here before the others; empty where nothing says so.
    off
        Whether somebody found it off.
    """

    port: str
    set_key: str
    letter: str
    piece: str
    first: str
    off: bool


@dataclass(frozen=True, slots=True)
class Unloading:
    """A load that came out.

    Parameters
    ----------
    load_id, state
        The load and where it stands.
    question
        What is asked at every port.
    ports
        Those to be looked at first before the others.
    looked
        Whether somebody said that everything was looked at.
    taken
        Accessories that are to be counted back.
    held
        Sets of it that are held.
    back
        Sets of it that go back to be washed again, because something of them was off.
    packs
        Sets whose packs came out of a sterilizer; none for a washer.
    """

    load_id: str
    state: LoadState
    question: str
    ports: tuple[PortLook, ...]
    looked: bool
    taken: Mapping[str, int]
    held: tuple[str, ...]
    back: tuple[str, ...] = ()
    packs: tuple[str, ...] = ()


def end_load(workplace: Workplace, load_id: str, *, completed: bool, around: Circumstances) -> Unloading | Refused:
    """Write down that a load came out of its machine.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.
    completed
        Whether its programme ran to its end as the machine says.
    around
        Who, when, where, under which key.

    Returns
    -------
    Unloading or Refused
        What is looked at.
    """
    refused = None if workplace.did(around) else workplace.write(around, [EndLoad(load=load_id, completed=completed)])
    return refused or show_unloading(workplace, load_id)


def show_unloading(workplace: Workplace, load_id: str) -> Unloading | Refused:
    """Show what is looked at when a load is unloaded.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.

    Returns
    -------
    Unloading or Refused
        Every connected port, weak and changed ones first.
    """
    planned, record = workplace.load(load_id), workplace.ledger.find(LoadRecord, load_id)
    if record is not None and record.kind is LoadKind.STEAM:
        return _out_of_the_sterilizer(workplace, record)
    if isinstance(planned, Refused):
        return planned
    if record is None:
        return Refused.because(f"load {load_id}", "was not begun", "a load that ran")
    load = progress_of(workplace, planned).load
    said = said_at_unloading(workplace, load_id)
    off = {one["port"] for one in said if one["act"] == "off"}
    taken = workplace.ledger.find(Taken, load_id)
    return Unloading(
        load_id=load_id,
        state=record.state,
        question=UNLOADING_LOOK,
        ports=_ports(workplace, planned, load, off),
        looked=all_looked_at(said),
        taken=taken.taken if taken else {},
        held=tuple(name for name in record.sets if workplace.ledger.holds(Kind.SET, name)),
        back=tuple(dict.fromkeys(one["set"] for one in said if one["act"] == "off")),
    )


def _out_of_the_sterilizer(workplace: Workplace, record: LoadRecord) -> Unloading:
    held = tuple(name for name in record.sets if workplace.ledger.holds(Kind.SET, name))
    said = said_at_unloading(workplace, record.load)
    looked = all_looked_at(said)
    return Unloading(record.load, record.state, _PACKS_LOOK, (), looked, taken={}, held=held, packs=record.sets)


def note_bad_pack(
    workplace: Workplace, load_id: str, set_key: str, fault: str, around: Circumstances
) -> Unloading | Refused:
    """Write down that a pack came out of the sterilizer wet or damaged: its set is held, whatever the record says.

    One wet pack says that the load was not dry: nothing of it is released. A damaged one says nothing of the others.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The sterilizer load.
    set_key
        The set in the pack.
    fault
        ``wet`` or ``damaged``.
    around
        Who, when, where, under which key.

    Returns
    -------
    Unloading or Refused
        The load.
    """
    shown = show_unloading(workplace, load_id)
    if isinstance(shown, Refused) or workplace.did(around):
        return shown
    if set_key not in shown.packs or shown.state is LoadState.STARTED:
        return Refused.because(f"load {load_id}", f"no pack of {set_key} came out of it", "a pack of a load that ended")
    if fault not in {"wet", "damaged"}:
        return Refused.because(f"set {set_key}", f"its pack is {fault!r}", "wet or damaged")
    found = note(Kind.LOAD, load_id, UNLOADED, "not met", act=fault, set=set_key)
    commands: list[Command] = [found, hold(around, Kind.SET, set_key, f"pack {fault} after load {load_id}")]
    refused = not_permitted(workplace, around, SOILED | CLEAN) or workplace.write(around, commands)
    return refused or show_unloading(workplace, load_id)


def _ports(workplace: Workplace, planned: Load, load: Load, off: set[str]) -> tuple[PortLook, ...]:
    def weakest(load: Load) -> list[LumenLine]:
        flow = flow_of_load(workplace.department, load)
        replies = fed(workplace.department, load, flow, workplace.plan.day)
        return weakest_lumens(workplace.department, load, flow, replies, _LOOK_FIRST)

    weak = workplace.once(load, weakest)
    first = {line.port: f"weak: {line.flow}" for line in weak}
    before = {one.port: one for piece in planned.pieces for one in piece.lumens}
    for piece in load.pieces:
        for one in piece.lumens:
            if before.get(one.port) != one:
                first[one.port] = "connected otherwise than planned"
    letters = set_letters(load)
    looks = [
        PortLook(port, step.set_key, letters[step.set_key], step.name, first.get(port, ""), port in off)
        for step in steps_of_load(workplace, load)
        if step.kind is StepKind.ON_PORT
        for port in step.where
    ]
    return tuple(sorted(looks, key=lambda look: not look.first))


def note_off(workplace: Workplace, load_id: str, port: str, around: Circumstances) -> Unloading | Refused:
    """Write down with one tap that a hose, a sleeve or a piece was off: its lumen was not fed, its set goes back.

    Where its set went on already, it is held; so are others that went on and do not count as fed with it off.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.
    port
        Where.
    around
        Who, when, where, under which key.

    Returns
    -------
    Unloading or Refused
        The load; sets that wait are not touched: what they still get is asked before their release.
    """
    shown, planned = show_unloading(workplace, load_id), workplace.load(load_id)
    if isinstance(shown, Refused) or workplace.did(around):
        return shown
    if isinstance(planned, Refused):
        return planned
    look = next((one for one in shown.ports if one.port == port), None)
    if look is None:
        return Refused.because(f"port {port}", "nothing was connected there", "a connected port")
    if look.off or shown.state is not LoadState.ENDED:
        told = "was written down before" if look.off else f"load {load_id} is {shown.state}"
        return Refused.because(f"port {port}", told, "a port of a load that came out")
    found = note(Kind.LOAD, load_id, UNLOADED, "not met", act="off", port=port, set=look.set_key, piece=look.piece)
    commands = [found, *_kept_from_use(workplace, planned, shown, look, around)]
    refused = not_permitted(workplace, around, CLEAN | SOILED) or workplace.write(around, commands)
    return refused or show_unloading(workplace, load_id)


def _kept_from_use(
    workplace: Workplace, load: Load, shown: Unloading, look: PortLook, around: Circumstances
) -> Iterator[Command]:
    """Send the set of what was off back where it waits; hold it where it went on, and others that should not have."""
    why = f"off at {look.port} of load {load.id}: {look.piece} was not fed"
    own, record = workplace.ledger.find(InstrumentSet, look.set_key), workplace.ledger.find(LoadRecord, load.id)
    if own is not None and own.load == load.id and own.state is SetState.WASHED:
        yield MoveSet(set_key=own.set_key, to=SetState.REWASH, why=why)
    elif look.set_key not in shown.back:
        yield hold(around, Kind.SET, look.set_key, why)
    inside = record.inside if record is not None else {}
    went_on = [name for name, one in inside.items() if one.released is not None and name != look.set_key]
    if went_on:
        ports = [one.port for one in shown.ports if one.off or one is look]
        loaded, on = progress_of(workplace, load).load, around.at.date()
        for name, doubt in rest_of_load(workplace, loaded, ports, went_on, on).back:
            also = hold(around, Kind.SET, name, f"{why}; {doubt}")
            yield also.model_copy(update={"hold": f"{also.hold[:60]} {name}"[:120]})


def note_looked(workplace: Workplace, load_id: str, around: Circumstances) -> Unloading | Refused:
    """Write down that every port or pack was looked at; what was off, wet or damaged was said before.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.
    around
        Who, when, where, under which key.

    Returns
    -------
    Unloading or Refused
        The load.
    """
    shown = show_unloading(workplace, load_id)
    if isinstance(shown, Refused) or workplace.did(around):
        return shown
    if shown.state is not LoadState.ENDED:
        return Refused.because(f"load {load_id}", f"is {shown.state}", "a load that came out")
    said = said_at_unloading(workplace, load_id)
    off = [one.get("port", one["set"]) for one in said if one["act"] in {"off", "wet", "damaged"}]
    looked = note(Kind.LOAD, load_id, UNLOADED, "not met" if off else "met", act="looked", off=off)
    refused = not_permitted(workplace, around, CLEAN | SOILED) or workplace.write(around, [looked])
    return refused or show_unloading(workplace, load_id)


def wash_again(workplace: Workplace, set_key: str, why: str, around: Circumstances) -> InstrumentSet | Refused:
    """Send a set back to the soiled side.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set.
    why
        The reason.
    around
        Who, when, where, under which key.

    Returns
    -------
    InstrumentSet or Refused
        The set. A hold on it stays until two people lift it.
    """
    move = MoveSet(set_key=set_key, to=SetState.REWASH, why=why)
    refused = None if workplace.did(around) else workplace.write(around, [move])
    return refused or workplace.set_of(set_key)


def count_back(
    workplace: Workplace, load_id: str, back: Mapping[str, int], why: str, around: Circumstances
) -> Unloading | Refused:
    """Count the accessories of a load back.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.
    back
        Accessory to how many came back in working order.
    why
        The reason where some did not; empty where all did.
    around
        Who, when, where, under which key.

    Returns
    -------
    Unloading or Refused
        The load, with nothing left to count.
    """
    command = ReturnAccessories(load=load_id, back=dict(back), why=why.strip() or None)
    refused = None if workplace.did(around) else workplace.write(around, [command])
    return refused or show_unloading(workplace, load_id)
