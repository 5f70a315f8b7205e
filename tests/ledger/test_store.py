"""Keys do nothing twice, payloads stay as they came, what follows is made again equal, and stores say what is wrong."""

from __future__ import annotations

import json
import sqlite3
import subprocess
import sys
import threading
from pathlib import Path
from typing import TYPE_CHECKING, Any, get_args

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from pydantic import ValidationError
from sqlalchemy import text

import patency.ledger.store as stores
from patency.errors import InputError, InputErrors, StoreError
from patency.ledger import (
    Appended,
    CountSet,
    EnrolPiece,
    InstrumentSet,
    Kind,
    MoveSet,
    NoteResult,
    Piece,
    Place,
    Refused,
    Result,
    Seen,
    SetState,
    Strength,
    Where,
    export_ledger,
    open_ledger,
    read_command,
    rebuild,
)
from patency.ledger.events import Payload
from patency.ledger.identity import strength_of, weakest
from patency.ledger.tables import METADATA
from tests.ledger.quay import MET, Desk

if TYPE_CHECKING:
    from patency.ledger import Ledger

S = SetState
ASIDE = MoveSet(set_key="Heron", to=S.QUARANTINE, why="doubt")


def test_a_command_that_comes_again_does_nothing_again(desk: Desk) -> None:
    first = desk.ask(ASIDE, "loader-1", key="scan-77")
    head = desk.ledger.head()
    again = desk.ask(ASIDE, "loader-1", key="scan-77")
    assert isinstance(first, Appended)
    assert isinstance(again, Appended)
    assert (again.first, again.last, again.head, again.repeated) == (first.first, first.last, first.head, True)
    assert desk.ledger.head() == head


def test_a_key_that_asked_for_something_else_before_is_refused(desk: Desk) -> None:
    desk.do(ASIDE, "loader-1", key="scan-77")
    other = desk.ask(ASIDE.model_copy(update={"set_key": "Otter"}), "loader-1", key="scan-77")
    person = desk.ask(ASIDE, "assembler-1", key="scan-77")
    for refused in (other, person):
        assert isinstance(refused, Refused)
        assert refused.text == "command scan-77: asked for something else before (expected: a key of its own)"


def test_a_refused_command_may_come_again_under_its_key(desk: Desk) -> None:
    stored = MoveSet(set_key="Heron", to=S.STORED)
    assert isinstance(desk.ask(stored, key="scan-78"), Refused)
    desk.do(ASIDE, key="scan-78")


def test_a_key_repeated_inside_one_batch_does_nothing_twice(desk: Desk) -> None:
    around = desk.around("loader-1", key="scan-79")
    before = desk.ledger.count()
    done = desk.ledger.append_all([(ASIDE, around), (ASIDE, around)])
    assert isinstance(done, list)
    assert [one.repeated for one in done] == [False, True]
    assert desk.ledger.count() == before + 1


def test_many_hands_at_once_lose_and_double_nothing(desk: Desk) -> None:
    place = desk.place
    before = desk.ledger.count()
    told: list[Appended | Refused] = []
    notes = [
        NoteResult(about=Kind.SET, key="Heron", result=MET.model_copy(update={"format": f"n/{n}"})) for n in range(24)
    ]
    arounds = [desk.around("loader-1") for _ in notes]

    def hand(start: int) -> None:
        ledger = open_ledger(place)
        # every note is sent by two hands
        told.extend(ledger.append(notes[at], arounds[at]) for at in range(start, len(notes), 2))
        ledger.close()

    hands = [threading.Thread(target=hand, args=(start % 2,)) for start in range(4)]
    for one in hands:
        one.start()
    for one in hands:
        one.join()
    assert all(isinstance(one, Appended) for one in told)
    assert desk.ledger.count() == before + 24
    assert desk.ledger.verify() == []


def test_a_result_is_kept_as_it_came(desk: Desk) -> None:
    data = {"a0_s": {"T1": 3000.125, "tiny": 1e-17}, "criteria": [{"name": "A0 µ", "value": None}], "count": 3}
    desk.do(NoteResult(about=Kind.LOAD, key="w1", result=Result(format="patency-evidence/1", verdict="met", data=data)))
    assert desk.ledger.story("load", "w1")[0]["what"]["result"]["data"] == data


@pytest.mark.parametrize(
    "data", [{"x": float("nan")}, {"x": {1, 2}}, {"x": "\ud800"}, {1: "x"}, {"x": "y" * 1_000_001}, {"x": (1, 2)}]
)
def test_a_payload_that_is_not_plain_is_refused(data: dict[Any, Any]) -> None:
    with pytest.raises(ValidationError):
        Result(format="example/1", verdict="met", data=data)


def test_every_fault_of_a_command_that_came_as_data_is_told() -> None:
    with pytest.raises(InputErrors) as told:
        read_command({"do": "move set", "set_key": " x ", "to": "there", "colour": "red"}, "import line 7")
    assert [fault.where for fault in told.value.faults] == ["import line 7"] * 3
    with pytest.raises(InputErrors, match="import line 8"):
        read_command({"do": "delete set"}, "import line 8")


# --- identity --------------------------------------------------------------------------------------------------------


def test_an_unmarked_piece_is_never_scanned(desk: Desk) -> None:
    seen = {**desk.seen("Heron"), "Heron seal": Seen.SCANNED}
    reason = "piece Heron seal: has no mark and was reported as scanned (expected: an unmarked piece seen by eye)"
    assert desk.refusal(MoveSet(set_key="Heron", to=S.DISMANTLED, seen=seen)) == reason
    assert reason in desk.refusal(CountSet(set_key="Heron", seen=seen))


def test_the_same_mark_twice_is_no_identity(desk: Desk) -> None:
    twin = EnrolPiece(
        piece="twin", type_key="tube", mark="mark Heron tube", place=Place(where=Where.SPARE, key="shelf")
    )
    assert "its mark is on piece Heron tube too" in desk.refusal(twin)


def test_a_strength_never_rises_on_its_way() -> None:
    assert strength_of(None, scanned=True) is Strength.MEMBER
    assert strength_of("m", scanned=False) is Strength.INFERRED
    assert strength_of("m", scanned=True) is Strength.SCANNED
    assert weakest([Strength.SCANNED, Strength.MEMBER, Strength.INFERRED]) is Strength.MEMBER
    assert weakest([]) is Strength.SCANNED
    assert [one.words[:2] for one in Strength] == ["T0", "T1", "T2", "T3"]


# --- what follows from the events ------------------------------------------------------------------------------------


def lived(desk: Desk) -> Ledger:
    desk.wash("w1", ["Heron", "Otter"])
    desk.steam("s1", ["Heron", "Otter"])
    desk.use("case-1", "Heron")
    desk.do(CountSet(set_key="Heron", seen={"Heron tube": Seen.SCANNED}))
    desk.sample("water-1", within=True)
    return desk.ledger


def test_what_follows_from_the_events_is_made_again_equal(desk: Desk) -> None:
    assert rebuild(lived(desk)) == []


@pytest.mark.parametrize(
    ("statement", "told"),
    [
        ("DELETE FROM things WHERE kind = 'set' AND key = 'Heron'", "things set Heron: is not kept and follows"),
        ("UPDATE things SET doc = '{}' WHERE key = 'Otter seal'", "things piece Otter seal: differs in doc"),
        ("DELETE FROM touches WHERE kind = 'case'", "touches case case-1"),
        ("UPDATE stays SET last = NULL WHERE piece = 'Heron seal'", "differs in last"),
        ("UPDATE passages SET released = NULL WHERE load = 'w1'", "passages w1 Heron"),
        ("DELETE FROM uses", "uses case-1 Heron"),
        ("UPDATE runs SET machine = 'Birch'", "differs in machine"),
        ("INSERT INTO touches VALUES ('set', 'Ghost', 1)", "touches set Ghost 1: is kept and does not follow"),
    ],
)
def test_what_was_kept_otherwise_is_named_and_put_right(desk: Desk, statement: str, told: str) -> None:
    ledger = lived(desk)
    with ledger.store.writing() as connection:
        connection.execute(text(statement))
    assert any(told in one.line for one in rebuild(ledger))
    assert rebuild(ledger) == []
    found = ledger.find(InstrumentSet, "Heron")
    assert found is not None
    assert found.state is S.MISSING_PART


def test_a_ledger_that_was_closed_goes_on(desk: Desk) -> None:
    head = desk.ledger.head()
    desk.ledger.close()
    again = open_ledger(desk.place)
    assert again.head() == head
    assert all(again.find(Piece, key) for key in ("Heron seal", "Otter seal"))
    again.close()


def test_all_names_of_events_have_one_grammar() -> None:
    assert all(len(kind.name.split()) == 2 and kind.name.islower() for kind in get_args(Payload))


# --- stores ----------------------------------------------------------------------------------------------------------


def test_the_tables_made_by_the_migrations_are_those_the_code_uses(desk: Desk) -> None:
    with desk.ledger.store.reading() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        found = compare_metadata(context, METADATA)
    assert found == []


def test_the_version_the_code_writes_is_the_newest_migration() -> None:
    folder = Path(stores.__file__).with_name("migrations")
    assert ScriptDirectory(str(folder)).get_heads() == [stores.SCHEMA_VERSION]
    assert Config().get_main_option("script_location") is None


def test_a_ledger_of_a_newer_version_is_left_alone(desk: Desk) -> None:
    with desk.ledger.store.writing() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(InputError, match="has tables of version 9999"):
        open_ledger(desk.place, create=True)


def test_sqlite_keeps_one_file_and_waits_for_the_disk(quick: Desk) -> None:
    with quick.ledger.store.reading() as connection:
        settings = [connection.exec_driver_sql(f"PRAGMA {name}").scalar() for name in ("journal_mode", "synchronous")]
    mended = stores._sqlite().sqlite_version_info >= (3, 51, 3)
    assert settings == ["wal" if mended else "truncate", 2]


def test_without_the_newest_sqlite_the_older_journal_is_used(sqlite: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pysqlite3", None)
    monkeypatch.setattr(stores, "_WAL_MENDED", (99,))
    assert stores._sqlite() is sqlite3
    desk = Desk(open_ledger(sqlite, create=True)).opened()
    with desk.ledger.store.reading() as connection:
        assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "truncate"
    assert desk.ledger.verify() == []
    desk.ledger.close()


@pytest.mark.parametrize(
    ("place", "told"),
    [
        ("nowhere.sqlite", "nowhere.sqlite: is no file"),
        ("no/folder/ledger.sqlite", "is no file"),
        ("mysql://root@here/ledger", "mysql is not known"),
        ("://", "is no place of a store"),
    ],
)
def test_a_place_that_is_none_is_told_in_one_line(place: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        open_ledger(place)


def test_a_file_that_is_no_ledger_is_left_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "notes.txt"
    path.write_text("shopping list, and quite a long one at that\n" * 40)
    with pytest.raises(StoreError, match="file is not a database"):
        open_ledger(str(path), create=True)
    assert path.read_text().startswith("shopping list")
    other = tmp_path / "other.sqlite"
    sqlite3.connect(other).execute("CREATE TABLE birds (name TEXT)").connection.close()
    with pytest.raises(InputError, match="holds no ledger"):
        open_ledger(str(other))
    with pytest.raises(InputError, match="lies in no folder"):
        open_ledger(str(tmp_path / "no" / "ledger.sqlite"), create=True)


def test_a_server_that_does_not_answer_is_told_without_its_password(tmp_path: Path) -> None:
    with pytest.raises(StoreError) as told:
        open_ledger(f"postgresql://me:secret@/ledger?host={tmp_path}")
    assert "cannot be read" in told.value.line
    assert "secret" not in told.value.line


def test_without_the_driver_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "psycopg", None)
    with pytest.raises(InputError, match=r"patency\[postgresql\]"):
        open_ledger("postgresql://me@here/ledger")


def test_a_folder_that_cannot_be_written_to_is_told(quick: Desk, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file")
    with pytest.raises(InputError, match="taken"):
        export_ledger(quick.ledger, tmp_path / "taken")


FULL = """
import json, resource, signal, sys, threading
from tests.ledger.quay import Desk
from patency.errors import StoreError
from patency.ledger import Kind, NoteResult, Result, open_ledger
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
desk = Desk(open_ledger(sys.argv[1]))
resource.setrlimit(resource.RLIMIT_FSIZE, (600_000, 600_000))
told, faults, guard = [], [], threading.Lock()

def station(number):
    for n in range(100):
        large = Result(format=f"n/{number}-{n}", verdict="met", data={"x": "y" * 3000})
        with guard:
            around = desk.around("loader-1", key=f"note-{number}-{n}")
        try:
            seq = desk.ledger.append(NoteResult(about=Kind.SET, key="Heron", result=large), around).first
        except StoreError as fault:
            faults.append(fault.line)
            return
        told.append(seq)

stations = [threading.Thread(target=station, args=(number,)) for number in range(4)]
for one in stations:
    one.start()
for one in stations:
    one.join()
print(json.dumps({"told": sorted(told), "faults": faults}))
"""


def test_what_was_acknowledged_before_the_disk_was_full_stays_and_nothing_else(quick: Desk, sqlite: str) -> None:
    before = quick.ledger.count()
    result = subprocess.run([sys.executable, "-c", FULL, sqlite], capture_output=True, text=True, check=True)
    said = json.loads(result.stdout)
    assert len(said["faults"]) == 4
    assert all(line.startswith(f"{sqlite}: cannot be written; nothing of this was: ") for line in said["faults"])
    notes = [one["seq"] for one in quick.ledger.story("set", "Heron") if one["event"] == "result noted"]
    assert notes == said["told"]
    assert quick.ledger.count() == before + len(notes)
    assert quick.ledger.verify() == []
    assert rebuild(quick.ledger) == []
    quick.do(ASIDE)
