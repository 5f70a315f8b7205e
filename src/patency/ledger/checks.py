"""What every transition asks again: authority, holds, the count of the pieces."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from patency.ledger.fields import Kind
from patency.ledger.identity import Seen
from patency.ledger.refusing import Objection
from patency.ledger.states import Role
from patency.ledger.things import Held, InstrumentSet, LoadRecord, Machine, Override, Person, Piece, held_key

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from datetime import datetime

    from patency.ledger.fields import Circumstances, Who
    from patency.ledger.state import State

LEAD = frozenset({Role.LEAD})
ENGINEER = frozenset({Role.ENGINEER, Role.LEAD})
HANDS = frozenset({Role.LOADER, Role.ASSEMBLER, Role.LEAD})
RELEASER = frozenset({Role.RELEASER})
ADMINISTRATOR = frozenset({Role.ADMINISTRATOR})
ANYONE = frozenset(Role) - {Role.AUDITOR}


def authority(
    state: State, around: Circumstances, roles: frozenset[Role], *, second: bool = False
) -> Iterator[Objection]:
    """Ask whether the people who confirm may do so on that day.

    Parameters
    ----------
    state
        What is so now.
    around
        Who confirms, and when.
    roles
        Any one of these permits it.
    second
        Whether another person has to confirm too.

    Yields
    ------
    Objection
        Each person who may not.
    """
    yield from _permitted(state, around.who, around.at, roles)
    if around.second is not None:
        if around.second.person == around.who.person:
            yield Objection(f"person {around.who.person}", "confirms twice", "two different people")
        yield from _permitted(state, around.second, around.at, roles)
    elif second:
        yield Objection(f"person {around.who.person}", "confirms alone", "a second person who confirms too")


def _permitted(state: State, who: Who, at: datetime, roles: frozenset[Role]) -> Iterator[Objection]:
    person = state.find(Person, who.person)
    where = f"person {who.person}"
    wanted = "a person permitted as " + " or ".join(sorted(roles))
    if person is None:
        yield Objection(where, "is not known", wanted)
        return
    held = {role: until for role, until in person.roles.items() if role in roles}
    if not held:
        yield Objection(where, f"is permitted as {', '.join(sorted(person.roles)) or 'nothing'}", wanted)
    elif all(until is not None and at.date() > until for until in held.values()):
        role, until = next(iter(held.items()))
        yield Objection(where, f"was permitted as {role} until {until}", wanted)


def holds_on(state: State, *things: tuple[Kind, str]) -> tuple[str, ...]:
    """Name the holds in force on any of some things.

    Parameters
    ----------
    state
        What is so now.
    *things
        Each with its kind.

    Returns
    -------
    tuple[str, ...]
        Keys of holds, in order, each once.
    """
    found: set[str] = set()
    places = [held_key(scope, key) for scope, key in things]
    state.want(Held, places)
    for place in places:
        held = state.find(Held, place)
        if held is not None:
            found.update(held.holds)
    return tuple(sorted(found))


def holds_on_piece(state: State, piece: Piece) -> tuple[str, ...]:
    """Name the holds on a piece: on itself and on its type.

    Parameters
    ----------
    state
        What is so now.
    piece
        Which piece.

    Returns
    -------
    tuple[str, ...]
        Keys of holds.
    """
    return holds_on(state, (Kind.PIECE, piece.piece), (Kind.TYPE, piece.type_key))


def holds_on_set(state: State, held: InstrumentSet) -> tuple[str, ...]:
    """Name the holds on a set: on itself, its type, the load it is in, every piece in it and their types.

    Parameters
    ----------
    state
        What is so now.
    held
        Which set.

    Returns
    -------
    tuple[str, ...]
        Keys of holds.
    """
    things = [(Kind.SET, held.set_key), (Kind.TYPE, held.set_type)]
    if held.load is not None:
        things.append((Kind.LOAD, held.load))
    state.want(Piece, held.pieces)
    pieces = [state.get(Piece, key) for key in held.pieces]
    things += [(Kind.PIECE, piece.piece) for piece in pieces]
    things += [(Kind.TYPE, piece.type_key) for piece in pieces]
    return holds_on(state, *things)


def holds_on_thing(state: State, kind: Kind, key: str) -> tuple[str, ...]:
    """Name the holds on any thing, with all that bears on it.

    Parameters
    ----------
    state
        What is so now.
    kind
        What it is.
    key
        Which one.

    Returns
    -------
    tuple[str, ...]
        Keys of holds.
    """
    thing = state.find(InstrumentSet, key) if kind is Kind.SET else None
    piece = state.find(Piece, key) if kind is Kind.PIECE else None
    if thing is not None:
        return holds_on_set(state, thing)
    return holds_on_piece(state, piece) if piece is not None else holds_on(state, (kind, key))


def held(where: str, holds: tuple[str, ...]) -> Iterator[Objection]:
    """Object to anything that moves while a hold is in force.

    Parameters
    ----------
    where
        What is held.
    holds
        The holds in force.

    Yields
    ------
    Objection
        One, where there is a hold.
    """
    if holds:
        yield Objection(where, f"is held by {', '.join(holds)}", "the hold lifted by two people")


def sightings(state: State, seen: Mapping[str, Seen]) -> Iterator[Objection]:
    """Ask whether what was seen can have been seen so: known pieces, and no mark read where none is.

    Parameters
    ----------
    state
        What is so now.
    seen
        The pieces, each with how it was seen.

    Yields
    ------
    Objection
        Each sighting that cannot be.
    """
    for key, how in seen.items():
        piece = state.find(Piece, key)
        if piece is None:
            yield Objection(f"piece {key}", "is not known", "a piece that was enrolled")
        elif how is Seen.SCANNED and piece.mark is None:
            yield Objection(f"piece {key}", "has no mark and was reported as scanned", "an unmarked piece seen by eye")


def counted_now(state: State, counted: InstrumentSet, seen: Mapping[str, Seen]) -> Iterator[Objection]:
    """Compare the pieces seen with those that lie in a set; name when each missing one was last counted.

    Parameters
    ----------
    state
        What is so now.
    counted
        The set.
    seen
        The pieces seen.

    Yields
    ------
    Objection
        Each piece too few or too many.
    """
    yield from sightings(state, seen)
    last = f"last counted in event {counted.counted_at}" if counted.counted_at else "never counted"
    for key in sorted(set(counted.pieces) - set(seen)):
        yield Objection(f"set {counted.set_key}", f"piece {key} is not seen, {last}", "every piece of the set")
    for key in sorted(set(seen) - set(counted.pieces)):
        piece = state.find(Piece, key)
        if piece is not None:
            place = f"{piece.place.where} {piece.place.key}"
            yield Objection(f"set {counted.set_key}", f"piece {key} belongs to {place}", "no piece of another place")


def unchanged(counted: InstrumentSet) -> Iterator[Objection]:
    """Ask whether a closed set holds what was last counted in it.

    Parameters
    ----------
    counted
        The set.

    Yields
    ------
    Objection
        One, where it changed since.
    """
    if counted.counted_at == 0 or counted.counted != counted.pieces:
        yield Objection(
            f"set {counted.set_key}", "its content is not what was last counted", "a new count of every piece"
        )


def content(state: State, counted: InstrumentSet, override: str | None, at: datetime) -> Iterator[Objection]:
    """Compare the content of a set with its list: never too much, too little only under an override.

    Parameters
    ----------
    state
        What is so now.
    counted
        The set.
    override
        The permission to go on incomplete.
    at
        When.

    Yields
    ------
    Objection
        Each type of which there is too much or too little, and what is wrong with the permission.
    """
    where = f"set {counted.set_key}"
    have = Counter(state.get(Piece, key).type_key for key in counted.pieces)
    listed = Counter(counted.listed)
    yield from (Objection(where, f"{n} {name} too many", "what its list says") for name, n in (have - listed).items())
    missing = listed - have
    if not missing:
        return
    key = override or counted.incomplete
    permission = state.find(Override, key) if key else None
    if permission is None:
        yield from (
            Objection(where, f"{n} {name} missing", "all pieces, or an override") for name, n in missing.items()
        )
    elif permission.set_key != counted.set_key:
        yield Objection(f"override {key}", f"is for set {permission.set_key}", f"one for set {counted.set_key}")
    elif permission.until < at:
        yield Objection(f"override {key}", f"ran out at {permission.until.isoformat()}", "one in force")


def machine_tested(machine: Machine, at: datetime) -> Iterator[Objection]:
    """Ask whether a machine has passed its tests and none is overdue.

    Parameters
    ----------
    machine
        The machine.
    at
        When.

    Yields
    ------
    Objection
        Each test that is failed or overdue; one, where no test is on record.
    """
    where = f"machine {machine.machine}"
    if not machine.tests:
        yield Objection(where, "has no test on record", "its tests passed and in date")
    for name, test in machine.tests.items():
        if not test.passed:
            yield Objection(where, f"failed its test {name} at {test.at.isoformat()}", "the test passed")
        elif test.due is not None and test.due < at:
            yield Objection(where, f"its test {name} was due at {test.due.isoformat()}", "the test done and passed")


def load_and_machine(state: State, load: LoadRecord) -> Iterator[Objection]:
    """Ask whether a load or its machine is held.

    Parameters
    ----------
    state
        What is so now.
    load
        The load.

    Yields
    ------
    Objection
        One for each that is.
    """
    yield from held(f"load {load.load}", holds_on(state, (Kind.LOAD, load.load)))
    yield from held(f"machine {load.machine}", holds_on(state, (Kind.MACHINE, load.machine)))
