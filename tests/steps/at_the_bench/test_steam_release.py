"""A sterilizer load is released on its record, its machine's tests as entered, the look at its packs; on less not."""

from __future__ import annotations

import shutil
import time
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.demo import simulate_steam
from patency.evidence import SterilizerTest
from patency.ledger import (
    EndLoad,
    EnrolMachine,
    InstrumentSet,
    Kind,
    LoadKind,
    MoveSet,
    PlanLoad,
    Refused,
    ReleaseLoad,
    Result,
    SetState,
    StartLoad,
    TestMachine,
    open_ledger,
)
from patency.steps import (
    Decision,
    all_seen,
    end_load,
    last_steam_tests,
    load_sterilizer,
    note_bad_pack,
    note_looked,
    note_steam_test,
    release_load,
    show_decision,
    show_unloading,
    write_all,
)
from tests.steps.at_the_bench.bench import Hands, done, refusal

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from patency.ledger import Command

NAME, S = "Gallbladder One", SetState
MET = Result(format="patency-evidence/1", verdict="met")
TESTS = {"steam-penetration test", "hollow-load test", "air-leakage test"}


class Sterilizing(Hands):
    """Hands with packed sets and a folder of records."""

    folder: Path

    def write(self, command: Command, who: str) -> None:
        outcome = self.ledger.append(command, self.around(who))
        assert not isinstance(outcome, Refused), outcome.text

    def pack(self) -> None:
        """Bring a set from the hand-over to its pack, as other tests do step by step."""
        place = {"machine": "Alder", "carrier": "Lapwing", "programme": "gentle_lumen"}
        planned = {"load": "W", "kind": LoadKind.WASH, "sets": (NAME,), **place}
        self.write(PlanLoad.model_validate(planned), "loader-1")
        for to in (S.RECEIVED, S.DISMANTLED, S.LOADED):
            self.move(to, "loader-1", **({"load": "W"} if to is S.LOADED else {}))
        self.write(StartLoad.model_validate({"load": "W", **place}), "loader-1")
        self.at += timedelta(minutes=66)
        self.write(EndLoad(load="W", completed=True), "assembler-1")
        self.write(ReleaseLoad(load="W", sets=(NAME,), evidence=MET), "releaser-1")
        for to in (S.INSPECTED, S.ASSEMBLED, S.PACKED):
            self.move(to, "assembler-1", **({"expires": self.at + timedelta(days=180)} if to is S.PACKED else {}))

    def move(self, to: SetState, who: str, **more: object) -> None:
        seen = {} if to is S.RECEIVED else {"seen": all_seen(self.set_now(NAME))}
        self.write(MoveSet.model_validate({"set_key": NAME, "to": to, **seen, **more}), who)

    def steam(self, machine: str = "North", load: str = "steam-1") -> str:
        """Run the set through a sterilizer; the record of its cycle is there."""
        around = self.around("assembler-1")
        done(load_sterilizer(self.work, load, ("rack", machine, "wrapped_134"), [NAME], around))
        (key, programme), *_ = self.work.department.steam_programmes.items()
        cycle = simulate_steam(programme, np.random.default_rng(7), key=key, machine=machine)
        files = {f"load-{load}.csv": cycle.record.encode(), f"load-{load}.yaml": cycle.description.encode()}
        write_all(self.folder / "records", files)
        self.at += timedelta(minutes=58)
        done(end_load(self.work, load, completed=True, around=self.around("assembler-1")))
        return load

    def decision(self, load: str, later: timedelta = timedelta(0)) -> Decision:
        found = show_decision(self.work, load, self.folder / "records", (self.at + later).date())
        return done(found)


@pytest.fixture(scope="module")
def packed_place(begun_day: str, tmp_path_factory: pytest.TempPathFactory) -> str:
    """Write the way up to the pack down once."""
    place = str(tmp_path_factory.mktemp("packed") / "ledger.sqlite")
    shutil.copy(begun_day, place)
    hands = Sterilizing(open_ledger(place))
    hands.pack()
    hands.ledger.close()
    return place


@pytest.fixture
def hands(packed_place: str, tmp_path: Path) -> Sterilizing:
    """Open a copy of it."""
    shutil.copy(packed_place, tmp_path / "ledger.sqlite")
    hands = Sterilizing(open_ledger(str(tmp_path / "ledger.sqlite")))
    hands.at, hands.number, hands.folder = hands.at + timedelta(hours=2), 5_000, tmp_path
    return hands


def named(decision: Decision, state: str) -> set[str]:
    assert decision.file is not None
    return {one.name for one in decision.file.criteria if one.state == state}


def test_with_record_tests_and_dry_packs_every_criterion_is_met_and_the_load_is_released(hands: Sterilizing) -> None:
    load = hands.steam()
    assert named(hands.decision(load), "not evaluated") == {"load seen to be dry"}
    assert not hands.decision(load).can_be_released
    assert done(note_looked(hands.work, load, hands.around("assembler-1"))).looked
    decision = hands.decision(load)
    assert (decision.verdict, decision.lacks, decision.against) == ("met", (), ())
    assert TESTS | {"load seen to be dry"} <= named(decision, "met")
    assert decision.can_be_released
    assert release_load(hands.work, decision, hands.around("releaser-1")) is None
    assert hands.set_now(NAME).state is S.STERILE_RELEASED


@pytest.fixture
def berlin(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Set this machine's clock to a zone that is two hours ahead of the ledger's."""
    with monkeypatch.context() as patch:
        patch.setenv("TZ", "Europe/Berlin")
        time.tzset()
        yield
    time.tzset()


@pytest.mark.usefixtures("berlin")
def test_a_record_with_stamps_and_the_ledger_tell_times_in_one_zone_wherever_the_machine_stands(
    hands: Sterilizing,
) -> None:
    load = hands.steam()
    (started,) = hands.ledger.story(Kind.LOAD, load, event="load started")
    began = datetime.fromisoformat(started["at"])
    file = hands.folder / "records" / f"load-{load}.csv"
    head, *rows = file.read_text(encoding="utf-8").splitlines()
    stamped = []
    for row in rows:
        elapsed, _, values = row.partition(",")
        stamped.append(f"{(began + timedelta(seconds=float(elapsed))).isoformat()},{values}")
    file.write_text("\n".join([head, *stamped]) + "\n", encoding="utf-8")
    described = file.with_suffix(".yaml")
    described.write_text(described.read_text(encoding="utf-8").replace("unit: s}", "unit: iso8601}"), encoding="utf-8")
    done(note_looked(hands.work, load, hands.around("assembler-1")))
    decision = hands.decision(load)
    assert (named(decision, "not evaluated"), decision.verdict) == (set(), "met")


def test_without_the_tests_nothing_is_evaluated_and_entered_after_the_cycle_they_do_not_count(
    hands: Sterilizing,
) -> None:
    hands.write(EnrolMachine(machine="West", kind=LoadKind.STEAM), "lead-1")
    due = hands.at + timedelta(days=1)
    hands.write(TestMachine(machine="West", test="daily test", passed=True, due=due), "engineer-1")
    load = hands.steam("West")
    done(note_looked(hands.work, load, hands.around("assembler-1")))
    assert named(hands.decision(load), "not evaluated") == TESTS
    # Entered after the cycle began, none of them counts for it.
    for test, who in zip(SterilizerTest, ("engineer-1", "assembler-1", "lead-1"), strict=True):
        assert note_steam_test(hands.work, "West", test, "met", hands.around(who)) is None
    decision = hands.decision(load)
    assert named(decision, "not evaluated") == TESTS
    assert not decision.can_be_released


def test_a_test_that_nobody_says_how_long_it_counts_is_open(hands: Sterilizing) -> None:
    hands.write(TestMachine(machine="North", test="colour", passed=True), "engineer-1")
    load = hands.steam()
    assert named(hands.decision(load), "not evaluated") == {"load seen to be dry", "test in date"}


def test_a_test_first_done_after_the_cycle_counts_against_it_where_it_failed_though_passed_again(
    hands: Sterilizing,
) -> None:
    load = hands.steam()
    done(note_looked(hands.work, load, hands.around("assembler-1")))
    assert hands.decision(load).can_be_released
    for passed in (False, True):
        due = hands.at + timedelta(days=1)
        hands.write(TestMachine(machine="North", test="colour", passed=passed, due=due), "engineer-1")
    decision = hands.decision(load)
    assert (named(decision, "not met"), decision.can_be_released) == ({"test in date"}, False)


def test_a_test_that_is_not_passed_holds_the_sterilizer_until_two_people_lift_it(hands: Sterilizing) -> None:
    load, around = hands.steam(), hands.around("engineer-1")
    done(note_looked(hands.work, load, hands.around("assembler-1")))
    for _ in range(2):  # a form sent twice is written once
        assert note_steam_test(hands.work, "North", "hollow load", "not met", around) is None
    decision = hands.decision(load)
    assert named(decision, "not met") == {"hollow-load test", "test in date"}
    assert [hold.reason for hold in decision.against] == ["test not passed: hollow load"]
    assert not decision.can_be_released
    told = refusal(release_load(hands.work, decision, hands.around("releaser-1")))
    assert "evidence is not met" in told
    assert "failed its test hollow load" in told
    assert note_steam_test(hands.work, "North", "hollow load", "met", hands.around("engineer-1")) is None
    # Passed again, it counts for later cycles; what ran before it failed stays in doubt.
    again = hands.decision(load)
    assert (again.verdict, again.can_be_released) == ("not met", False)
    assert hands.ledger.holds(Kind.MACHINE, "North")


def test_a_test_counts_for_cycles_of_its_day_and_is_too_old_for_those_of_the_next(hands: Sterilizing) -> None:
    load = hands.steam()
    done(note_looked(hands.work, load, hands.around("assembler-1")))
    # It counted when the cycle began, and on the next day still does for this cycle.
    assert named(hands.decision(load, timedelta(days=1)), "not met") == set()
    shown = last_steam_tests(hands.work, hands.at.date() + timedelta(days=1))
    states = [one.criterion.state for one in shown if one.machine == "North"]
    assert states == ["not met", "not met", "met"]
    assert [(one.until - one.check.at).days for one in shown if one.check and one.until] == [1, 1, 7] * 2


def test_nothing_starts_in_a_sterilizer_whose_tests_are_too_old(hands: Sterilizing) -> None:
    hands.at += timedelta(days=1)
    around = hands.around("assembler-1")
    told = refusal(load_sterilizer(hands.work, "steam-1", ("rack", "North", "wrapped_134"), [NAME], around))
    assert "its test steam penetration was due" in told
    assert "air leakage" not in told


@pytest.mark.parametrize(("fault", "missed"), [("wet", {"load seen to be dry"}), ("damaged", set())])
def test_a_bad_pack_holds_its_set_and_a_wet_one_says_that_the_load_was_not_dry(
    hands: Sterilizing, fault: str, missed: set[str]
) -> None:
    load = hands.steam()
    done(note_bad_pack(hands.work, load, NAME, fault, hands.around("assembler-1")))
    shown = done(note_looked(hands.work, load, hands.around("assembler-1")))
    assert (shown.held, shown.looked) == ((NAME,), True)
    decision = hands.decision(load)
    assert named(decision, "not met") == missed
    assert [hold.reason for hold in decision.against] == [f"pack {fault} after load {load}"]
    assert not decision.can_be_released


def test_what_cannot_be_is_refused(hands: Sterilizing) -> None:
    def told(*facts: str, who: str = "engineer-1") -> str:
        return refusal(note_steam_test(hands.work, *facts, hands.around(who)))  # type: ignore[call-arg,arg-type]

    assert "a sterilizer that was enrolled" in told("Alder", "hollow load", "met")
    assert "has no test 'colour'" in told("North", "colour", "met")
    assert "met or not met" in told("North", "hollow load", "good")
    assert "may not do this" in told("North", "hollow load", "met", who="loader-1")
    load = hands.steam()
    assert not done(show_unloading(hands.work, load)).looked
    assert "wet or damaged" in refusal(note_bad_pack(hands.work, load, NAME, "odd", hands.around("assembler-1")))
    assert isinstance(hands.ledger.find(InstrumentSet, NAME), InstrumentSet)
