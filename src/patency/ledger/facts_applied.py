"""What is so after people, machines, water, sets, holds, overrides or results were noted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.ledger.fields import Kind
from patency.ledger.rows import Row, touches
from patency.ledger.things import (
    Assessed,
    Held,
    Hold,
    InstrumentSet,
    Machine,
    Override,
    Person,
    Sample,
    Tested,
    held_key,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.ledger import events
    from patency.ledger.events import Event
    from patency.ledger.state import State


def person_permitted(what: events.PersonPermitted, state: State, event: Event) -> Iterator[Row]:
    """Let a permission take effect; what the person showed to be able to do stays."""
    before = state.find(Person, what.person)
    assessed = before.assessed if before else {}
    state.put(Person(person=what.person, roles=what.roles, assessed=assessed), event.seq)
    yield from touches(event.seq, (Kind.PERSON, what.person))


def person_assessed(what: events.PersonAssessed, state: State, event: Event) -> Iterator[Row]:
    """Keep what a person showed to be able to do, the last time for each family."""
    person = state.get(Person, what.person)
    shown = Assessed(method=what.method, until=what.until, assessor=event.circumstances.who.person)
    state.put(person.model_copy(update={"assessed": {**person.assessed, what.family: shown}}), event.seq)
    yield from touches(event.seq, (Kind.PERSON, what.person))


def machine_enrolled(what: events.MachineEnrolled, state: State, event: Event) -> Iterator[Row]:
    """Let a machine be there, with the tests it had."""
    before = state.find(Machine, what.machine)
    tests = before.tests if before else {}
    state.put(Machine(machine=what.machine, kind=what.kind, water=what.water, tests=tests), event.seq)
    points = ((Kind.WATER, point) for point in what.water)
    yield from touches(event.seq, (Kind.MACHINE, what.machine), *points)


def machine_tested(what: events.MachineTested, state: State, event: Event) -> Iterator[Row]:
    """Keep the last test of its sort."""
    machine = state.get(Machine, what.machine)
    test = Tested(passed=what.passed, at=event.circumstances.at, due=what.due)
    state.put(machine.model_copy(update={"tests": {**machine.tests, what.test: test}}), event.seq)
    yield from touches(event.seq, (Kind.MACHINE, what.machine))


def water_sampled(what: events.WaterSampled, state: State, event: Event) -> Iterator[Row]:
    """Keep a sample, not yet judged."""
    state.put(Sample.model_validate(what.model_dump()), event.seq)
    yield from touches(event.seq, (Kind.SAMPLE, what.sample), (Kind.WATER, what.point))


def sample_judged(what: events.SampleJudged, state: State, event: Event) -> Iterator[Row]:
    """Keep what a sample showed."""
    sample = state.get(Sample, what.sample)
    state.put(sample.model_copy(update={"within": what.within}), event.seq)
    yield from touches(event.seq, (Kind.SAMPLE, what.sample), (Kind.WATER, sample.point))


def set_enrolled(what: events.SetEnrolled, state: State, event: Event) -> Iterator[Row]:
    """Let a set be there, received and empty."""
    state.put(InstrumentSet.model_validate(what.model_dump()), event.seq)
    yield from touches(event.seq, (Kind.SET, what.set_key))


def hold_set(what: events.HoldSet, state: State, event: Event) -> Iterator[Row]:
    """Let a hold be in force."""
    set_by = event.circumstances.who.person
    state.put(Hold.model_validate({**what.model_dump(), "set_by": set_by}), event.seq)
    before = state.find(Held, held_key(what.scope, what.key))
    holds = (*(before.holds if before else ()), what.hold)
    _put_held(state, what.scope, what.key, holds, event.seq)
    yield from touches(event.seq, (Kind.HOLD, what.hold), (what.scope, what.key))


def hold_lifted(what: events.HoldLifted, state: State, event: Event) -> Iterator[Row]:
    """Let a hold end."""
    hold = state.get(Hold, what.hold)
    state.put(hold.model_copy(update={"lifted": True}), event.seq)
    before = state.get(Held, held_key(hold.scope, hold.key))
    _put_held(state, hold.scope, hold.key, tuple(key for key in before.holds if key != what.hold), event.seq)
    yield from touches(event.seq, (Kind.HOLD, what.hold), (hold.scope, hold.key))


def _put_held(state: State, scope: Kind, key: str, holds: tuple[str, ...], seq: int) -> None:
    state.put(Held(held=held_key(scope, key), scope=scope, of=key, holds=holds), seq)


def override_granted(what: events.OverrideGranted, state: State, event: Event) -> Iterator[Row]:
    """Keep a permission to go on incomplete."""
    granted_by = event.circumstances.who.person
    state.put(Override.model_validate({**what.model_dump(), "granted_by": granted_by}), event.seq)
    yield from touches(event.seq, (Kind.OVERRIDE, what.override), (Kind.SET, what.set_key))


def result_noted(what: events.ResultNoted, state: State, event: Event) -> Iterator[Row]:
    """Tell the trace what a result is about; the ledger reads no more of it."""
    del state
    yield from touches(event.seq, (what.about, what.key))
