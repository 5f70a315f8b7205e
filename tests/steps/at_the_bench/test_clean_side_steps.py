"""The clean side takes a set on by hand, tests its pieces, and issues it to a case without a name."""

from __future__ import annotations

from datetime import timedelta

import pytest

from patency.ledger import EndLoad, Refused, ReleaseLoad, Result, SetState, open_ledger
from patency.steps import (
    OnCleanSide,
    all_seen,
    assemble_set,
    inspect_set,
    issue_set,
    load_sterilizer,
    next_steam_load,
    note_test,
    pack_set,
    piece_tests,
    receive_set,
    show_clean_side,
    steam_choice,
    steam_load_name,
    store_set,
    use_set,
)
from tests.steps.at_the_bench.bench import Hands, done, refusal

MET = Result(format="patency-evidence/1", verdict="met")
S = SetState


def released(hands: Hands) -> Hands:
    """Let the first load of the day be released for both its sets."""
    hands.ready("Gallbladder One", "Gallbladder Two")
    hands.load_all("L1")
    hands.run("L1")
    hands.looked("L1")
    names = ("Gallbladder One", "Gallbladder Two")
    write(hands, ReleaseLoad(load="L1", sets=names, evidence=MET), "releaser-1")
    return hands


def write(hands: Hands, command: ReleaseLoad | EndLoad, who: str) -> None:
    outcome = hands.ledger.append(command, hands.around(who))
    assert not isinstance(outcome, Refused), outcome.text


@pytest.fixture(scope="module")
def released_place(begun_day: str, tmp_path_factory: pytest.TempPathFactory) -> str:
    """Write the way up to the release of the wash load down once."""
    import shutil

    place = str(tmp_path_factory.mktemp("released") / "ledger.sqlite")
    shutil.copy(begun_day, place)
    hands = released(Hands(open_ledger(place)))
    hands.ledger.close()
    return place


@pytest.fixture
def clean(released_place: str, hands: Hands) -> Hands:
    """Open a copy of it."""
    import shutil

    place = hands.ledger.store.name
    hands.ledger.close()
    shutil.copy(released_place, place)
    again = Hands(open_ledger(place))
    again.at, again.number = again.at + timedelta(hours=2), 9_000
    return again


def by_hand(hands: Hands, name: str) -> OnCleanSide:
    """Inspect, assemble and pack a set."""
    for step in (inspect_set, assemble_set, pack_set):
        shown = done(step(hands.work, name, all_seen(hands.set_now(name)), hands.around("assembler-1")))
    return shown


def test_a_set_goes_from_the_wash_to_the_next_use(clean: Hands) -> None:
    name = "Gallbladder One"
    assert done(show_clean_side(clean.work, name)).next_by_hand is S.INSPECTED
    packed = by_hand(clean, name)
    assert packed.state is S.PACKED
    assert packed.expires == clean.at + timedelta(days=180)
    rack = ("rack", "North", "wrapped_134")
    around = clean.around("assembler-1")
    (in_steam,) = done(load_sterilizer(clean.work, "steam-1", rack, [name], around))
    assert in_steam.state is S.STEAM_LOADED
    assert done(load_sterilizer(clean.work, "steam-1", rack, [name], around)) == (in_steam,)
    write(clean, EndLoad(load="steam-1", completed=True), "assembler-1")
    assert "is steam-run and cannot become" in refusal(store_set(clean.work, name, clean.around("assembler-1")))
    write(clean, ReleaseLoad(load="steam-1", sets=(name,), evidence=MET), "releaser-1")
    assert done(store_set(clean.work, name, clean.around("assembler-1"))).next_by_hand is S.ISSUED
    assert "is no key of a case" in refusal(issue_set(clean.work, name, "Mrs Example", clean.around("assembler-1")))
    issued = done(issue_set(clean.work, name, "case-0513-1", clean.around("assembler-1")))
    assert issued.case == "case-0513-1"
    used = clean.around("coordinator-1")
    assert done(use_set(clean.work, name, used)).state is S.IN_USE
    assert done(use_set(clean.work, name, used)).state is S.IN_USE
    assert done(use_set(clean.work, name, clean.around("coordinator-1"))).state is S.USED
    assert "is used" in refusal(use_set(clean.work, name, clean.around("coordinator-1")))
    assert done(receive_set(clean.work, name, clean.around())).case == "case-0513-1"
    assert clean.ledger.verify() == []


def test_loads_of_a_sterilizer_are_numbered_by_machine_and_day(clean: Hands) -> None:
    choice = steam_choice(clean.work)
    assert choice.machines == ("North", "South")
    assert choice.programmes == {"wrapped_134": "wrapped and hollow, 134 °C"}
    today = clean.at.date()
    first = next_steam_load(clean.work, "North", today)
    assert first == steam_load_name("North", today, 1)
    by_hand(clean, "Gallbladder One")
    rack = ("rack", "North", "wrapped_134")
    done(load_sterilizer(clean.work, first, rack, ["Gallbladder One"], clean.around("assembler-1")))
    assert next_steam_load(clean.work, "North", today) == steam_load_name("North", today, 2)
    assert next_steam_load(clean.work, "South", today) == steam_load_name("South", today, 1)


def test_a_piece_that_fails_its_test_is_held_and_its_set_with_it(clean: Hands) -> None:
    name, piece = "Gallbladder Two", "Gallbladder Two/mod5/1/tube"
    around = clean.around("assembler-1")
    assert note_test(clean.work, piece, "insulation", "not met", "nick, distal third", around) is None
    assert note_test(clean.work, piece, "insulation", "not met", "nick, distal third", around) is None
    told = refusal(inspect_set(clean.work, name, all_seen(clean.set_now(name)), clean.around("assembler-1")))
    assert "is held by" in told
    assert [hold.reason for hold in done(show_clean_side(clean.work, name)).holds] == ["insulation: nick, distal third"]
    assert [one["verdict"] for one in piece_tests(clean.work, piece)] == ["not met"]
    by_hand(clean, "Gallbladder One")  # the other set goes on


def test_what_cannot_be_is_refused(clean: Hands) -> None:
    name = "Gallbladder One"
    around = clean.around("assembler-1")
    assert "met or not met" in refusal(note_test(clean.work, f"{name}/optic/1/optic", "haze", "good", "", around))
    assert "is not known" in refusal(note_test(clean.work, "x", "haze", "met", "", around))
    left_over = dict(list(all_seen(clean.set_now(name)).items())[1:])
    told = refusal(inspect_set(clean.work, name, left_over, clean.around("assembler-1")))
    assert "is not seen, last counted" in told
    assert "may not do this" in refusal(inspect_set(clean.work, name, {}, clean.around("loader-1")))
    assert "has no sets" in refusal(load_sterilizer(clean.work, "s", ("r", "North", "p"), [], clean.around()))
    told = refusal(load_sterilizer(clean.work, "s", ("r", "North", "p"), [name], clean.around()))
    assert "no steam programme: 'p'" in told
    assert "one of: wrapped_134" in told
    for step in (inspect_set, assemble_set):
        assert "is not known" in refusal(step(clean.work, "x", {}, clean.around("assembler-1")))


def test_without_a_shelf_life_nothing_is_packed(clean: Hands) -> None:
    limits = clean.work.department.limits
    bare = limits.model_copy(update={"work": type(limits.work)()})
    department = clean.work.department.model_copy(update={"limits": bare})
    work = type(clean.work)(clean.ledger, department, clean.work.plan)
    assert "limits.work.shelf_life: is not stated" in refusal(pack_set(work, "Gallbladder One", {}, clean.around()))
