"""Whether accessories may be counted, taken for a load and counted back: nothing is given out twice."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.ledger import checks, events
from patency.ledger.refusing import Objection, Refused
from patency.ledger.things import LoadRecord, LoadState, Stock, Taken

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.ledger import commands
    from patency.ledger.events import Payload
    from patency.ledger.fields import Circumstances
    from patency.ledger.state import State


def count_accessory(
    state: State, command: commands.CountAccessory, around: Circumstances
) -> tuple[Payload, ...] | Refused:
    """Decide whether so many may be in working order: not fewer than the loads have."""
    stock = state.find(Stock, command.accessory) or Stock(accessory=command.accessory)
    objections = [*checks.authority(state, around, checks.HANDS)]
    out = sum(stock.out.values())
    if command.usable < out:
        where = f"accessory {command.accessory}"
        objections.append(Objection(where, f"{out} are in loads", "no fewer than these; count them back first"))
    if objections:
        return Refused(tuple(objections))
    return (events.AccessoryCounted.model_validate(command.model_dump(exclude={"do"})),)


def take_accessories(
    state: State, command: commands.TakeAccessories, around: Circumstances
) -> tuple[Payload, ...] | Refused:
    """Decide whether a load that has not started may have so many."""
    load = state.find(LoadRecord, command.load)
    objections = [*checks.authority(state, around, checks.HANDS)]
    if load is None:
        objections.append(Objection(f"load {command.load}", "is not known", "a load that was planned"))
    elif load.state is not LoadState.PLANNED:
        objections.append(Objection(f"load {command.load}", f"is {load.state}", "a load that has not started"))
    objections += _too_few(state, command)
    if objections:
        return Refused(tuple(objections))
    return (events.AccessoriesTaken(load=command.load, taken=command.taken),)


def _too_few(state: State, command: commands.TakeAccessories) -> Iterator[Objection]:
    for key, asked in command.taken.items():
        stock = state.find(Stock, key) or Stock(accessory=key)
        free = stock.free + stock.out.get(command.load, 0)
        if asked > free:
            yield Objection(f"accessory {key}", f"{asked} are asked for and {free} are free", f"at most {free}")


def return_accessories(
    state: State, command: commands.ReturnAccessories, around: Circumstances
) -> tuple[Payload, ...] | Refused:
    """Decide what a load gives back: never more than it has, and a reason for what is missing."""
    where = f"load {command.load}"
    objections = [*checks.authority(state, around, checks.HANDS)]
    has = state.find(Taken, command.load)
    if has is None or not has.taken:
        objections.append(Objection(where, "has no accessories", "a load that took some"))
        return Refused(tuple(objections))
    for key, back in command.back.items():
        if back > has.taken.get(key, 0):
            objections.append(Objection(where, f"gives {back} {key} back, has {has.taken.get(key, 0)}", "what it has"))
    lost = {key: gone for key, had in has.taken.items() if (gone := had - command.back.get(key, 0)) > 0}
    if lost and command.why is None:
        missing = ", ".join(f"{gone} {key}" for key, gone in lost.items())
        objections.append(Objection(where, f"{missing} did not come back", "a reason"))
    if objections:
        return Refused(tuple(objections))
    return (events.AccessoriesReturned(load=command.load, back=command.back, lost=lost, why=command.why),)
