"""Accounts: what is kept, who is let in, how a wrong try is slowed, when a session locks."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from patency.bench.people import Admission, Turned, admit, open_people, weak_pin
from patency.bench.people.sessions import (
    ENDS_AFTER,
    LOCKS_AFTER,
    end_session,
    find_session,
    lock_session,
    note_acting,
    open_session,
)
from tests.bench.desk import BEGIN

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from patency.bench.people import People


@pytest.fixture
def people(tmp_path: Path) -> Iterator[People]:
    opened = open_people(tmp_path / "people.sqlite")
    opened.add("loader-1", "badge 17", "904617", BEGIN)
    yield opened
    opened.close()


def test_badge_and_pin_belong_together(people: People) -> None:
    assert admit(people, "badge 17", "904617", BEGIN) == Admission("loader-1")
    assert isinstance(admit(people, "badge 17", "904618", BEGIN), Turned)
    assert isinstance(admit(people, "badge 18", "904617", BEGIN), Turned)


def test_neither_badge_nor_pin_nor_token_stands_in_the_file(people: People, tmp_path: Path) -> None:
    token = open_session(people, "loader-1", BEGIN)
    kept = (tmp_path / "people.sqlite").read_bytes()
    assert b"loader-1" in kept
    assert not any(secret in kept for secret in (b"badge 17", b"904617", token.encode()))
    assert b"$argon2id$" in kept
    assert (tmp_path / "people.sqlite").stat().st_mode & 0o077 == 0


def test_wrong_tries_are_slowed_more_and_more_and_the_right_pin_does_not_help_before(people: People) -> None:
    waits, now = [], BEGIN
    for _ in range(6):
        turned = admit(people, "badge 17", "000000", now)
        assert isinstance(turned, Turned)
        waits.append(turned.wait_s)
        now += timedelta(seconds=turned.wait_s)
    assert waits == [0, 0, 5, 10, 20, 40]
    assert isinstance(admit(people, "badge 17", "904617", now - timedelta(seconds=1)), Turned)
    assert admit(people, "badge 17", "904617", now) == Admission("loader-1")
    assert admit(people, "badge 17", "000000", now) == Turned(0.0)


def test_a_session_locks_when_nobody_acts_and_ends_after_a_shift(people: People) -> None:
    token = open_session(people, "loader-1", BEGIN)
    acted = BEGIN + LOCKS_AFTER - timedelta(seconds=1)
    for now, locked in ((acted, False), (acted + LOCKS_AFTER, False), (acted + 3 * LOCKS_AFTER, True)):
        session = find_session(people, token, now)
        assert session is not None
        assert session.locked is locked
        note_acting(people, token, session, now)
    assert find_session(people, token, BEGIN + ENDS_AFTER + timedelta(seconds=1)) is None


def test_to_look_for_a_session_is_not_to_act_in_it(people: People) -> None:
    token = open_session(people, "loader-1", BEGIN)
    for now, locked in ((BEGIN + LOCKS_AFTER, False), (BEGIN + LOCKS_AFTER + timedelta(seconds=1), True)):
        session = find_session(people, token, now)
        assert session is not None
        assert session.locked is locked
    assert session is not None
    note_acting(people, token, session, now)
    again = find_session(people, token, now)
    assert again is not None
    assert again.locked


def test_a_session_is_locked_and_ended_by_hand(people: People) -> None:
    token = open_session(people, "loader-1", BEGIN)
    lock_session(people, token)
    found = find_session(people, token, BEGIN)
    assert found is not None
    assert found.locked
    end_session(people, token)
    assert find_session(people, token, BEGIN) is None


def test_a_new_badge_ends_what_the_old_one_opened(people: People) -> None:
    token = open_session(people, "loader-1", BEGIN)
    assert people.add("loader-1", "badge 19", "730164", BEGIN) is None
    assert find_session(people, token, BEGIN) is None
    assert isinstance(admit(people, "badge 17", "904617", BEGIN), Turned)


def test_a_badge_belongs_to_one_person(people: People) -> None:
    assert people.add("loader-2", "badge 17", "730164", BEGIN) == "this badge belongs to somebody else"
    assert people.persons() == ["loader-1"]


@pytest.mark.parametrize("pin", ["", "12345", "abcdef", "111111", "123456", "987654", "1234567890123"])
def test_a_pin_anybody_would_guess_is_refused(pin: str) -> None:
    assert weak_pin(pin)
