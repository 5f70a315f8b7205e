"""The states of a set and the transitions between them: what may follow what, who may say so, what is counted."""

from __future__ import annotations

import enum
from dataclasses import dataclass


class SetState(enum.StrEnum):
    """Where a set stands on its way round."""

    STORED = "sterile-stored"
    ISSUED = "issued"
    IN_USE = "in-use"
    USED = "used"
    RECEIVED = "received"
    DISMANTLED = "dismantled"
    LOADED = "loaded"
    WASHED = "washed"
    WASH_RELEASED = "wash-released"
    INSPECTED = "inspected"
    ASSEMBLED = "assembled"
    PACKED = "packed"
    STEAM_LOADED = "steam-loaded"
    STEAM_RUN = "steam-run"
    STERILE_RELEASED = "sterile-released"
    QUARANTINE = "quarantine"
    REPAIR = "repair"
    LOAN_RETURN = "loan-return"
    RETIRED = "retired"
    REWASH = "rewash"
    MISSING_PART = "missing-part"


class Role(enum.StrEnum):
    """What a person may be permitted to do."""

    LOADER = "loader"
    ASSEMBLER = "assembler"
    RELEASER = "releaser"
    ENGINEER = "engineer"
    LEAD = "lead"
    COORDINATOR = "coordinator"
    AUDITOR = "auditor"
    ADMINISTRATOR = "administrator"


class Count(enum.Enum):
    """What a transition asks about the pieces of the set."""

    PIECES = "every piece is seen now"
    CLOSED = "nothing changed since every piece was last seen"
    FACT = "it happened in another place; it is written down as it is"


S = SetState

WAY_ROUND = (
    S.STORED, S.ISSUED, S.IN_USE, S.USED, S.RECEIVED, S.DISMANTLED, S.LOADED, S.WASHED, S.WASH_RELEASED, S.INSPECTED,
    S.ASSEMBLED, S.PACKED, S.STEAM_LOADED, S.STEAM_RUN, S.STERILE_RELEASED,
)  # fmt: skip

_SIDE_BRANCHES: dict[SetState, frozenset[SetState]] = {
    S.STORED: frozenset({S.REWASH, S.QUARANTINE, S.LOAN_RETURN}),
    S.ISSUED: frozenset({S.REWASH, S.QUARANTINE}),
    S.RECEIVED: frozenset({S.MISSING_PART, S.QUARANTINE}),
    S.DISMANTLED: frozenset({S.MISSING_PART, S.QUARANTINE}),
    S.LOADED: frozenset({S.REWASH}),
    S.WASHED: frozenset({S.REWASH, S.QUARANTINE}),
    S.WASH_RELEASED: frozenset({S.REWASH, S.QUARANTINE, S.MISSING_PART, S.REPAIR, S.LOAN_RETURN}),
    S.INSPECTED: frozenset({S.REWASH, S.QUARANTINE, S.MISSING_PART, S.REPAIR, S.LOAN_RETURN, S.RETIRED}),
    S.ASSEMBLED: frozenset({S.REWASH, S.QUARANTINE, S.MISSING_PART, S.REPAIR}),
    S.PACKED: frozenset({S.REWASH, S.QUARANTINE}),
    S.STEAM_LOADED: frozenset({S.REWASH}),
    S.STEAM_RUN: frozenset({S.REWASH, S.QUARANTINE}),
    S.STERILE_RELEASED: frozenset({S.REWASH, S.QUARANTINE}),
    S.QUARANTINE: frozenset({S.REWASH, S.REPAIR, S.LOAN_RETURN, S.RETIRED}),
    S.REPAIR: frozenset({S.RECEIVED, S.RETIRED}),
    S.LOAN_RETURN: frozenset({S.RECEIVED}),
    S.REWASH: frozenset({S.DISMANTLED, S.MISSING_PART, S.QUARANTINE}),
    S.MISSING_PART: frozenset({S.REWASH, S.QUARANTINE, S.RETIRED}),
}

GOES_BACK = frozenset({S.QUARANTINE, S.MISSING_PART})
"""From here a set may also go back to the state it came from."""

OPEN_STATES = frozenset(
    {S.RECEIVED, S.DISMANTLED, S.WASH_RELEASED, S.INSPECTED, S.ASSEMBLED, S.REWASH, S.MISSING_PART, S.QUARANTINE,
     S.REPAIR}
)  # fmt: skip
"""States in which the set lies open on a bench, so that pieces can be put in and taken out."""

WASHED_STATES = frozenset({S.WASH_RELEASED, S.INSPECTED, S.ASSEMBLED})
"""Open states after a released wash load; only a washed piece may be put into such a set."""

BY_LOAD = frozenset({S.WASHED, S.WASH_RELEASED, S.STEAM_RUN, S.STERILE_RELEASED})
"""States that the end or the release of a load brings about, for the sets in it; nobody moves a set there by hand."""

HELD_MAY_ENTER = frozenset(
    {S.QUARANTINE, S.MISSING_PART, S.REWASH, S.USED, S.RECEIVED, S.IN_USE, S.WASHED, S.STEAM_RUN}
)
"""States a held set may enter: facts that happened elsewhere, and ways to the side. All others wait for the hold."""

CAN_BE_UNDONE = frozenset(
    {S.DISMANTLED, S.LOADED, S.INSPECTED, S.ASSEMBLED, S.PACKED, S.STEAM_LOADED, S.STORED, S.ISSUED}
)
"""States out of which a correction leads back. No correction undoes a decision, a run of a machine or a use."""


@dataclass(frozen=True)
class Demand:
    """What a transition asks for.

    Parameters
    ----------
    roles
        Any one of these permits a person to confirm it.
    count
        What is asked about the pieces.
    second
        Whether a second, other person has to confirm too.
    """

    roles: frozenset[Role]
    count: Count
    second: bool = False


_SOILED = frozenset({Role.LOADER, Role.LEAD})
_CLEAN = frozenset({Role.ASSEMBLER, Role.LEAD})
_ANYONE = _SOILED | _CLEAN | {Role.RELEASER, Role.COORDINATOR}
_LEAD = frozenset({Role.LEAD})

_DEMANDS: dict[SetState, Demand] = {
    S.ISSUED: Demand(_CLEAN | {Role.COORDINATOR}, Count.CLOSED),
    S.IN_USE: Demand(_ANYONE, Count.FACT),
    S.USED: Demand(_ANYONE, Count.FACT),
    S.RECEIVED: Demand(_SOILED, Count.FACT),
    S.DISMANTLED: Demand(_SOILED, Count.PIECES),
    S.LOADED: Demand(_SOILED, Count.PIECES),
    S.INSPECTED: Demand(_CLEAN, Count.PIECES),
    S.ASSEMBLED: Demand(_CLEAN, Count.PIECES),
    S.PACKED: Demand(_CLEAN, Count.PIECES),
    S.STEAM_LOADED: Demand(_CLEAN, Count.CLOSED),
    S.STORED: Demand(_CLEAN, Count.CLOSED),
    S.QUARANTINE: Demand(_ANYONE, Count.FACT),
    S.MISSING_PART: Demand(_SOILED | _CLEAN, Count.FACT),
    S.REWASH: Demand(_ANYONE, Count.FACT),
    S.REPAIR: Demand(_LEAD, Count.FACT),
    S.LOAN_RETURN: Demand(_LEAD, Count.PIECES),
    S.RETIRED: Demand(_LEAD, Count.FACT, second=True),
}
_OUT_OF_QUARANTINE = Demand(_LEAD, Count.CLOSED, second=True)
_OUT_OF_MISSING = Demand(_SOILED | _CLEAN, Count.PIECES)


def next_states(state: SetState, came_from: SetState | None = None) -> frozenset[SetState]:
    """Return the states that may follow a state.

    Parameters
    ----------
    state
        Where the set stands.
    came_from
        The state it left for quarantine or for want of a piece.

    Returns
    -------
    frozenset[SetState]
        Every legal next state; none after ``retired``.
    """
    found = set(_SIDE_BRANCHES.get(state, frozenset()))
    if state in WAY_ROUND:
        found.add(WAY_ROUND[(WAY_ROUND.index(state) + 1) % len(WAY_ROUND)])
    if state in GOES_BACK and came_from is not None:
        found.add(came_from)
    return frozenset(found)


def demand_of(state: SetState, to: SetState) -> Demand:
    """Return what a transition by hand asks for.

    Parameters
    ----------
    state
        Where the set stands.
    to
        Where it is to go; not one of `BY_LOAD`, unless out of quarantine or found complete again.

    Returns
    -------
    Demand
        Roles, count and whether a second person confirms.
    """
    if state is S.QUARANTINE and to not in _SIDE_BRANCHES[S.QUARANTINE]:
        return _OUT_OF_QUARANTINE
    if state is S.MISSING_PART and to not in _SIDE_BRANCHES[S.MISSING_PART]:
        return _OUT_OF_MISSING
    return _DEMANDS[to]
