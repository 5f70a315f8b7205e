"""Somebody who does sensible and senseless things in a department, by chance."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from patency.ledger import (
    Appended,
    CorrectMove,
    CountAccessory,
    CountSet,
    EndLoad,
    GrantOverride,
    InstrumentSet,
    JudgeSample,
    Kind,
    LiftHold,
    LoadKind,
    LoadRecord,
    LoadState,
    MovePiece,
    MoveSet,
    Piece,
    Place,
    PlanLoad,
    ReleaseLoad,
    Result,
    ReturnAccessories,
    Seen,
    SetHold,
    SetState,
    StartLoad,
    TakeAccessories,
    TakeSample,
    TestMachine,
    Where,
    next_states,
)
from patency.ledger.states import OPEN_STATES, WAY_ROUND
from tests.ledger.quay import START, Desk

if TYPE_CHECKING:
    from random import Random

    from patency.ledger import Command, Count, Refused

SETS = ("Heron", "Otter", "Wren")
PIECES = tuple(f"{name} {piece}" for name in SETS for piece in ("tube", "seal", "ring"))
LOADS = {"w1": LoadKind.WASH, "w2": LoadKind.WASH, "s1": LoadKind.STEAM}
MACHINE_OF = {"w1": "Alder", "w2": "Birch", "s1": "North"}
HOLDABLE = [
    *((Kind.SET, key) for key in SETS),
    *((Kind.PIECE, key) for key in PIECES),
    *((Kind.TYPE, key) for key in ("tube", "seal", "ring")),
    *((Kind.MACHINE, key) for key in MACHINE_OF.values()),
]
COUNTED = {SetState.DISMANTLED, SetState.LOADED, SetState.INSPECTED, SetState.ASSEMBLED, SetState.PACKED}


class Actor:
    """Acts at a desk; keeps no record of its own but the names it gave."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.round = 0
        self.honest = False
        self.holds: list[str] = []
        desk.people()
        desk.machines()
        for name in SETS:
            desk.enrol(name, {f"{name} tube": "tube", f"{name} seal": "*seal", f"{name} ring": "*ring"})

    def ask(self, command: Command, who: str = "lead-1", second: str | None = None) -> Appended | Refused:
        return self.desk.ask(command, "releaser-1" if command.do == "release load" else who, second)

    def seen(self, set_key: str, rng: Random) -> Count:
        """See what lies in a set: mostly all of it, sometimes too little, too much, or a mark where none is."""
        held = self.desk.ledger.find(InstrumentSet, set_key)
        assert held is not None
        seen = {}
        for key in held.pieces:
            piece = self.desk.ledger.find(Piece, key)
            assert piece is not None
            scanned = piece.mark is not None and rng.random() < 0.7
            seen[key] = Seen.SCANNED if scanned else Seen.BY_EYE
        luck = 1.0 if self.honest else rng.random()
        if luck < 0.06 and seen:
            del seen[rng.choice(sorted(seen))]
        elif luck < 0.12:
            seen[rng.choice(PIECES)] = Seen.BY_EYE
        elif luck < 0.15 and seen:
            seen[rng.choice(sorted(seen))] = Seen.SCANNED
        return seen

    def on(self, rng: Random) -> Appended | Refused:
        """Take a set a step on, by hand or with its load."""
        held = self.desk.ledger.find(InstrumentSet, rng.choice(SETS))
        assert held is not None
        by_load = {SetState.LOADED, SetState.WASHED, SetState.STEAM_LOADED, SetState.STEAM_RUN}
        if held.state in by_load and held.load is not None:
            return self.load_on(held.load, rng)
        if self.honest:
            return self.move(held.set_key, _straight_on(held), rng)
        ways: list[SetState] = sorted(next_states(held.state, held.came_from))
        usual: list[SetState] = [
            state for state in ways if state not in {SetState.QUARANTINE, SetState.RETIRED, SetState.REWASH}
        ]
        usual = (
            [state for state in usual if state not in {SetState.REPAIR, SetState.LOAN_RETURN}]
            or ways
            or [SetState.RECEIVED]
        )
        to = rng.choice(usual if rng.random() < 0.85 else list(SetState))
        return self.move(held.set_key, to, rng)

    def move(self, set_key: str, to: SetState, rng: Random) -> Appended | Refused:
        kind = {SetState.LOADED: LoadKind.WASH, SetState.STEAM_LOADED: LoadKind.STEAM}.get(to)
        load = rng.choice([key for key, one in LOADS.items() if one is kind]) if kind else None
        if load is not None and not (self.honest and self._planned(load, set_key)):
            self.ask(self.plan(load, (set_key,), rng))
            load = self.name(load)
        self.round += 1
        command = MoveSet(
            set_key=set_key,
            to=to,
            seen=self.seen(set_key, rng) if to in COUNTED or (not self.honest and rng.random() < 0.3) else {},
            load=load,
            case=f"case-{self.round}" if to is SetState.ISSUED else None,
            expires=self.desk.at + timedelta(days=90) if to is SetState.PACKED else None,
            why="by chance",
        )
        return self.ask(command, second="lead-2" if rng.random() < 0.5 else None)

    def _planned(self, load: str, set_key: str) -> bool:
        found = self.desk.ledger.find(LoadRecord, self.name(load))
        return found is not None and set_key in found.sets

    def name(self, load: str) -> str:
        """Name the load of this name that has not started, or a new one."""
        number = 1
        while (found := self.desk.ledger.find(LoadRecord, f"{load}.{number}")) and found.state is not LoadState.PLANNED:
            number += 1
        return f"{load}.{number}"

    def plan(self, load: str, more: tuple[str, ...], rng: Random) -> PlanLoad:
        name = self.name(load)
        before = self.desk.ledger.find(LoadRecord, name)
        inside = tuple(before.inside) if before else ()
        extra = (rng.choice(SETS),) if rng.random() < 0.3 else ()
        sets = tuple(dict.fromkeys((*inside, *more, *extra)))
        ride = {"machine": MACHINE_OF[load], "carrier": "Lapwing", "programme": "gentle"}
        return PlanLoad.model_validate({"load": name, "kind": LOADS[load], "sets": sets, **ride})

    def load_on(self, key: str, rng: Random) -> Appended | Refused:
        """Take a load a step on."""
        load = self.desk.ledger.find(LoadRecord, key)
        assert load is not None
        if load.state is LoadState.PLANNED:
            if rng.random() < 0.5 and load.inside:
                self.ask(load_plan(load, tuple(load.inside)))
            ride = {"machine": load.machine, "carrier": "Lapwing", "programme": "gentle"}
            return self.ask(StartLoad.model_validate({"load": key, **ride}))
        if load.state is LoadState.STARTED:
            return self.ask(EndLoad(load=key, completed=rng.random() < 0.9))
        waiting = [
            name for name in load.inside if (found := self.desk.ledger.find(InstrumentSet, name)) and found.load == key
        ]
        sets = tuple(waiting if rng.random() < 0.7 else rng.sample(SETS, rng.randint(1, 3))) or SETS
        verdict = "met" if rng.random() < 0.85 else "not met"
        return self.ask(ReleaseLoad(load=key, sets=sets, evidence=Result(format="example/1", verdict=verdict)))

    def count(self, rng: Random) -> Appended | Refused:
        name = rng.choice(SETS)
        return self.ask(CountSet(set_key=name, seen=self.seen(name, rng)))

    def put(self, rng: Random) -> Appended | Refused:
        where = rng.choice([Where.SET, Where.SET, Where.SET, *Where])
        key = rng.choice(SETS) if where is Where.SET else "there"
        piece = rng.choice(PIECES)
        scanned = rng.random() < 0.4
        result = Result(format="example/1", verdict="met") if rng.random() < 0.5 else None
        to, found = Place(where=where, key=key), self.desk.ledger.find(Piece, piece)
        assert found is not None
        taken = found.place if rng.random() < 0.9 else Place(where=Where.SPARE, key="elsewhere")
        ask = MovePiece(piece=piece, from_place=taken, to=to, scanned=scanned, result=result, why="by chance")
        return self.ask(ask)

    def hold(self, rng: Random) -> Appended | Refused:
        self.round += 1
        scope, key = rng.choice(HOLDABLE)
        self.holds.append(f"h-{self.round}")
        return self.ask(SetHold(hold=self.holds[-1], scope=scope, key=key, reason="by chance"))

    def lift(self, rng: Random) -> Appended | Refused:
        key = self.holds.pop(rng.randrange(len(self.holds))) if self.holds else "none"
        return self.ask(LiftHold(hold=key, why="by chance"), second="lead-2")

    def correct(self, rng: Random) -> Appended | Refused:
        held = self.desk.ledger.find(InstrumentSet, rng.choice(SETS))
        assert held is not None
        seq = held.moved.seq if held.moved and rng.random() < 0.9 else 3
        return self.ask(CorrectMove(set_key=held.set_key, corrects=seq, why="by chance"))

    def override(self, rng: Random) -> Appended | Refused:
        """Permit a set to go on incomplete and take it out of its want of a piece."""
        self.round += 1
        name, key = rng.choice(SETS), f"o-{self.round}"
        until = self.desk.at + timedelta(days=1)
        self.ask(GrantOverride(override=key, set_key=name, reason="spare", until=until, compensation="count"))
        held = self.desk.ledger.find(InstrumentSet, name)
        assert held is not None
        seen = self.seen(name, rng)
        return self.ask(MoveSet(set_key=name, to=held.came_from or held.state, seen=seen, override=key))

    def swap(self, rng: Random) -> None:
        """Find that two pieces of one type changed places between two open sets, nobody knows when."""
        lying = [held for name in SETS if (held := self._set(name)).state in OPEN_STATES and held.pieces]
        if len(lying) > 1:
            one, other = rng.sample(lying, 2)
            gone = rng.choice(one.pieces)
            come = next((key for key in other.pieces if key.split()[1] == gone.split()[1]), None)
            if come is None:
                return
            here = {key: Seen.BY_EYE for key in (*one.pieces, come) if key != gone}
            self.ask(CountSet(set_key=one.set_key, seen=here))
            there = {key: Seen.BY_EYE for key in (*other.pieces, gone) if key != come}
            self.ask(CountSet(set_key=other.set_key, seen=there))
            if self._set(one.set_key).state is SetState.MISSING_PART:
                self.ask(MoveSet(set_key=one.set_key, to=one.state, seen=here))

    def _set(self, name: str) -> InstrumentSet:
        found = self.desk.ledger.find(InstrumentSet, name)
        assert found is not None
        return found

    def live(self, rng: Random) -> None:
        """Keep the department going: sets go round, now and then pieces are swapped, water is sampled, tests fail."""
        luck = rng.random()
        self.honest = luck < 0.97
        if luck < 0.12:
            self.swap(rng)
        elif luck < 0.14:
            self.sample(rng)
        elif luck < 0.155:
            self.test(rng)
        elif luck < 0.97:
            self.on(rng)
        else:
            rng.choice([self.correct, self.count, self.put])(rng)

    def test(self, rng: Random) -> Appended | Refused:
        machine, passed = rng.choice(list(MACHINE_OF.values())), rng.random() < 0.8
        return self.ask(TestMachine(machine=machine, test="daily", passed=passed, due=START + timedelta(days=400)))

    def stock(self, rng: Random) -> Appended | Refused:
        """Count accessories, take them for a load or give them back, sometimes more than there are."""
        key, load = rng.choice(("hose cap", "sleeve")), self.name(rng.choice(list(LOADS)))
        number, luck = rng.randint(0, 8), rng.random()
        if luck < 0.3:
            return self.ask(CountAccessory(accessory=key, usable=number, why="by chance"))
        if luck < 0.7:
            return self.ask(TakeAccessories(load=load, taken={key: number}))
        why = "by chance" if rng.random() < 0.5 else None
        return self.ask(ReturnAccessories(load=load, back={key: number}, why=why))

    def sample(self, rng: Random) -> Appended | Refused:
        self.round += 1
        self.ask(TakeSample(sample=f"water-{self.round}", point="final rinse", taken=self.desk.at))
        return self.ask(JudgeSample(sample=f"water-{self.round}", within=rng.random() < 0.6))

    def act(self, rng: Random) -> Appended | Refused:
        """Do anything, mostly what leads on."""
        if rng.random() < 0.75:
            return self.on(rng)
        others = [self.count, self.put, self.hold, self.lift, self.lift, self.correct, self.override, self.test]
        return rng.choice([*others, self.sample, self.stock])(rng)


def _straight_on(held: InstrumentSet) -> SetState:
    if held.state in WAY_ROUND:
        return WAY_ROUND[(WAY_ROUND.index(held.state) + 1) % len(WAY_ROUND)]
    if held.state is SetState.MISSING_PART and held.came_from is not None:
        return held.came_from
    return {SetState.REWASH: SetState.DISMANTLED, SetState.REPAIR: SetState.RECEIVED}.get(held.state, SetState.REWASH)


def load_plan(load: LoadRecord, sets: tuple[str, ...]) -> PlanLoad:
    ride = {"machine": load.machine, "carrier": load.carrier, "programme": load.programme}
    return PlanLoad.model_validate({"load": load.load, "kind": load.kind, "sets": sets, **ride})
