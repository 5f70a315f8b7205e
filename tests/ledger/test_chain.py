"""An altered byte, a removed or a reordered event is found, and where it is; with an export as with a store."""

from __future__ import annotations

import csv
import json
import runpy
import shutil
import subprocess
import sys
from importlib.resources import files
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import text

from patency.errors import StoreError
from patency.ledger import Entry, export_ledger, open_ledger
from patency.ledger.chain import START, breaks, canonical, digest
from tests.ledger.quay import Desk

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from sqlalchemy import Connection


SCRIPT = files("patency.ledger").joinpath("shipped", "verify_export.py")


def chain(count: int) -> list[Entry]:
    entries, previous = [], START
    for seq in range(1, count + 1):
        body = canonical({"seq": seq, "event": "example", "previous": previous, "what": f"number {seq} µ"})
        previous = digest(body)
        entries.append(Entry(seq, body, previous, (("event", "example"),)))
    return entries


def lines(entries: list[Entry], head: tuple[int, str] | None = None) -> list[str]:
    return [one.line for one in breaks(entries, head)]


def altered(entries: list[Entry], at: int, **changes: object) -> list[Entry]:
    one = entries[at]
    fields = {"seq": one.seq, "body": one.body, "digest": one.digest, "copies": one.copies, **changes}
    return [*entries[:at], Entry(**fields), *entries[at + 1 :]]  # type: ignore[arg-type]


def test_a_whole_chain_holds_and_its_digests_are_those_of_the_standard_library() -> None:
    entries = chain(5)
    assert lines(entries, (3, entries[2].digest)) == []
    assert digest("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"  # FIPS 180-4, example


@given(st.data())
def test_any_altered_letter_of_any_text_is_found_at_its_event(data: st.DataObject) -> None:
    entries = chain(4)
    at = data.draw(st.integers(0, 3))
    body = entries[at].body
    place = data.draw(st.integers(0, len(body) - 1))
    letter = data.draw(st.characters(codec="utf-8").filter(lambda one: one != body[place]))
    told = lines(altered(entries, at, body=body[:place] + letter + body[place + 1 :]))
    beside = "its text was altered; the digest beside it is the one that the next event names"
    assert told[0] == f"event {at + 1}: {beside if at < 3 else 'its text does not give the digest beside it'}"
    assert len(told) <= 2


@given(st.integers(0, 3), st.integers(0, 63))
def test_an_altered_digest_is_told_from_an_altered_text(at: int, place: int) -> None:
    entries = chain(4)
    was = entries[at].digest
    digit = "0" if was[place] != "0" else "1"
    told = lines(altered(entries, at, digest=was[:place] + digit + was[place + 1 :]))
    beside = "the digest beside it was altered; its text is the one that the next event names"
    assert told == [f"event {at + 1}: {beside if at < 3 else 'its text does not give the digest beside it'}"]


def test_an_event_written_anew_with_a_fitting_digest_breaks_the_link_to_the_next() -> None:
    entries = chain(4)
    body = entries[1].body.replace("number 2", "number 9")
    assert lines(altered(entries, 1, body=body, digest=digest(body))) == [
        "event 3: does not follow event 2 as that one stands here"
    ]


@pytest.mark.parametrize("gone", [[0], [1], [2], [1, 2], [0, 1, 2]])
def test_removed_events_are_named(gone: list[int]) -> None:
    left = [one for at, one in enumerate(chain(5)) if at not in gone]
    first, last = gone[0] + 1, gone[-1] + 1
    words = f"event {first} is" if first == last else f"events {first} to {last} are"
    assert f"event {last + 1}: {words} missing before it" in lines(left)


def test_events_cut_off_at_the_end_show_against_a_head_known_from_elsewhere() -> None:
    entries = chain(5)
    assert lines(entries[:3]) == []
    assert lines(entries[:3], (5, entries[4].digest)) == ["event 5: is missing; the chain ends with event 3"]
    assert lines([], (1, "0")) == ["event 1: is missing; the chain ends with event 0"]


def test_a_chain_written_anew_shows_against_a_head_known_from_elsewhere() -> None:
    entries = chain(5)
    assert lines(entries, (3, "f" * 64)) == ["event 3: has another digest than the one known from elsewhere"]


@pytest.mark.parametrize("at", [0, 1, 2])
def test_reordered_events_are_found(at: int) -> None:
    entries = chain(4)
    swapped = [*entries[:at], entries[at + 1], entries[at], *entries[at + 2 :]]
    assert lines(swapped) != []
    numbered = [Entry(seq, one.body, one.digest) for seq, one in enumerate(swapped, 1)]
    assert f"event {at + 1}: its text says that it is event {at + 2}" in lines(numbered)


def test_a_copy_beside_the_text_that_says_otherwise_is_found() -> None:
    told = lines(altered(chain(3), 1, copies=(("event", "other"),)))
    assert told == ["event 2: event beside it says 'other', its text says 'example'"]


# --- in a store ------------------------------------------------------------------------------------------------------


def tamper(desk: Desk, *statements: str) -> None:
    """Change a store behind the ledger's back, as somebody with the database in their hands could."""
    store = desk.ledger.store
    with store.writing() as connection:
        _open_the_lock(connection)
        for statement in statements:
            connection.execute(text(statement))


def _open_the_lock(connection: Connection) -> None:
    if connection.dialect.name == "sqlite":
        connection.execute(text("DROP TRIGGER IF EXISTS events_no_update"))
        connection.execute(text("DROP TRIGGER IF EXISTS events_no_delete"))
    else:
        connection.execute(text("ALTER TABLE events DISABLE TRIGGER USER"))


@pytest.mark.parametrize("statement", ["UPDATE events SET body = '{}' WHERE seq = 3", "DELETE FROM events"])
def test_a_store_refuses_to_change_or_remove_an_event(desk: Desk, statement: str) -> None:
    with pytest.raises(StoreError, match="the ledger only appends"), desk.ledger.store.writing() as connection:
        connection.execute(text(statement))
    assert desk.ledger.verify() == []


@pytest.mark.parametrize(
    ("statement", "told"),
    [
        ("UPDATE events SET body = replace(body, 'Heron', 'Heroñ') WHERE seq = 17", "event 17: its text was altered"),
        ("UPDATE events SET digest = replace(digest, 'a', 'b') WHERE seq = 20", "event 20: the digest beside it was"),
        ("UPDATE events SET event = 'set moved' WHERE seq = 2", "event 2: event beside it says 'set moved'"),
        ("UPDATE events SET command = 'x' WHERE seq = 2", "event 2: command beside it says 'x'"),
        ("DELETE FROM events WHERE seq = 7", "event 8: event 7 is missing before it"),
        ("UPDATE events SET seq = 1000 WHERE seq = 7", "event 8: event 7 is missing before it"),
    ],
)
def test_what_was_changed_in_a_store_is_found_where_it_is(desk: Desk, statement: str, told: str) -> None:
    tamper(desk, statement)
    assert desk.ledger.verify()[0].line.startswith(told)


def test_two_events_that_changed_places_in_a_store_are_both_found(desk: Desk) -> None:
    swap = "UPDATE events SET seq = {} WHERE seq = {}"
    tamper(desk, swap.format(-1, 7), swap.format(7, 8), swap.format(8, -1))
    assert [one.seq for one in desk.ledger.verify()][:2] == [7, 8]


def test_any_altered_byte_of_the_events_in_the_file_is_found(quick: Desk, tmp_path: Path) -> None:
    quick.ledger.close()
    path = tmp_path / "ledger.sqlite"
    whole = path.read_bytes()
    body = quick.ledger.story("set", "Heron")[0]
    quick.ledger.close()
    begin = whole.index(canonical(body).encode())
    for place in range(begin, begin + len(canonical(body).encode()), 37):
        path.write_bytes(whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :])
        ledger = open_ledger(str(path))
        assert [one.seq for one in ledger.verify()] == [body["seq"]]
        ledger.close()


# --- an export -------------------------------------------------------------------------------------------------------


def checked(folder: Path, *known: str) -> tuple[int, str]:
    """Run the script that lies beside an export, alone: without this package and without its environment."""
    script = [sys.executable, "-I", "-S", str(folder / "verify_export.py"), str(folder), *known]
    result = subprocess.run(script, capture_output=True, text=True, check=False)
    assert result.stderr == ""
    return result.returncode, result.stdout.strip()


@pytest.fixture
def export(desk: Desk, tmp_path: Path) -> Path:
    folder = tmp_path / "export"
    assert export_ledger(desk.ledger, folder) == desk.ledger.count()
    return folder


def test_an_export_is_checked_without_this_package(desk: Desk, export: Path) -> None:
    head = desk.ledger.head()
    assert checked(export) == (0, "the chain of events holds")
    assert checked(export, f"{head.seq}:{head.digest}") == (0, "the chain of events holds")
    code, told = checked(export, f"{head.seq + 1}:{head.digest}")
    assert (code, told) == (1, f"events.jsonl: event {head.seq + 1} is known from elsewhere and not there")
    assert checked(export, "here")[0] == 2


def test_an_export_can_be_read_as_a_table_and_as_json(desk: Desk, export: Path) -> None:
    with (export / "events.csv").open(encoding="utf-8", newline="") as table:
        rows = list(csv.DictReader(table))
    events = [json.loads(line) for line in (export / "events.jsonl").read_text(encoding="utf-8").splitlines()]
    assert len(rows) == len(events) == desk.ledger.count()
    assert rows[-1]["event"] == events[-1]["event"] == "piece enrolled"
    assert rows[-1]["person"] == events[-1]["who"]["person"] == "lead-1"
    assert json.loads(rows[-1]["what"])["piece"] == "Otter seal"


@pytest.mark.parametrize("name", ["events.jsonl", "events.csv", "head.json"])
def test_any_altered_byte_of_an_export_is_found(quick: Desk, tmp_path: Path, name: str) -> None:
    check = runpy.run_path(str(SCRIPT))["check"]
    export_ledger(quick.ledger, tmp_path / "e")
    whole = (tmp_path / "e" / name).read_bytes()
    unseen = []
    for place in range(0, len(whole), 1 if name == "head.json" else 11):
        (tmp_path / "e" / name).write_bytes(whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :])
        if not check(tmp_path / "e"):
            unseen.append(place)
    assert unseen == []


def _without_line(number: int) -> Callable[[list[str]], list[str]]:
    return lambda lines: lines[:number] + lines[number + 1 :]


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (_without_line(4), "events.jsonl line 5: does not follow the line before it"),
        (lambda lines: [*lines[:4], lines[5], lines[4], *lines[6:]], "events.jsonl line 5: says that it is event 6"),
        (
            lambda lines: [*lines[:4], lines[4].replace('"part":0', '"part":1'), *lines[5:]],
            "events.csv: the row of event 5",
        ),
        (lambda lines: lines[:-1], "events.csv: has more rows than there are events"),
    ],
)
def test_a_changed_line_of_an_export_is_found_where_it_is(
    export: Path, tmp_path: Path, change: Callable[[list[str]], list[str]], told: str
) -> None:
    copy = tmp_path / "copy"
    shutil.copytree(export, copy)
    lines = (copy / "events.jsonl").read_text(encoding="utf-8").splitlines(keepends=True)
    (copy / "events.jsonl").write_text("".join(change(lines)), encoding="utf-8")
    code, found = checked(copy)
    assert code == 1
    assert told in found
