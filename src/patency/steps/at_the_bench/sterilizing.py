"""The sterilizers: which there are, what the next load is called, loading and starting one."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import count
from typing import TYPE_CHECKING

from patency.ledger import LoadKind, LoadRecord, Machine, MoveSet, PlanLoad, Refused, SetState, StartLoad
from patency.steps.at_the_bench.clean_side import OnCleanSide, show_clean_side
from patency.steps.at_the_bench.permission import CLEAN, not_permitted

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from patency.ledger import Circumstances, Command
    from patency.steps.at_the_bench.workplace import Workplace


@dataclass(frozen=True, slots=True)
class SteamChoice:
    """What a load of packed sets may be put into.

    Parameters
    ----------
    machines
        The sterilizers the ledger knows.
    programmes
        Key of each programme the department describes, with its name.
    """

    machines: tuple[str, ...]
    programmes: dict[str, str]


def steam_choice(workplace: Workplace) -> SteamChoice:
    """List the sterilizers and their programmes.

    Parameters
    ----------
    workplace
        Ledger, department, plan.

    Returns
    -------
    SteamChoice
        Machines in the order of their names, programmes in that of the description.
    """
    machines = sorted(one.machine for one in workplace.ledger.all_of(Machine) if one.kind is LoadKind.STEAM)
    described = workplace.department.steam_programmes
    return SteamChoice(tuple(machines), {key: one.name for key, one in described.items()})


def next_steam_load(workplace: Workplace, machine: str, on: date) -> str:
    """Name the next load of a sterilizer; its cycle's record is to be stored under the same name.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    machine
        The sterilizer.
    on
        The day.

    Returns
    -------
    str
        Machine, day and the number of the load on that day.
    """
    names = (steam_load_name(machine, on, number) for number in count(1))
    return next(name for name in names if workplace.ledger.find(LoadRecord, name) is None)


def steam_load_name(machine: str, on: date, number: int) -> str:
    """Name a load of a sterilizer.

    Parameters
    ----------
    machine
        The sterilizer.
    on
        The day.
    number
        Which load of that day in that machine, from 1.

    Returns
    -------
    str
        The key of the load.
    """
    return f"steam-{machine}-{on:%Y%m%d}-{number}"


def load_sterilizer(
    workplace: Workplace,
    load: str,
    scanned: tuple[str, str, str],
    sets: Sequence[str],
    around: Circumstances,
) -> tuple[OnCleanSide, ...] | Refused:
    """Plan a sterilizer load, put the packed sets into it and start it.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load
        Key of the load.
    scanned
        Rack, sterilizer and programme.
    sets
        The packed sets.
    around
        Who, when, where, under which key.

    Returns
    -------
    tuple or Refused
        Each set, in the running sterilizer.
    """
    rack, machine, programme = scanned
    if not workplace.did(around):
        if not sets:
            return Refused.because(f"load {load}", "has no sets", "at least one packed set")
        choice = steam_choice(workplace)
        if programme not in choice.programmes:
            known = ", ".join(choice.programmes) or "none is described"
            return Refused.because(f"load {load}", f"names no steam programme: {programme!r}", f"one of: {known}")
        commands: list[Command] = [
            PlanLoad(
                load=load, kind=LoadKind.STEAM, machine=machine, carrier=rack, programme=programme, sets=tuple(sets)
            ),
            *(MoveSet(set_key=name, to=SetState.STEAM_LOADED, load=load) for name in sets),
            StartLoad(load=load, machine=machine, carrier=rack, programme=programme),
        ]
        refused = not_permitted(workplace, around, CLEAN) or workplace.write(around, commands)
        if refused:
            return refused
    shown = [show_clean_side(workplace, name) for name in sets]
    return tuple(one for one in shown if not isinstance(one, Refused))
