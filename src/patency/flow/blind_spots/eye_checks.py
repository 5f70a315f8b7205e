"""What a person can look at in one glance, and which faults each glance shows.

One glance takes in the ports of one level side by side, the pieces of one set on one level, the nozzles of one level,
all caps that were fetched or taken off, one piece held against the light, all arms, the sieve. A hose may be left off
when loading, or slip off in the cycle: so each fault is looked for at the times at which it may have come about.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from patency.flow.faults.fault import AT_ITS_NOZZLE, FaultKind

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from patency.catalogue import Carrier
    from patency.flow.faults.fault import Fault


class When(StrEnum):
    """When people look."""

    LOADING = "when loading"
    UNLOADING = "when unloading"


class Look(StrEnum):
    """What people look at in one glance."""

    LUMENS = "through the lumens of one piece"
    NOZZLES = "the nozzles of one level"
    OVER_NOZZLES = "the pieces over the nozzles of one level"
    PORTS = "the ports of one level"
    CONNECTIONS = "the hoses and sleeves of one set on one level"
    STRAINERS = "the strainers of one level"
    CAPS = "all caps"
    ARMS = "all arms"
    SIEVE = "the machine's sieve"


_ORDER = list(Look)
# What each look shows: a level's ports show what is missing on the port itself, a set's hoses are seen from end to end.
_SHOWS: dict[Look, set[FaultKind]] = {
    Look.LUMENS: {FaultKind.BLOCKED, FaultKind.HALF_BLOCKED},
    Look.NOZZLES: {FaultKind.WRONG_NOZZLE},
    Look.OVER_NOZZLES: {FaultKind.PIECE_OFF_NOZZLE},
    Look.PORTS: {FaultKind.HOSE_OFF_PORT, FaultKind.PIECE_OFF_PORT, FaultKind.CAP_MISSING},
    Look.CONNECTIONS: {
        FaultKind.HOSE_OFF_PORT,
        FaultKind.HOSE_OFF_PIECE,
        FaultKind.PIECE_OFF_PORT,
        FaultKind.END_CAP_MISSING,
    },
    Look.STRAINERS: {FaultKind.STRAINER_CLOGGED},
    Look.CAPS: {FaultKind.CAP_MISSING},
    Look.ARMS: {FaultKind.ARM_STUCK, FaultKind.ARM_LOST},
    Look.SIEVE: {FaultKind.SIEVE_CLOGGED},
}
# When a fault may come about: by mistake when loading, by itself in the cycle, or both. What is washed into a lumen in
# the cycle is looked for at the inspection that the instructions for use ask for.
_MISTAKES = {
    FaultKind.HOSE_OFF_PORT,
    FaultKind.HOSE_OFF_PIECE,
    FaultKind.PIECE_OFF_PORT,
    FaultKind.PIECE_OFF_NOZZLE,
    FaultKind.BLOCKED,
    FaultKind.HALF_BLOCKED,
    FaultKind.CAP_MISSING,
    FaultKind.END_CAP_MISSING,
    FaultKind.WRONG_NOZZLE,
    FaultKind.STRAINER_CLOGGED,
    FaultKind.ARM_STUCK,
    FaultKind.ARM_LOST,
    FaultKind.SIEVE_CLOGGED,
}
_IN_THE_CYCLE = {
    FaultKind.HOSE_OFF_PORT,
    FaultKind.HOSE_OFF_PIECE,
    FaultKind.PIECE_OFF_PORT,
    FaultKind.PIECE_OFF_NOZZLE,
    FaultKind.CAP_MISSING,
    FaultKind.END_CAP_MISSING,
    FaultKind.STRAINER_CLOGGED,
    FaultKind.ARM_LOST,
    FaultKind.SIEVE_CLOGGED,
}
_ARISES = {When.LOADING: _MISTAKES, When.UNLOADING: _IN_THE_CYCLE}


@dataclass(frozen=True, slots=True)
class EyeCheck:
    """One glance.

    Parameters
    ----------
    look
        What is looked at.
    when
        When.
    level
        Key of the level; empty where it is not about one.
    set
        The set; empty where it is not about one.
    piece
        The piece; empty where it is not about one.
    places
        The ports and arms it is about, in the order of the walk.
    """

    look: Look
    when: When
    level: str = ""
    set: str = ""
    piece: str = ""
    places: tuple[str, ...] = ()


def eye_checks(carrier: Carrier, faults: Sequence[Fault]) -> dict[EyeCheck, frozenset[tuple[int, When]]]:
    """List every glance that shows some fault of a load.

    Parameters
    ----------
    carrier
        The carrier.
    faults
        The faults to look for.

    Returns
    -------
    dict[EyeCheck, frozenset[tuple[int, When]]]
        Each glance and what it shows: faults by their place in the list, each with the time at which it may have come
        about. In the order of the walk.
    """
    walk = {port: rank for rank, port in enumerate(carrier.ports)}
    groups: dict[tuple[When, Look, str, str, str], list[int]] = {}
    for place, fault in enumerate(faults):
        for when, look in _glances(fault):
            groups.setdefault((when, look, *_of(look, fault)), []).append(place)
    found = {
        EyeCheck(look, when, level, of_set, piece, _places(walk, (faults[place] for place in shown))): frozenset(
            (place, when) for place in shown
        )
        for (when, look, level, of_set, piece), shown in groups.items()
    }
    last = len(walk)

    def rank(check: EyeCheck) -> tuple[int, bool, int, int]:
        first = min((walk.get(place, last) for place in check.places), default=last)
        whole = check.look in {Look.CAPS, Look.ARMS, Look.SIEVE}  # after the walk along the ports
        return list(When).index(check.when), whole, -1 if whole else first, _ORDER.index(check.look)

    return {check: found[check] for check in sorted(found, key=rank)}


def seen_by_nobody(faults: Sequence[Fault]) -> tuple[int, ...]:
    """List the faults that no glance shows.

    Parameters
    ----------
    faults
        The faults.

    Returns
    -------
    tuple[int, ...]
        Their places in the list.
    """
    return tuple(place for place, fault in enumerate(faults) if not any(_glances(fault)))


def _glances(fault: Fault) -> list[tuple[When, Look]]:
    """List when a fault is looked for and which glances show it."""
    looks = [look for look, kinds in _SHOWS.items() if fault.kind in kinds]
    if fault.detail == AT_ITS_NOZZLE:
        looks = [Look.NOZZLES]
    return [(when, look) for when, kinds in _ARISES.items() if fault.kind in kinds for look in looks]


def _of(look: Look, fault: Fault) -> tuple[str, str, str]:
    """Say whose glance it is: of which level, set and piece."""
    of_set, piece = fault.lumen[:2] if fault.lumen is not None else ("", "")
    if look is Look.LUMENS:
        return "", of_set, piece
    if look is Look.CONNECTIONS:
        return fault.level, of_set, ""
    if look in {Look.CAPS, Look.ARMS, Look.SIEVE}:
        return "", "", ""
    return fault.level, "", ""


def _places(walk: dict[str, int], faults: Iterable[Fault]) -> tuple[str, ...]:
    places = dict.fromkeys(fault.place for fault in faults)
    return tuple(sorted(places, key=lambda place: walk.get(place, len(walk))))
