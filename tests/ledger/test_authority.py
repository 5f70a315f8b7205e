"""Nobody writes what they are not permitted to; everybody confirms in person; two means two."""

from __future__ import annotations

from datetime import date

import pytest
from pydantic import ValidationError

from patency.ledger import (
    CorrectMove,
    EnrolMachine,
    EnrolPiece,
    GrantOverride,
    Kind,
    LiftHold,
    LoadKind,
    MovePiece,
    MoveSet,
    PermitPerson,
    Place,
    ReleaseLoad,
    Role,
    SetHold,
    SetState,
    TestMachine,
    Where,
    Who,
)
from tests.ledger.quay import MET, PEOPLE, Desk

S = SetState


def test_the_first_event_is_the_administrator_who_permits_themself(empty: Desk) -> None:
    other = PermitPerson(person="lead-1", roles={Role.LEAD: None})
    assert "begins the ledger" in empty.refusal(other, "lead-1")
    empty.do(PermitPerson(person="admin-1", roles={Role.ADMINISTRATOR: None}), "admin-1")
    assert "person lead-1: is not known" in empty.refusal(other, "lead-1")
    empty.do(other, "admin-1")


@pytest.mark.parametrize(
    ("command", "may"),
    [
        (PermitPerson(person="new-1", roles={Role.LOADER: None}), {"admin-1"}),
        (EnrolMachine(machine="Cedar", kind=LoadKind.WASH), {"engineer-1", "lead-1", "lead-2"}),
        (
            TestMachine(machine="Alder", test="daily", passed=True),
            {"engineer-1", "lead-1", "lead-2", "loader-1", "assembler-1"},
        ),
        (
            EnrolPiece(piece="new", type_key="seal", place=Place(where=Where.SPARE, key="shelf")),
            {"lead-1", "lead-2", "loader-1", "assembler-1"},
        ),
        (SetHold(hold="h-1", scope=Kind.SET, key="Heron", reason="implant"), set(PEOPLE) - {"auditor-1"}),
        (
            MovePiece(
                piece="Heron seal",
                from_place=Place(where=Where.SET, key="Heron"),
                to=Place(where=Where.RETIRED, key="scrap"),
                why="torn",
            ),
            {"lead-1", "lead-2"},
        ),
        (MoveSet(set_key="Heron", to=S.QUARANTINE, why="doubt"), set(PEOPLE) - {"auditor-1", "admin-1", "engineer-1"}),
    ],
    ids=lambda value: getattr(value, "do", ""),
)
@pytest.mark.parametrize("person", list(PEOPLE))
def test_a_command_is_taken_from_those_who_may_and_from_nobody_else(
    quick: Desk, command: MoveSet, may: set[str], person: str
) -> None:
    if person in may:
        quick.do(command, person)
    else:
        assert f"person {person}: is permitted as" in quick.refusal(command, person)


def test_an_override_needs_a_lead_and_a_time_to_come(quick: Desk) -> None:
    until = quick.at.replace(hour=23)
    override = GrantOverride(override="o-1", set_key="Heron", reason="spare ordered", until=until, compensation="count")
    assert "a person permitted as lead" in quick.refusal(override, "releaser-1")
    quick.at = until
    assert "ends before it begins" in quick.refusal(override)
    for field in ("reason", "compensation"):
        with pytest.raises(ValidationError):
            GrantOverride.model_validate({**override.model_dump(), field: " "})


def test_a_permission_ends_with_its_day(quick: Desk) -> None:
    quick.do(PermitPerson(person="loader-2", roles={Role.LOADER: date(2026, 5, 12)}), "admin-1")
    aside = MoveSet(set_key="Heron", to=S.QUARANTINE, why="doubt")
    quick.at = quick.at.replace(day=13)
    assert "was permitted as loader until 2026-05-12" in quick.refusal(aside, "loader-2")


def test_two_people_are_two_different_people(quick: Desk) -> None:
    quick.do(SetHold(hold="h-1", scope=Kind.SET, key="Heron", reason="prion risk"), "loader-1")
    lift = LiftHold(hold="h-1", why="cleared by infection control")
    assert "confirms alone" in quick.refusal(lift, "lead-1")
    assert "confirms twice" in quick.refusal(lift, "lead-1", "lead-1")
    assert "person loader-1: is permitted as loader" in quick.refusal(lift, "lead-1", "loader-1")
    quick.do(lift, "lead-1", "lead-2")
    assert "hold h-1: is not in force" in quick.refusal(lift, "lead-1", "lead-2")


def test_only_a_releaser_releases_and_only_on_evidence_that_is_met(quick: Desk) -> None:
    from patency.ledger import EndLoad

    for name in ("Heron", "Otter"):
        quick.move(name, S.DISMANTLED)
    quick.start("w1", "Alder", ["Heron", "Otter"])
    release = ReleaseLoad(load="w1", sets=("Heron", "Otter"), evidence=MET)
    assert "does not wait for load w1" in quick.refusal(release)
    quick.do(EndLoad(load="w1", completed=True))
    assert "a person permitted as releaser" in quick.refusal(release, "lead-1")
    for verdict in ("not met", "not evaluated"):
        doubtful = MET.model_copy(update={"verdict": verdict})
        assert f"evidence is {verdict}" in quick.refusal(release.model_copy(update={"evidence": doubtful}))
    quick.do(release)


@pytest.mark.parametrize("key", ["Anna Smith", "Smith", "", "Jürgen-1", "a" * 40 + "1"])
def test_a_name_is_no_key_of_a_person_or_a_case(key: str) -> None:
    with pytest.raises(ValidationError):
        MoveSet(set_key="Heron", to=S.ISSUED, case=key)
    with pytest.raises(ValidationError):
        Who.model_validate({"person": key, "confirmed": "badge"})


def test_a_correction_points_to_what_it_takes_back_and_needs_the_same_authority(desk: Desk) -> None:
    wrong = desk.move("Heron", S.DISMANTLED)
    back = CorrectMove(set_key="Heron", corrects=wrong, why="wrong set scanned")
    assert "a person permitted as lead or loader" in desk.refusal(back, "assembler-1")
    assert f"event {wrong - 1} is not its last transition" in desk.refusal(
        back.model_copy(update={"corrects": wrong - 1})
    )
    desk.do(back, "loader-1")
    event = desk.ledger.story("set", "Heron")[-1]
    assert event["event"] == "move corrected"
    assert event["what"]["corrects"] == wrong
    assert [one["seq"] for one in desk.ledger.story("set", "Heron") if one["seq"] == wrong] == [wrong]
    assert "is not its last transition" in desk.refusal(back)


def test_no_correction_undoes_a_decision_a_run_or_a_use(quick: Desk) -> None:
    quick.wash("w1", ["Heron", "Otter"])
    last = quick.ledger.story("set", "Heron")[-1]["seq"]
    assert "cannot be taken back" in quick.refusal(CorrectMove(set_key="Heron", corrects=last, why="sorry"))
    for name in ("Heron", "Otter"):
        quick.do(MoveSet(set_key=name, to=S.REWASH, why="hose was off"))
        quick.move(name, S.DISMANTLED)
    quick.start("w2", "Alder", ["Heron"])
    inside = next(one["seq"] for one in reversed(quick.ledger.story("set", "Heron")) if one["event"] == "set moved")
    assert "has started" in quick.refusal(CorrectMove(set_key="Heron", corrects=inside, why="sorry"))
