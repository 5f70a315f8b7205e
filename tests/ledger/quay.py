"""The small department of the ledger's tests: a few people, two machines, two sets, and a way round in few words."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from patency.ledger import (
    Appended,
    Circumstances,
    Confirmation,
    Count,
    EndLoad,
    EnrolMachine,
    EnrolPiece,
    EnrolSet,
    GrantOverride,
    JudgeSample,
    LoadKind,
    MovePiece,
    MoveSet,
    PermitPerson,
    Piece,
    Place,
    PlanLoad,
    Refused,
    ReleaseLoad,
    Result,
    Role,
    Seen,
    SetState,
    StartLoad,
    TakeSample,
    TestMachine,
    Versions,
    Where,
    Who,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from patency.ledger import Command, Ledger

START = datetime(2026, 5, 12, 6, 0, tzinfo=UTC)
ROLE_OF = {"move set": "lead-1", "release load": "releaser-1", "permit person": "admin-1", "judge sample": "engineer-1"}
MET = Result(format="example/1", verdict="met", data={"a0_s": 3100.5})
PEOPLE = {
    "admin-1": Role.ADMINISTRATOR,
    "lead-1": Role.LEAD,
    "lead-2": Role.LEAD,
    "loader-1": Role.LOADER,
    "assembler-1": Role.ASSEMBLER,
    "releaser-1": Role.RELEASER,
    "engineer-1": Role.ENGINEER,
    "auditor-1": Role.AUDITOR,
    "coordinator-1": Role.COORDINATOR,
}


class Desk:
    """One place where everybody of the department writes into a ledger, a minute after the other."""

    def __init__(self, ledger: Ledger) -> None:
        self.ledger = ledger
        self.at = START
        self.number = 0

    @property
    def place(self) -> str:
        """Where the ledger is kept."""
        return self.ledger.store.name

    def around(self, who: str, second: str | None = None, key: str | None = None) -> Circumstances:
        self.at += timedelta(minutes=1)
        self.number += 1
        return Circumstances(
            command=key or f"c{self.number}",
            who=Who(person=who, confirmed=Confirmation.BADGE),
            second=Who(person=second, confirmed=Confirmation.BADGE_AND_PIN) if second else None,
            at=self.at,
            clock="station clock, time server",
            recorded=self.at,
            station="sink 1",
            relies_on=Versions(plan="plan-7", catalogue="catalogue-3", limits="limits-5"),
        )

    def ask(
        self, command: Command, who: str | None = None, second: str | None = None, key: str | None = None
    ) -> Appended | Refused:
        return self.ledger.append(command, self.around(who or ROLE_OF.get(command.do, "lead-1"), second, key))

    def do(self, command: Command, who: str | None = None, second: str | None = None, key: str | None = None) -> int:
        """Write it down and return the number of its last event."""
        outcome = self.ask(command, who, second, key)
        assert isinstance(outcome, Appended), outcome.text
        return outcome.last

    def refusal(self, command: Command, who: str | None = None, second: str | None = None) -> str:
        """Ask for what must be refused, find that nothing was written, and return the reasons."""
        before = self.ledger.head()
        outcome = self.ask(command, who, second)
        assert isinstance(outcome, Refused), outcome
        assert self.ledger.head() == before
        return outcome.text

    # --- a department -------------------------------------------------------------------------------------------------

    def people(self) -> None:
        for person, role in PEOPLE.items():
            self.do(PermitPerson(person=person, roles={role: None}), "admin-1")

    def machines(self) -> None:
        for machine, kind in (("Alder", LoadKind.WASH), ("Birch", LoadKind.WASH), ("North", LoadKind.STEAM)):
            self.do(EnrolMachine(machine=machine, kind=kind, water=("final rinse",) if kind is LoadKind.WASH else ()))
            self.do(TestMachine(machine=machine, test="daily", passed=True, due=START + timedelta(days=400)))

    def enrol(self, set_key: str, pieces: Mapping[str, str | None], loaned: bool = False) -> None:
        """Enrol a set with pieces, each with its type; a type that begins with ``*`` carries no mark."""
        types = [(kind or "forceps").lstrip("*") for kind in pieces.values()]
        listed = {kind: types.count(kind) for kind in types}
        self.do(EnrolSet(set_key=set_key, set_type=f"type of {set_key}", listed=listed, loaned=loaned))
        for (piece, _), kind in zip(pieces.items(), types, strict=True):
            unmarked = (pieces[piece] or "").startswith("*")
            mark = None if unmarked else f"mark {piece}"
            place = Place(where=Where.SET, key=set_key)
            self.do(EnrolPiece(piece=piece, type_key=kind, mark=mark, place=place))

    def opened(self) -> Desk:
        """Set up people, machines and two sets of three pieces, one of them unmarked."""
        self.people()
        self.machines()
        for name in ("Heron", "Otter"):
            self.enrol(name, {f"{name} tube": "tube", f"{name} jaws": "jaws", f"{name} seal": "*seal"})
        return self

    # --- the way round ------------------------------------------------------------------------------------------------

    def seen(self, set_key: str, scanned: bool = True) -> Count:
        """See every piece of a set, and read the marks of those that carry one."""
        from patency.ledger import InstrumentSet, Piece

        found = self.ledger.find(InstrumentSet, set_key)
        assert found is not None
        marks = {key: piece.mark for key in found.pieces if (piece := self.ledger.find(Piece, key))}
        return {key: Seen.SCANNED if mark and scanned else Seen.BY_EYE for key, mark in marks.items()}

    def move(self, set_key: str, to: SetState, **more: Any) -> int:  # noqa: ANN401 - fields of the command
        counted = to in {
            SetState.DISMANTLED, SetState.LOADED, SetState.INSPECTED, SetState.ASSEMBLED, SetState.PACKED,
        }  # fmt: skip
        if counted and "seen" not in more:
            more["seen"] = self.seen(set_key)
        if to is SetState.PACKED:
            more.setdefault("expires", self.at + timedelta(days=180))
        return self.do(MoveSet(set_key=set_key, to=to, **more))

    def taking(self, piece: str, **more: Any) -> MovePiece:  # noqa: ANN401 - fields of a command
        """Take a piece from where it is now."""
        found = self.ledger.find(Piece, piece)
        assert found is not None
        return MovePiece(piece=piece, from_place=found.place, **more)

    def start(self, load: str, machine: str, sets: Sequence[str]) -> None:
        kind = LoadKind.STEAM if machine == "North" else LoadKind.WASH
        into = SetState.STEAM_LOADED if machine == "North" else SetState.LOADED
        ride = {"carrier": "Lapwing", "programme": "gentle"}
        self.do(PlanLoad.model_validate({"load": load, "kind": kind, "machine": machine, "sets": tuple(sets), **ride}))
        for name in sets:
            self.move(name, into, load=load)
        self.do(StartLoad.model_validate({"load": load, "machine": machine, **ride}))

    def run(self, load: str, machine: str, sets: Sequence[str]) -> None:
        self.start(load, machine, sets)
        self.do(EndLoad(load=load, completed=True, record=MET))
        self.do(ReleaseLoad(load=load, sets=tuple(sets), evidence=MET))

    def wash(self, load: str, sets: Sequence[str], machine: str = "Alder") -> None:
        """Take received sets through a washer-disinfector."""
        for name in sets:
            self.move(name, SetState.DISMANTLED)
        self.run(load, machine, sets)

    def steam(self, load: str, sets: Sequence[str]) -> None:
        """Take washed sets through inspection, packing and a sterilizer to the store."""
        for name in sets:
            for state in (SetState.INSPECTED, SetState.ASSEMBLED, SetState.PACKED):
                self.move(name, state)
        self.run(load, "North", sets)
        for name in sets:
            self.move(name, SetState.STORED)

    def use(self, case: str, set_key: str) -> None:
        """Issue a stored set to a case, use it and take it back."""
        self.move(set_key, SetState.ISSUED, case=case)
        for state in (SetState.IN_USE, SetState.USED, SetState.RECEIVED):
            self.move(set_key, state)

    def sample(self, key: str, within: bool) -> None:
        self.do(TakeSample(sample=key, point="final rinse", taken=self.at))
        self.do(JudgeSample(sample=key, within=within))

    def incomplete(self, set_key: str, key: str = "o-1") -> None:
        until, why = self.at + timedelta(hours=8), "spare ordered"
        self.do(GrantOverride(override=key, set_key=set_key, reason=why, until=until, compensation="count twice"))
