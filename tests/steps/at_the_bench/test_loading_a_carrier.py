"""One piece at a time: nothing is skipped or doubled, whoever is interrupted; deviations cost what they cost."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from patency.ledger import (
    InstrumentSet,
    Kind,
    LoadRecord,
    MovePiece,
    Place,
    Refused,
    ReleaseLoad,
    Result,
    SetHold,
    SetState,
    Stock,
    Where,
    open_ledger,
)
from patency.steps import (
    Wrong,
    all_seen,
    begin_load,
    choose_way,
    confirm_step,
    count_back,
    dismantle_set,
    end_load,
    eye_check_of,
    note_broken,
    note_off,
    picture_of_type,
    show_before_start,
    show_loading,
    show_stock,
    show_unloading,
    start_load,
    step_of_piece,
    take_over,
    undo_step,
    ways_on,
)
from tests.steps.at_the_bench.bench import Hands, done, refusal

TWO = ("Gallbladder One", "Gallbladder Two")


@pytest.fixture
def open_load(hands: Hands) -> Hands:
    """Take two sets apart and begin their load."""
    hands.ready(*TWO)
    done(begin_load(hands.work, "L1", hands.around()))
    return hands


@pytest.fixture(scope="module")
def loaded_place(begun_day: str, tmp_path_factory: pytest.TempPathFactory) -> str:
    """Write a day down on which the first load stands loaded; once."""
    place = str(tmp_path_factory.mktemp("loaded") / "ledger.sqlite")
    shutil.copy(begun_day, place)
    hands = Hands(open_ledger(place))
    hands.ready(*TWO)
    hands.load_all("L1")
    hands.ledger.close()
    return place


@pytest.fixture
def loaded(loaded_place: str, tmp_path: Path) -> Iterator[Hands]:
    """Open a copy of it."""
    place = str(tmp_path / "loaded.sqlite")
    shutil.copy(loaded_place, place)
    hands = Hands(open_ledger(place))
    hands.at, hands.number = hands.at + timedelta(hours=1), 5_000
    yield hands
    hands.ledger.close()


def test_every_piece_and_every_port_has_one_step(open_load: Hands) -> None:
    shown = done(show_loading(open_load.work, "L1"))
    pieces = [piece for step in shown.steps for piece in step.pieces]
    assert sorted(pieces) == sorted((piece.set, piece.piece) for piece in shown.load.pieces)
    capped = {port for step in shown.steps if not step.set_key for port in step.where}
    assert capped == {one.port for one in shown.load.capped_ports}
    assert shown.now == shown.steps[0]
    assert shown.now.where == ("H1",)
    assert picture_of_type(open_load.work.department, shown.now.picture_type).startswith("<svg")


def test_interrupted_after_every_step_nothing_is_skipped_or_doubled(open_load: Hands) -> None:
    place, number = open_load.ledger.store.name, 0
    confirmed = []
    while True:
        # Each time the program is begun anew: what it knows it has from the ledger.
        hands = Hands(open_ledger(place))
        hands.at, hands.number = open_load.at + timedelta(minutes=number), 1000 + 10 * number
        shown = done(show_loading(hands.work, "L1"))
        if shown.now is None:
            break
        around = hands.around()
        confirmed.append(shown.now.key)
        done(confirm_step(hands.work, "L1", shown.now.key, (), around))
        done(confirm_step(hands.work, "L1", shown.now.key, (), around))  # the answer was lost and it is sent again
        hands.ledger.close()
        number += 1
    assert confirmed == [step.key for step in shown.steps]
    assert list(shown.done) == confirmed
    for name in TWO:
        assert open_load.set_now(name).state is SetState.LOADED
    hands.ledger.close()


def test_a_piece_scanned_out_of_turn_lights_its_own_port_and_counts_as_scanned(open_load: Hands) -> None:
    piece = "Gallbladder One/clip10/1/instrument"
    step = step_of_piece(open_load.work, "L1", piece)
    assert isinstance(step, str)
    assert done(show_loading(open_load.work, "L1", step)).now is not None
    done(confirm_step(open_load.work, "L1", step, [piece], open_load.around()))
    open_load.load_all("L1")
    found = open_load.set_now("Gallbladder One")
    assert piece in found.scanned
    assert "lies in set Appendix" in refusal(step_of_piece(open_load.work, "L1", "Appendix/mod5/1/tube"))
    assert "is not known" in refusal(step_of_piece(open_load.work, "L1", "nothing"))


def test_nothing_is_undone_where_nothing_was_done(open_load: Hands) -> None:
    assert "nothing to undo" in refusal(undo_step(open_load.work, "L1", open_load.around()))


def test_undo_opens_the_last_step_and_takes_the_set_out_again(loaded: Hands) -> None:
    assert all(loaded.set_now(name).state is SetState.LOADED for name in TWO)
    while any(loaded.set_now(name).state is SetState.LOADED for name in TWO):
        around = loaded.around()
        done(undo_step(loaded.work, "L1", around))
        shown = done(undo_step(loaded.work, "L1", around))
    assert len(shown.done) > 20  # each was undone once, not twice
    loaded.load_all("L1")
    assert all(loaded.set_now(name).state is SetState.LOADED for name in TWO)


def test_another_person_takes_the_load_over_before_going_on(open_load: Hands) -> None:
    open_load.load_all("L1", stop_after=3)
    shown = done(show_loading(open_load.work, "L1"))
    assert shown.now is not None
    step = shown.now.key
    told = refusal(confirm_step(open_load.work, "L1", step, (), open_load.around("lead-2")))
    assert "is loaded by loader-1" in told
    done(take_over(open_load.work, "L1", open_load.around("lead-2")))
    assert done(confirm_step(open_load.work, "L1", step, (), open_load.around("lead-2"))).person == "lead-2"


def test_who_was_not_observed_with_a_family_does_not_confirm_its_pieces(hands: Hands) -> None:
    hands.ready("Knee Scope", "Little Otter", "Groin Repair")
    done(begin_load(hands.work, "D1", hands.around("loader-2")))
    step = step_of_piece(hands.work, "D1", "Little Otter/fix3/1/instrument")
    assert isinstance(step, str)
    told = refusal(confirm_step(hands.work, "D1", step, (), hands.around("loader-2")))
    assert "has not shown to be able to work with paediatric instrument" in told
    done(confirm_step(hands.work, "D1", step, (), hands.around("loader-2", second="loader-1")))


def test_a_held_set_is_neither_begun_nor_confirmed_nor_started(open_load: Hands) -> None:
    open_load.load_all("L1")
    done(undo_step(open_load.work, "L1", open_load.around()))
    hold = SetHold(hold="h-1", scope=Kind.SET, key="Gallbladder One", reason="prion risk")
    assert not isinstance(open_load.ledger.append(hold, open_load.around()), Refused)
    piece = done(show_loading(open_load.work, "L1")).steps[-1]
    done(confirm_step(open_load.work, "L1", piece.key, (), open_load.around()))
    before = done(show_before_start(open_load.work, "L1"))
    scans = (before.carrier, before.machine, before.programme)
    told = refusal(start_load(open_load.work, "L1", scans, before.checks, open_load.around()))
    assert "is held by h-1" in told
    visiting = open_load.work.plan.loads[0].model_copy(update={"id": "L9", "sets": ("Visiting Wrist",)})
    plan = open_load.work.plan.model_copy(update={"loads": (visiting,)})
    work = type(open_load.work)(open_load.ledger, open_load.work.department, plan)
    assert "is held by" in refusal(begin_load(work, "L9", open_load.around()))


def test_confirming_a_piece_of_a_held_set_is_refused(open_load: Hands) -> None:
    hold = SetHold(hold="h-1", scope=Kind.TYPE, key="mod5/tube", reason="recalled by its maker")
    open_load.ledger.append(hold, open_load.around())
    step = step_of_piece(open_load.work, "L1", "Gallbladder One/mod5/1/tube")
    assert isinstance(step, str)
    assert "recalled by its maker" in refusal(confirm_step(open_load.work, "L1", step, (), open_load.around()))


def test_a_spare_of_the_same_type_takes_the_place_of_a_piece(hands: Hands) -> None:
    from patency.ledger import EnrolPiece

    hands.ready("Gallbladder One")
    gone, spare = "Gallbladder One/mod5/1/tube", "spare tube 1"
    shelf, box = Place(where=Where.SPARE, key="shelf"), Place(where=Where.SET, key="Gallbladder One")
    for command in (
        MovePiece(piece=gone, from_place=box, to=shelf, why="nick"),
        EnrolPiece(piece=spare, type_key="mod5/tube", mark="SP-1", place=shelf),
        MovePiece(piece=spare, from_place=shelf, to=box, scanned=True, why="spare"),
    ):
        outcome = hands.ledger.append(command, hands.around())
        assert not isinstance(outcome, Refused), outcome.text
    assert step_of_piece(hands.work, "L1", spare) == gone


def test_what_is_wrong_is_told(open_load: Hands) -> None:
    step = done(show_loading(open_load.work, "L1")).steps[0]
    stranger = ["Gallbladder One/optic/1/optic"]
    assert "does not belong to this step" in refusal(
        confirm_step(open_load.work, "L1", step.key, stranger, open_load.around())
    )
    assert "is none of load L1" in refusal(confirm_step(open_load.work, "L1", "x", (), open_load.around()))
    assert "is not planned" in refusal(show_loading(open_load.work, "L7"))
    assert "was not begun" in refusal(
        confirm_step(open_load.work, "L2", _first(open_load, "L2"), (), open_load.around())
    )


def _first(hands: Hands, load: str) -> str:
    return done(show_loading(hands.work, load)).steps[0].key


def test_a_blocked_port_gets_another_one_and_the_piece_is_confirmed_again(open_load: Hands) -> None:
    shown = done(show_loading(open_load.work, "L1"))
    port = next(step.where[0] for step in shown.steps if step.name.startswith("shaft tube"))
    ways = done(ways_on(open_load.work, "L1", Wrong.PORT_BLOCKED, port))
    assert ways.ways
    way = ways.ways[0]
    assert not way.needs_lead
    assert "has no reason" in refusal(choose_way(open_load.work, ways, way.key, " ", open_load.around()))
    assert "was not offered" in refusal(choose_way(open_load.work, ways, "x", "why", open_load.around()))
    around = open_load.around()
    after = done(choose_way(open_load.work, ways, way.key, "nothing comes out", around))
    assert port not in {one.port for piece in after.load.pieces for one in piece.lumens}
    ports = [one.port for piece in after.load.pieces for one in piece.lumens]
    assert len(set(ports)) == len(ports) == 31
    assert [one.wrong for one in after.deviations] == [f"port blocked at {port}"]
    head = open_load.ledger.head()
    done(choose_way(open_load.work, ways, way.key, "nothing comes out", around))
    assert open_load.ledger.head() == head
    assert open_load.load_all("L1").complete


def test_a_torn_sleeve_is_replaced_from_the_shelf_and_written_off(open_load: Hands) -> None:
    shown = done(show_loading(open_load.work, "L1"))
    port = next(step.where[0] for step in shown.steps if any("flushing sleeve" in line for line in step.connect))
    before = open_load.ledger.find(Stock, "flushing_sleeve_m")
    ways = done(ways_on(open_load.work, "L1", Wrong.SLEEVE_TORN, port))
    assert ways.ways[0].key == "same"
    assert ways.ways[0].costs == ()
    done(choose_way(open_load.work, ways, "same", "torn at the neck", open_load.around()))
    after = open_load.ledger.find(Stock, "flushing_sleeve_m")
    assert before is not None
    assert after is not None
    assert after.usable == before.usable - 1


def test_without_a_cap_the_port_with_the_least_harm_is_left_open_by_a_lead(open_load: Hands) -> None:
    stock = open_load.ledger.find(Stock, "taper_cap")
    assert stock is not None
    assert stock.free == 1
    done(note_broken(open_load.work, "taper_cap", 1, "cracked", open_load.around()))
    ways = done(ways_on(open_load.work, "L1", Wrong.CAP_MISSING, "T1"))
    (way,) = ways.ways
    assert way.needs_lead
    assert "lumens get less" in way.costs[-1]
    told = refusal(choose_way(open_load.work, ways, "open", "no cap left", open_load.around()))
    assert "a person permitted as lead" in told
    done(choose_way(open_load.work, ways, "open", "no cap left", open_load.around(second="lead-1")))
    assert done(show_loading(open_load.work, "L1")).load.open_ports == ("T1",)


def test_the_start_asks_for_every_step_every_look_and_what_was_planned(open_load: Hands) -> None:
    before = done(show_before_start(open_load.work, "L1"))
    scans = (before.carrier, before.machine, before.programme)
    told = refusal(start_load(open_load.work, "L1", scans, before.checks, open_load.around()))
    assert "steps are not confirmed" in told
    open_load.load_all("L1")
    for missed in range(len(before.checks)):
        checks = [check for place, check in enumerate(before.checks) if place != missed]
        assert "nobody looked" in refusal(start_load(open_load.work, "L1", scans, checks, open_load.around()))
    for place, wrong in enumerate(("Dunlin", "Birch", "intensive_lumen")):
        carrier, machine, programme = (wrong if n == place else scan for n, scan in enumerate(scans))
        mistaken = (carrier, machine, programme)
        told = refusal(start_load(open_load.work, "L1", mistaken, before.checks, open_load.around()))
        assert f"{wrong} was scanned" in told
    assert done(start_load(open_load.work, "L1", scans, before.checks, open_load.around())).started
    first = done(show_loading(open_load.work, "L1")).steps[0].key
    assert done(confirm_step(open_load.work, "L1", first, (), open_load.around())).started
    assert "nothing to undo" in refusal(undo_step(open_load.work, "L1", open_load.around()))


def test_what_was_off_sends_its_set_back_alone_and_its_lumen_counts_as_not_fed(loaded: Hands) -> None:
    loaded.run("L1")
    shown = done(show_unloading(loaded.work, "L1"))
    assert shown.ports[0].first
    assert eye_check_of(loaded.work, "L1") is None
    first, second, *_ = (one.port for one in shown.ports if one.set_key == "Gallbladder Two")
    after = done(note_off(loaded.work, "L1", first, loaded.around("assembler-1")))
    assert (after.back, after.held) == (("Gallbladder Two",), ())
    assert loaded.set_now("Gallbladder Two").state is SetState.REWASH
    assert loaded.set_now("Gallbladder One").state is SetState.WASHED
    assert "written down before" in refusal(note_off(loaded.work, "L1", first, loaded.around("assembler-1")))
    assert "nothing was connected" in refusal(note_off(loaded.work, "L1", "X9", loaded.around("assembler-1")))
    loaded.looked("L1")
    check = eye_check_of(loaded.work, "L1")
    assert check is not None
    assert check.seen.value == "something off"
    again = done(note_off(loaded.work, "L1", second, loaded.around("assembler-1")))
    assert not again.looked  # everything is looked at once more after what was off last
    moves = [one["what"] for one in loaded.ledger.story("set", "Gallbladder Two") if one["event"] == "set moved"]
    assert [one["to"] for one in moves].count("rewash") == 1
    assert moves[-1]["why"].startswith(f"off at {first} of load L1: ")
    assert not loaded.ledger.holds(Kind.SET, "Gallbladder Two")
    done(dismantle_set(loaded.work, "Gallbladder Two", all_seen(loaded.set_now("Gallbladder Two")), loaded.around()))


def test_what_was_off_and_went_on_already_is_held_with_those_that_went_on_unfed(
    loaded: Hands, monkeypatch: pytest.MonkeyPatch
) -> None:
    loaded.run("L1")
    loaded.looked("L1")
    met = Result(format="patency-evidence/1", verdict="met")
    released = ReleaseLoad(load="L1", sets=("Gallbladder One", "Gallbladder Two"), evidence=met)
    assert not isinstance(loaded.ledger.append(released, loaded.around("releaser-1")), Refused)
    look = next(one for one in done(show_unloading(loaded.work, "L1")).ports if one.set_key == "Gallbladder Two")
    after = done(note_off(loaded.work, "L1", look.port, loaded.around("assembler-1")))
    assert after.held == ("Gallbladder Two",)  # one hose takes too little from the others
    assert loaded.set_now("Gallbladder Two").state is SetState.WASH_RELEASED
    (hold,) = loaded.ledger.holds(Kind.SET, "Gallbladder Two")
    assert f"off at {look.port} of load L1" in hold.reason
    more = next(one for one in done(show_unloading(loaded.work, "L1")).ports if not one.off)
    monkeypatch.setattr("patency.flow.faults.found_off._MOST_OFF", 1)  # what is not computed counts as unfed
    done(note_off(loaded.work, "L1", more.port, loaded.around("assembler-1")))
    assert set(done(show_unloading(loaded.work, "L1")).held) == {"Gallbladder One", "Gallbladder Two"}


def test_nothing_off_is_what_the_release_wants_to_hear(loaded: Hands) -> None:
    loaded.run("L1")
    loaded.looked("L1")
    check = eye_check_of(loaded.work, "L1")
    assert check is not None
    assert check.seen.value == "every hose and sleeve in place"


def test_accessories_are_counted_back(loaded: Hands) -> None:
    loaded.run("L1")
    had = done(show_unloading(loaded.work, "L1")).taken
    assert had["flushing_sleeve_m"] == 10
    short = {**had, "flushing_sleeve_m": 9}
    assert "did not come back" in refusal(count_back(loaded.work, "L1", short, "", loaded.around("assembler-1")))
    assert done(count_back(loaded.work, "L1", short, "torn", loaded.around("assembler-1"))).taken == {}
    line = next(one for one in show_stock(loaded.work).lines if one.accessory == "flushing_sleeve_m")
    assert (line.usable, line.free, line.out) == (11, 11, {})


def test_two_cracked_caps_leave_eight_and_the_plan_says_whether_it_holds(hands: Hands) -> None:
    shown = done(note_broken(hands.work, "hose_cap", 2, "cracked", hands.around()))
    line = next(one for one in shown.lines if one.accessory == "hose_cap")
    assert line.usable == 8
    assert not [one for one in shown.shortages if one.accessory == "hose_cap"]
    fewer = done(note_broken(hands.work, "hose_cap", 3, "cracked", hands.around()))
    (short,) = [one for one in fewer.shortages if (one.accessory, one.load_id) == ("hose_cap", "L1")]
    needs = [sum(one.cap == "hose_cap" for one in load.capped_ports) for load in hands.work.plan.loads]
    # The four loads of the test stand at one time: each needs its caps beside the others'.
    assert (short.needs, short.there) == (needs[0], 5 - sum(needs[1:]))
    assert not fewer.plan_holds
    assert "9 of 5" in refusal(note_broken(hands.work, "hose_cap", 9, "cracked", hands.around()))
    assert "has no reason" in refusal(note_broken(hands.work, "hose_cap", 1, "", hands.around()))


def test_a_load_that_was_aborted_is_unloaded_as_unfinished(loaded: Hands) -> None:
    before = done(show_before_start(loaded.work, "L1"))
    scans = (before.carrier, before.machine, before.programme)
    done(start_load(loaded.work, "L1", scans, before.checks, loaded.around()))
    done(end_load(loaded.work, "L1", completed=False, around=loaded.around()))
    record = loaded.ledger.find(LoadRecord, "L1")
    assert record is not None
    assert record.state == "aborted"
    assert loaded.ledger.find(InstrumentSet, "Gallbladder One") is not None
