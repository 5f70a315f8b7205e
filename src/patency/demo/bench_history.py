"""What the ledger of the demo department holds when its day begins: people, machines, sets, and the round before."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import chain, count, product
from typing import TYPE_CHECKING

from patency.demo.bench_ability import ability_and_stock
from patency.errors import InputError
from patency.evidence import SterilizerTest, limit_of_test
from patency.ledger import (
    Circumstances,
    Confirmation,
    EndLoad,
    EnrolMachine,
    LoadKind,
    MoveSet,
    PermitPerson,
    PlanLoad,
    Refused,
    ReleaseLoad,
    Result,
    Role,
    Seen,
    SetHold,
    SetState,
    StartLoad,
    TakeSample,
    TestMachine,
    Who,
)
from patency.ledger import Kind as Thing
from patency.load import pieces_of_set
from patency.steps import enrolment, ledger_piece, small_part

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue import Department
    from patency.ledger import Command, Ledger
    from patency.load import PieceToPlace

S = SetState
STAFF: dict[str, Role] = {
    "admin-1": Role.ADMINISTRATOR,
    "lead-1": Role.LEAD,
    "lead-2": Role.LEAD,
    "loader-1": Role.LOADER,
    "loader-2": Role.LOADER,
    "assembler-1": Role.ASSEMBLER,
    "assembler-2": Role.ASSEMBLER,
    "releaser-1": Role.RELEASER,
    "releaser-2": Role.RELEASER,
    "engineer-1": Role.ENGINEER,
    "coordinator-1": Role.COORDINATOR,
    "auditor-1": Role.AUDITOR,
}
"""The invented people of the demo and what each may do."""

STEAM = ("North", "South")
_INVENTED = Result(format="patency-demo-history/1", verdict="met", data={"note": "invented history of the demo"})
_WASH_LOADS = {
    "before-1": ("Lapwing", "Alder", ("Gallbladder One", "Gallbladder Two")),
    "before-2": ("Lapwing", "Birch", ("Pelvis One", "Appendix", "Shoulder Scope")),
    "before-3": ("Lapwing", "Alder", ("Long Colon", "Pelvis Two")),
    "before-4": ("Dunlin", "Birch", ("Knee Scope", "Little Otter", "Groin Repair")),
}
_STEAM_LOADS = {
    "before-5": ("North", ("Gallbladder One", "Gallbladder Two", "Pelvis One", "Appendix")),
    "before-6": ("South", ("Shoulder Scope", "Long Colon", "Pelvis Two")),
    "before-7": ("North", ("Knee Scope", "Little Otter", "Groin Repair")),
}
_AFTER_WASH = ((S.INSPECTED, 20), (S.ASSEMBLED, 35), (S.PACKED, 45))


def mark_of(piece: PieceToPlace) -> str | None:
    """Return what is marked on a piece of the demo: small parts carry nothing.

    Parameters
    ----------
    piece
        The piece.

    Returns
    -------
    str or None
        A mark of its own.
    """
    if small_part(piece):
        return None
    letters = "".join(word[0] for word in piece.set.split())
    return f"{letters}-{piece.key.replace('/', '-').replace(' ', '_')}".upper()


def write_history(ledger: Ledger, department: Department, now: datetime) -> None:
    """Write everything down that happened before the demo's day begins.

    Parameters
    ----------
    ledger
        An empty ledger.
    department
        Larkmere.
    now
        When the day is entered; sets that are back by then are written down as used.
    """
    history = _History(department, now)
    outcome = ledger.append_all(history.all())
    if isinstance(outcome, Refused):  # pragma: no cover - the history is shipped and tested
        raise InputError("history of the demo", outcome.text, "a history the ledger takes")


class _History:
    def __init__(self, department: Department, now: datetime) -> None:
        self.department = department
        self.now = now
        self.number = count(1)
        if department.day is None:  # pragma: no cover - Larkmere describes one
            raise InputError("history of the demo", "no working day is described", "a day")
        self.day = department.day
        self.evening = datetime.combine(self.day.date, datetime.min.time(), UTC) - timedelta(hours=9)
        self.travelling = {name for _, _, names in _WASH_LOADS.values() for name in names}

    def by(self, who: str, at: datetime, command: Command, station: str) -> tuple[Command, Circumstances]:
        around = Circumstances(
            command=f"demo-{next(self.number)}",
            who=Who(person=who, confirmed=Confirmation.BADGE_AND_PIN),
            at=at,
            clock="demo clock",
            recorded=at,
            station=station,
        )
        return command, around

    def all(self) -> Iterator[tuple[Command, Circumstances]]:
        start = self.evening - timedelta(hours=3)
        yield from (
            self.by("admin-1", start, PermitPerson(person=person, roles={role: None}), "office")
            for person, role in STAFF.items()
        )
        steam = [EnrolMachine(machine=name, kind=LoadKind.STEAM) for name in STEAM]
        yield from (
            self.by("lead-1", start, command, "office") for command in chain(steam, enrolment(self.department, mark_of))
        )
        due = datetime.combine(self.day.date, datetime.max.time(), UTC) + timedelta(days=1)
        for machine in (*self.department.machines, *STEAM):
            test = TestMachine(machine=machine, test="daily test", passed=True, due=due)
            yield self.by("engineer-1", start, test, "office")
        until = self.day.date + timedelta(days=200)
        for command in ability_and_stock(self.department, until):
            yield self.by("lead-1", start, command, "office")
        yield from self._round()
        yield from self._day()

    def _seen(self, name: str) -> dict[str, Seen]:
        return {
            ledger_piece(name, piece.key): Seen.BY_EYE if mark_of(piece) is None else Seen.SCANNED
            for piece in pieces_of_set(self.department, name)
        }

    def _move(self, who: str, at: datetime, name: str, to: SetState, **more: object) -> tuple[Command, Circumstances]:
        command = MoveSet.model_validate({"set_key": name, "to": to, **more})
        return self.by(who, at, command, "soiled side" if to in {S.DISMANTLED, S.LOADED} else "clean side")

    def _round(self) -> Iterator[tuple[Command, Circumstances]]:
        at = self.evening
        for load, (carrier, machine, names) in _WASH_LOADS.items():
            programme = "gentle_lumen"
            plan = PlanLoad(
                load=load, kind=LoadKind.WASH, machine=machine, carrier=carrier, programme=programme, sets=names
            )
            yield self.by("loader-1", at, plan, "soiled side")
            for name in names:
                yield self._move("loader-1", at, name, S.DISMANTLED, seen=self._seen(name))
                yield self._move("loader-1", at, name, S.LOADED, seen=self._seen(name), load=load)
            start = StartLoad(load=load, machine=machine, carrier=carrier, programme=programme)
            yield self.by("loader-1", at, start, "soiled side")
            out = at + timedelta(minutes=66)
            yield self.by("assembler-1", out, EndLoad(load=load, completed=True, record=_INVENTED), "clean side")
            yield self.by("releaser-1", out, ReleaseLoad(load=load, sets=names, evidence=_INVENTED), "clean side")
            for name, (to, after) in ((name, step) for name in names for step in _AFTER_WASH):
                more = {"expires": out + timedelta(days=180)} if to is S.PACKED else {}
                seen = self._seen(name)
                yield self._move("assembler-1", out + timedelta(minutes=after), name, to, seen=seen, **more)
        yield from self._steam(at + timedelta(hours=3))

    def _steam(self, at: datetime) -> Iterator[tuple[Command, Circumstances]]:
        for load, (machine, names) in _STEAM_LOADS.items():
            plan = PlanLoad(
                load=load, kind=LoadKind.STEAM, machine=machine, carrier="rack", programme="wrapped_134", sets=names
            )
            yield self.by("assembler-2", at, plan, "clean side")
            for name in names:
                yield self._move("assembler-2", at, name, S.STEAM_LOADED, load=load)
            start = StartLoad(load=load, machine=machine, carrier="rack", programme="wrapped_134")
            yield self.by("assembler-2", at, start, "clean side")
            out = at + timedelta(minutes=58)
            yield self.by("assembler-2", out, EndLoad(load=load, completed=True, record=_INVENTED), "clean side")
            yield self.by("releaser-1", out, ReleaseLoad(load=load, sets=names, evidence=_INVENTED), "clean side")
            for name in names:
                yield self._move("assembler-2", out + timedelta(minutes=30), name, S.STORED)

    def _day(self) -> Iterator[tuple[Command, Circumstances]]:
        morning = datetime.combine(self.day.date, datetime.min.time(), UTC) + timedelta(hours=6)
        for machine, test in product(STEAM, SterilizerTest):
            counts = limit_of_test(test, self.department.limits.steam)
            due = morning + timedelta(seconds=counts.value) if counts is not None else None
            tested = TestMachine(machine=machine, test=test.value, passed=True, due=due)
            yield self.by("assembler-1", morning, tested, "clean side 1")
        sample = TakeSample(sample="water-1", point="final rinse", taken=morning)
        yield self.by("engineer-1", morning, sample, "water plant")
        for place, waiting in enumerate(self.day.waiting, start=1):
            if waiting.set not in self.travelling:
                continue
            case = f"case-{place:02}"
            yield self._move("coordinator-1", morning, waiting.set, S.ISSUED, case=case)
            yield self._move("coordinator-1", morning + timedelta(hours=1), waiting.set, S.IN_USE)
            back = waiting.back_at.replace(tzinfo=UTC)
            if back <= self.now:
                yield self._move("coordinator-1", back, waiting.set, S.USED)
        for name, kind in self.department.sets.items():
            if kind.hold is not None:
                hold = SetHold(hold=f"hold-{name}".replace(" ", "-"), scope=Thing.SET, key=name, reason=kind.hold)
                yield self.by("lead-1", self.now, hold, "office")
