"""Turns the glances that a load needs into the lines of its sheet, and marks the connections whose loss harms most."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.flow import Alarm, FaultKind, Look, When
from patency.papers import LookLine, SheetWatch, set_letters
from patency.steps.fault_finding import faults_of_one, loss_of_others
from patency.texts import harm_words, look_words, unseen_words

if TYPE_CHECKING:
    from patency.catalogue import Carrier, Department
    from patency.flow import BlindSpots, FaultEffects
    from patency.load import Load, Plan

# Losing a connection can take two forms; the worse one counts.
_LOST = {FaultKind.HOSE_OFF_PORT, FaultKind.HOSE_OFF_PIECE, FaultKind.PIECE_OFF_PORT}
_MOST_MARKED = 3
_ONE_TICK = {Look.CAPS, Look.ARMS, Look.SIEVE, Look.PORTS}


def sheet_watch(department: Department, plan: Plan, load: Load) -> SheetWatch:
    """Work out what a load's sheet asks people to look at.

    Parameters
    ----------
    department
        The department.
    plan
        The plan.
    load
        One of its loads.

    Returns
    -------
    SheetWatch
        Glances when loading and when unloading, what nobody sees, and the connections whose loss harms most.
    """
    found = faults_of_one(department, plan, load, Alarm())
    carrier = department.carriers[load.carrier]
    looks = {check.look.name for check in found.spots.checks if check.when is When.LOADING}
    return SheetWatch(
        looks=tuple(sorted(looks)),
        loading=_lines(found.spots, carrier, set_letters(load), When.LOADING),
        unloading=_lines(found.spots, carrier, set_letters(load), When.UNLOADING),
        seen_by_nobody=_seen_by_nobody(found.spots),
        harms=harms_of_ports(found.effects),
    )


def _lines(spots: BlindSpots, carrier: Carrier, letters: dict[str, str], when: When) -> tuple[LookLine, ...]:
    """Write glances as lines; those through single pieces of one set share one, with each port to tick."""
    lines: dict[tuple[Look, str, str], list[str]] = {}
    for check in spots.checks:
        if check.when is when:
            lines.setdefault((check.look, check.level, check.set), []).extend(check.places)
    return tuple(
        LookLine(
            words=look_words(look.name, when.name, letters.get(of_set, ""), _level_name(carrier, level)),
            places=() if look in _ONE_TICK else tuple(dict.fromkeys(places)),
        )
        for (look, level, of_set), places in lines.items()
    )


def _level_name(carrier: Carrier, level: str) -> str:
    """Name a level where the carrier has ports on several."""
    several = len({port.level for port in carrier.ports.values()}) > 1
    return carrier.levels[level].name if several and level else ""


def _seen_by_nobody(spots: BlindSpots) -> tuple[str, ...]:
    kinds: dict[FaultKind, list[str]] = {}
    for place in spots.unseen:
        kinds.setdefault(spots.faults[place].kind, []).append(spots.faults[place].place)
    return tuple(unseen_words(kind.value, places) for kind, places in kinds.items())


def harms_of_ports(effects: FaultEffects) -> dict[str, str]:
    """Find the connections whose loss harms the other lumens most.

    Parameters
    ----------
    effects
        What the faults of a load do.

    Returns
    -------
    dict[str, str]
        Port to a few words: how many other lumens fall short, or what the one that loses most loses. At most three,
        worst first; none where no other lumen loses any water.
    """
    worst: dict[str, tuple[int, float]] = {}
    for row, fault in enumerate(effects.faults):
        if fault.kind in _LOST:
            harm = (int(effects.others_short[row].sum()), loss_of_others(effects, row))
            worst[fault.place] = max(worst.get(fault.place, (0, 0.0)), harm)
    marked = sorted(worst.items(), key=lambda item: item[1], reverse=True)[:_MOST_MARKED]
    return {port: harm_words(*harm) for port, harm in marked if harm > (0, 0.0)}
