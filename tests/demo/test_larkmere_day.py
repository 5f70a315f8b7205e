"""When each set has to be washed, worked out again from tomorrow's case list."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from tests.demo.larkmere import larkmere

# When a set is needed in the theatre store; tomorrow is 13 May.
NEEDED = {
    "Appendix": datetime.fromisoformat("2026-05-12T20:00"),
    "Gallbladder One": datetime.fromisoformat("2026-05-13T07:15"),
    "Gallbladder Two": datetime.fromisoformat("2026-05-13T09:00"),
    "Pelvis One": datetime.fromisoformat("2026-05-13T07:30"),
    "Little Otter": datetime.fromisoformat("2026-05-13T07:30"),
    "Knee Scope": datetime.fromisoformat("2026-05-13T07:45"),
    "Pelvis Two": datetime.fromisoformat("2026-05-13T09:30"),
    "Long Colon": datetime.fromisoformat("2026-05-13T10:00"),
    "Shoulder Scope": datetime.fromisoformat("2026-05-13T10:30"),
    "Groin Repair": datetime.fromisoformat("2026-05-13T11:45"),
}
STEAM, COOL, RELEASE = timedelta(minutes=58), timedelta(minutes=30), timedelta(minutes=5)
EVENING_ENDS = datetime.fromisoformat("2026-05-12T21:30")
MORNING_STARTS = datetime.fromisoformat("2026-05-13T06:00")
FIRST_STEAM = datetime.fromisoformat("2026-05-13T06:45")


def latest_wash(name: str) -> datetime:
    clean_side_s = larkmere().sets[name].clean_side_s
    assert clean_side_s is not None
    packing = timedelta(seconds=clean_side_s)
    if NEEDED[name] <= EVENING_ENDS:
        return NEEDED[name] - RELEASE - COOL - STEAM - packing
    if NEEDED[name] < FIRST_STEAM + STEAM + COOL + RELEASE:
        return EVENING_ENDS - STEAM - packing
    return EVENING_ENDS


@pytest.mark.parametrize("name", NEEDED)
def test_a_set_is_washed_by_the_time_its_case_asks_for(name: str) -> None:
    day = larkmere().day
    assert day is not None
    waiting = {each.set: each for each in day.waiting}
    assert waiting[name].washed_by == latest_wash(name)


@pytest.mark.parametrize("name", ["Gallbladder Two", "Pelvis Two", "Long Colon", "Shoulder Scope", "Groin Repair"])
def test_a_set_washed_at_the_end_of_the_shift_is_still_in_time_for_its_case(name: str) -> None:
    clean_side_s = larkmere().sets[name].clean_side_s
    assert clean_side_s is not None
    packed = max(FIRST_STEAM, MORNING_STARTS + timedelta(seconds=clean_side_s))
    assert latest_wash(name) == EVENING_ENDS
    assert packed + STEAM + COOL + RELEASE <= NEEDED[name]


def test_the_visiting_set_has_no_time_because_nothing_of_it_may_move() -> None:
    day = larkmere().day
    assert day is not None
    assert [each.set for each in day.waiting if each.washed_by is None] == ["Visiting Wrist"]
