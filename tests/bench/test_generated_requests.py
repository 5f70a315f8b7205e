"""Generated requests bring the bench to no error of its own, and nothing that is held moves on."""

from __future__ import annotations

import shutil
from collections import Counter
from datetime import date, timedelta
from itertools import chain, count, islice
from random import Random
from typing import TYPE_CHECKING, Any

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from patency.bench.interface.faults import granted
from patency.bench.people import open_people
from patency.ledger import (
    Appended,
    Circumstances,
    Confirmation,
    EndLoad,
    InstrumentSet,
    Kind,
    LoadKind,
    MoveSet,
    PermitPerson,
    PlanLoad,
    ReleaseLoad,
    Result,
    Role,
    SetHold,
    StartLoad,
    Who,
)
from patency.ledger import SetState as S
from patency.steps import all_seen, show_loading
from tests.bench.desk import BEGIN, PINS, badge_of, open_desk
from tests.bench.program import Program

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from patency.ledger import Command
    from tests.bench.desk import Desk

ALL = "tester-1"
DISMANTLED, WASHED, STORED = "Gallbladder One", "Knee Scope", "Appendix"
"""Three sets that are held: before they are loaded, before the release of their wash, before they are issued."""
_ONWARD = {S.LOADED, S.WASH_RELEASED, S.INSPECTED, S.PACKED, S.STEAM_LOADED, S.STERILE_RELEASED, S.STORED, S.ISSUED}
_COUNTED = {S.DISMANTLED, S.LOADED, S.INSPECTED, S.ASSEMBLED, S.PACKED}
TUBE = "Gallbladder One/mod5/1/tube"
_MET = Result(format="example/1", verdict="met")


def around_of(who: str, key: str) -> Circumstances:
    return Circumstances(
        command=key, who=Who(person=who, confirmed=Confirmation.BADGE_AND_PIN), at=BEGIN, clock="test clock",
        recorded=BEGIN, station="desk",
    )  # fmt: skip


@pytest.fixture
def desk(prepared: Path, tmp_path: Path) -> Iterator[Desk]:
    """A bench with somebody who may do everything, so that no request is turned away for the role alone."""
    folder = tmp_path / "larkmere"
    shutil.copytree(prepared, folder)
    people = open_people(folder / "people.sqlite")
    people.add(ALL, badge_of(ALL), PINS.setdefault(ALL, "731904"), BEGIN)
    people.close()
    opened = open_desk(folder)
    roles: dict[Role, date | None] = {role: None for role in Role if role is not Role.AUDITOR}
    opened.opened.ledger.append(PermitPerson(person=ALL, roles=roles), around_of("admin-1", "tester"))
    yield opened
    opened.opened.close()


@pytest.fixture
def program(desk: Desk) -> Program:
    return Program(desk, ALL)


@pytest.fixture
def schema(desk: Desk) -> Any:  # noqa: ANN401 - the type of schemathesis is not public
    return schemathesis.openapi.from_asgi("/api/v1/openapi.json", desk.app())


def test_no_generated_request_is_an_error_of_the_bench(schema: Any, program: Program) -> None:  # noqa: ANN401
    asked = 0
    for found in schema.get_all_operations():
        operation = found.ok()
        if operation.path == "/session" and operation.method == "delete":
            continue  # it would end the session the other requests need

        @settings(
            max_examples=5,
            derandomize=True,
            deadline=None,
            database=None,
            phases=[Phase.explicit, Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        @given(case=operation.as_strategy())
        def ask(case: Any) -> None:  # noqa: ANN401
            nonlocal asked
            asked += 1
            case.call_and_validate(
                headers={**program.headers, "Idempotency-Key": f"generated-{asked}"},
                checks=[
                    not_a_server_error,
                    status_code_conformance,
                    content_type_conformance,
                    response_schema_conformance,
                ],
            )

        ask()
    assert asked > 100


class Round:
    """What brings sets to where they are held, written straight into the ledger."""

    def __init__(self, desk: Desk) -> None:
        self.ledger, self.number = desk.opened.ledger, 0

    def do(self, who: str, *commands: Command) -> None:
        for command in commands:
            self.number += 1
            around = around_of(who, f"round-{self.number}")
            outcome = self.ledger.append(command, around)
            assert isinstance(outcome, Appended), outcome

    def found(self, name: str) -> InstrumentSet:
        found = self.ledger.find(InstrumentSet, name)
        assert found is not None
        return found

    def move(self, who: str, name: str, to: S, **more: object) -> None:
        seen = {"seen": all_seen(self.found(name))} if to in _COUNTED else {}
        self.do(who, MoveSet.model_validate({"set_key": name, "to": to, **seen, **more}))

    def dismantled(self, name: str) -> None:
        if self.found(name).state is S.IN_USE:
            self.move("coordinator-1", name, S.USED)
        for to in (S.RECEIVED, S.DISMANTLED):
            self.move("loader-1", name, to)

    def ran(self, load: str, kind: LoadKind, machine: str, name: str) -> None:
        who, inside = ("loader-1", S.LOADED) if kind is LoadKind.WASH else ("assembler-1", S.STEAM_LOADED)
        three: dict[str, Any] = {"machine": machine, "carrier": "rack", "programme": "any"}
        self.do(who, PlanLoad(load=load, kind=kind, sets=(name,), **three))
        self.move(who, name, inside, load=load)
        self.do(who, StartLoad(load=load, **three), EndLoad(load=load, completed=True, record=_MET))

    def all(self) -> None:
        for name in (DISMANTLED, WASHED, STORED):
            self.dismantled(name)
        self.ran("X1", LoadKind.WASH, "Alder", STORED)
        self.do("releaser-1", ReleaseLoad(load="X1", sets=(STORED,), evidence=_MET))
        for to in (S.INSPECTED, S.ASSEMBLED):
            self.move("assembler-1", STORED, to)
        self.move("assembler-1", STORED, S.PACKED, expires=BEGIN + timedelta(days=90))
        self.ran("X2", LoadKind.STEAM, "North", STORED)
        self.do("releaser-1", ReleaseLoad(load="X2", sets=(STORED,), evidence=_MET))
        self.do("assembler-1", MoveSet(set_key=STORED, to=S.STORED))
        self.ran("X3", LoadKind.WASH, "Alder", WASHED)
        for name in (DISMANTLED, WASHED, STORED):
            self.do("lead-1", SetHold(hold=f"hold of {name}", scope=Kind.SET, key=name, reason="in doubt"))


def requests(desk: Desk, rng: Random) -> Iterator[tuple[str, dict[str, Any]]]:
    """Say without end what somebody could send who wants a held set to go on: paths and bodies."""
    steps = [step.key for step in granted(show_loading(desk.opened.workplace, "L1")).steps]
    mine = {"badge": badge_of(ALL), "pin": PINS[ALL]}
    each_in_its_load = ((DISMANTLED, "L1"), (WASHED, "X3"), (STORED, "X2"))
    by_chance = (
        (rng.choice((DISMANTLED, WASHED, STORED)), rng.choice(("L1", "L2", "X1", "X2", "X3"))) for _ in count()
    )
    for name, load in chain(each_in_its_load, by_chance):
        second = rng.choice((None, mine, {"badge": badge_of("lead-2"), "pin": "111222"}))
        to = rng.choice(list(S))
        choices: list[tuple[str, dict[str, Any]]] = [
            (f"/sets/{name}/receive", {}),
            (f"/sets/{name}/count", {"missing": []}),
            (f"/sets/{name}/pod", {"pod": f"pod {rng.randrange(3)}"}),
            (f"/sets/{name}/apart", {"second": second}),
            (f"/sets/{name}/on", {"to": to, "case": "case-77", "second": second}),
            (f"/sets/{name}/on", {"to": S.ISSUED, "case": "case-77"}),
            (f"/loads/{load}/begin", {}),
            (f"/loads/{load}/confirm", {"step": rng.choice(steps), "second": second}),
            (f"/loads/{load}/take-over", {}),
            (f"/loads/{load}/undo", {}),
            (f"/loads/{load}/end", {"completed": True}),
            (f"/loads/{load}/swap", {"step": TUBE, "out": TUBE, "into": "spare mod5/tube", "why": "cracked"}),
            (f"/loads/{load}/pack", {"set_key": name, "fault": "damaged"}),
            (f"/findings/set/{name}", {"found": "broken, or a part broke off"}),
            ("/sterilizer-tests", {"machine": "North", "test": "hollow load", "verdict": "met"}),
            (f"/loads/{load}/looked", {}),
            (f"/loads/{load}/decision", {"decision": "release", "pin": PINS[ALL]}),
            ("/steam", {"machine": "North", "programme": "wrapped_134", "sets": [name]}),
            ("/holds/lift", {"hold": f"hold of {name}", "why": "no doubt", "pin": PINS[ALL], "second": mine}),
            (
                "/overrides",
                {"set_key": name, "reason": "r", "hours": 5, "compensation": "c", "pin": PINS[ALL]},
            ),
        ]
        rng.shuffle(choices)
        yield from choices


def test_nothing_that_is_held_goes_on_whatever_is_sent_until_two_people_lift_the_hold(
    desk: Desk, program: Program
) -> None:
    way = Round(desk)
    way.all()
    held = desk.opened.ledger.head().seq
    statuses: Counter[int] = Counter()
    told = ""
    for path, body in islice(requests(desk, Random(20260512)), 80):
        answer = program.send(path, "", {key: value for key, value in body.items() if value is not None})
        statuses[answer.status_code] += 1
        told += answer.text if answer.status_code == 409 else ""
    assert {*statuses} <= {200, 403, 404, 409}
    assert min(statuses[200], statuses[409]) > 10
    for name in (DISMANTLED, WASHED, STORED):
        assert f"is held by hold of {name}" in told
        since = [event for event in desk.opened.ledger.story("set", name) if event["seq"] > held]
        moved = {event["what"]["to"] for event in since if event["event"] == "set moved"}
        assert not moved & _ONWARD
        assert not {event["event"] for event in since} & {"load planned", "load started", "load released"}
        assert desk.opened.ledger.holds(Kind.SET, name)
    # It was the hold that kept it back: it goes on when two people lift it.
    desk.hands.on(minutes=20)  # what was tried with a wrong PIN is slowed until then
    program = Program(desk, ALL, program.client)
    issued = {"to": S.ISSUED, "case": "case-77"}
    assert program.send(f"/sets/{STORED}/on", "", issued).status_code == 409
    lead = Program(desk, "lead-1", program.client)
    other = {"badge": badge_of("lead-2"), "pin": PINS["lead-2"]}
    lead.post("/holds/lift", hold=f"hold of {STORED}", why="no doubt", pin=PINS["lead-1"], second=other)
    for hold in desk.opened.ledger.holds(Kind.SET, STORED):
        lead.post("/holds/lift", hold=hold.hold, why="no doubt", pin=PINS["lead-1"], second=other)
    assert program.send(f"/sets/{STORED}/on", "", issued).json()["state"] == S.ISSUED
