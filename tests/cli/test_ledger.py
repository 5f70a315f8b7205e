"""The commands of the ledger: what they print, and how they end."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner
from sqlalchemy import text

from patency.cli import main
from patency.ledger import open_ledger
from tests.ledger.quay import Desk

if TYPE_CHECKING:
    from pathlib import Path

    from click.testing import Result


def run(*words: str) -> Result:
    return CliRunner().invoke(main, ["ledger", *words])


@pytest.fixture
def place(tmp_path: Path) -> str:
    place = str(tmp_path / "quay.sqlite")
    desk = Desk(open_ledger(place, create=True)).opened()
    desk.wash("w1", ["Heron", "Otter"])
    desk.ledger.close()
    return place


def change(place: str, *statements: str) -> None:
    ledger = open_ledger(place)
    with ledger.store.writing() as connection:
        for statement in ("DROP TRIGGER events_no_update", *statements):
            connection.execute(text(statement))
    ledger.close()


def test_a_whole_chain_is_told_with_its_end(place: str) -> None:
    told = run("verify", place)
    assert told.exit_code == 0
    assert told.output.startswith("the chain holds\nend of the chain: ")
    end = told.output.strip().rpartition(" ")[2]
    assert run("verify", place, "--head", end).exit_code == 0
    number, _, digest = end.partition(":")
    later = run("verify", place, "--head", f"{int(number) + 1}:{digest}")
    assert later.exit_code == 1
    assert f"event {int(number) + 1}: is missing; the chain ends with event {number}" in later.output


def test_an_altered_event_is_told(place: str) -> None:
    change(place, "UPDATE events SET body = replace(body, 'Heron', 'Hero') WHERE seq = 17")
    told = run("verify", place, "--json")
    assert told.exit_code == 1
    assert [one["event"] for one in json.loads(told.stdout)["breaks"]] == [17]
    again = run("rebuild", place)
    assert again.exit_code == 1
    assert "nothing was made again from a chain that does not hold" in again.output


def test_what_follows_is_compared_and_put_right(place: str) -> None:
    change(place, "DELETE FROM things WHERE key = 'Heron'")
    first, second = run("rebuild", place, "--json"), run("rebuild", place)
    assert (first.exit_code, second.exit_code) == (1, 0)
    assert json.loads(first.stdout)["differences"] == ["things set Heron: is not kept and follows from the events"]
    assert "is kept as it follows" in second.output


def test_an_export_tells_how_to_check_it(place: str, tmp_path: Path) -> None:
    told = run("export", place, "--out", str(tmp_path / "out"))
    assert told.exit_code == 0
    assert f"to check them: python {tmp_path / 'out' / 'verify_export.py'} {tmp_path / 'out'}" in told.output
    assert (tmp_path / "out" / "events.csv").exists()


def test_a_trace_tells_reason_and_strength_of_each_thing(place: str) -> None:
    told = run("trace", place, "load", "w1")
    assert told.exit_code == 0
    assert "2 sets" in told.output.splitlines()[0]
    assert "piece Heron seal (T1 unmarked, member of a tagged set): asked for load w1" in told.output
    data = json.loads(run("trace", place, "piece", "Heron tube", "--shared", "all", "--json").stdout)
    other = next(item for item in data["items"] if item["key"] == "Otter seal")
    assert (other["identity"], other["shared_loads_between"]) == ("T1", 1)
    assert data["direction"] == "forward"


def test_a_trace_looks_at_the_days_asked_for(place: str) -> None:
    data = json.loads(run("trace", place, "set", "Heron", "--since", "2026-05-14", "--json").stdout)
    assert data["since"] == data["until"] + 1
    assert [item["kind"] for item in data["items"] if item["kind"] == "load"] == []
    data = json.loads(run("trace", place, "set", "Heron", "--since", "2026-05-01", "--backward", "--json").stdout)
    assert data["since"] == 1


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("verify", "nowhere.sqlite"), "nowhere.sqlite: is no file (expected: a ledger)"),
        (("verify", "{place}", "--head", "12"), "--head: '12' cannot be read"),
        (("trace", "{place}", "case", "case-9"), "case case-9: is not known"),
        (("trace", "{place}", "set", "Heron", "--since", "May"), "--since: 'May' cannot be read"),
        (("trace", "{place}", "person", "lead-1"), "'person' is not one of"),
    ],
)
def test_what_cannot_be_used_is_told_in_one_line(place: str, words: tuple[str, ...], told: str) -> None:
    result = run(*(word.replace("{place}", place) for word in words))
    assert result.exit_code == 2
    assert told in result.output
    assert result.output.count("\n") == 1
