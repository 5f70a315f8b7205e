"""``patency calendar drifted``: loads judged again with a corrected sensor."""

from __future__ import annotations

import json
import re
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from patency.cli import main
from patency.demo import larkmere_texts
from patency.ledger import CorrectMove, SetState, open_ledger
from tests.evidence.steam_cycles import good_steam
from tests.ledger.quay import START, Desk

PAGE = (Path(__file__).parents[2] / "docs" / "calendar.md").read_text(encoding="utf-8")
TEXT = re.findall(r"^```yaml\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL)[1]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A steam record of which T1 holds 134 °C with half a kelvin to spare, and the demo's department."""
    (tmp_path / "larkmere").mkdir()
    for name, text in larkmere_texts().items():
        (tmp_path / "larkmere" / name).write_text(text, encoding="utf-8")
    cycle = good_steam()
    (tmp_path / "s.csv").write_text(cycle.text(), encoding="utf-8")
    (tmp_path / "s.yaml").write_text(cycle.description, encoding="utf-8")
    return tmp_path


def looked(folder: Path, text: str) -> tuple[Result, dict[str, object]]:
    (folder / "d.yaml").write_text(text, encoding="utf-8")
    words = ["calendar", "drifted", str(folder / "d.yaml"), "--site", str(folder / "larkmere")]
    told = CliRunner().invoke(main, words)
    (load,) = json.loads(CliRunner().invoke(main, [*words, "--json"]).stdout)["loads"]
    return told, load


def test_a_sensor_that_read_too_high_takes_the_holding_time_away_and_what_was_used_is_named(folder: Path) -> None:
    told, load = looked(folder, TEXT.replace("shows_too_much: 0.9", "shows_too_much: 3"))
    assert told.exit_code == 1
    assert told.stdout.startswith("falls       s.csv: ")
    assert "used since: Noon at 2026-04-01 07:30 UTC+02:00" in told.stdout
    assert any(str(line).startswith("holding time: not met") for line in load["lost"])  # type: ignore[attr-defined]
    assert load["used"] == [{"what": "Noon", "at": "2026-04-01T07:30:00+02:00"}]


def test_a_sensor_hardly_off_takes_nothing_away(folder: Path) -> None:
    told, load = looked(folder, TEXT.replace("shows_too_much: 0.9", "shows_too_much: 0.01"))
    assert (told.exit_code, load["stands"], load["lost"]) == (0, True, [])


def test_a_load_before_the_drift_stands(folder: Path) -> None:
    told, load = looked(folder, TEXT.replace("first_day: 2026-03-28", "first_day: 2026-04-28"))
    assert (told.exit_code, load["stands"], load["why_not"]) == (0, True, "")


@pytest.mark.parametrize(
    ("was", "now", "why"),
    [
        ("record: s.csv", "record: gone.csv", "gone.csv: No such file"),
        ("machine: Yew", "machine: Elm", "the record names 'Yew', not 'Elm'"),
        ("column: T1", "column: T9", "the record has no column 'T9'"),
        ("programme: wrapped_134", "programme: wrapped_99", "no steam programme 'wrapped_99'"),
        ("programme: wrapped_134", "load: L1", "--plan: not given"),
    ],
)
def test_a_load_that_cannot_be_judged_again_does_not_stand(folder: Path, was: str, now: str, why: str) -> None:
    told, load = looked(folder, TEXT.replace(was, now))
    assert (told.exit_code, load["stands"]) == (1, False)
    assert why in str(load["why_not"])
    assert told.stdout.startswith("not judged  ")


@pytest.mark.parametrize(("was", "now"), [("programme: wrapped_134", "on: 2026-01-01"), ("loads:", "load:")])
def test_a_bad_statement_is_refused(folder: Path, was: str, now: str) -> None:
    (folder / "d.yaml").write_text(TEXT.replace(was, now), encoding="utf-8")
    words = ["calendar", "drifted", str(folder / "d.yaml"), "--site", str(folder / "larkmere")]
    assert CliRunner().invoke(main, words).exit_code == 2


# --- joined with the ledger


@pytest.fixture(scope="module")
def ledger_file(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A ledger: Heron and Otter through a steam load, Heron used, Otter's issue taken back; then Heron once more."""
    place = str(tmp_path_factory.mktemp("drifted") / "ledger.sqlite")
    with closing(open_ledger(place, create=True)) as ledger:
        desk = Desk(ledger).opened()
        desk.wash("w1", ["Heron", "Otter"])
        desk.steam("s1", ["Heron", "Otter"])
        desk.use("case-1", "Heron")
        desk.move("Otter", SetState.ISSUED, case="case-2")
        last = ledger.head().seq
        desk.do(CorrectMove(set_key="Otter", corrects=last, why="the wrong set"))
        desk.wash("w2", ["Heron"])
        desk.steam("s2", ["Heron"])
        desk.use("case-3", "Heron")
    return place


def with_ledger(folder: Path, place: str, text: str) -> tuple[Result, list[dict[str, Any]]]:
    (folder / "s.yaml").write_text(
        good_steam().described("machine: Yew", "machine: North").description, encoding="utf-8"
    )
    (folder / "d.yaml").write_text(text.replace("machine: Yew", "machine: North"), encoding="utf-8")
    words = ["calendar", "drifted", str(folder / "d.yaml"), "--site", str(folder / "larkmere"), "--ledger", place]
    told = CliRunner().invoke(main, [*words, "--json"])
    return told, json.loads(told.stdout)["loads"]


JOINED = TEXT.replace("    used: [{what: Noon, at: 2026-04-01T07:30+02:00}]\n", "    in_ledger: s1\n").replace(
    "on: 2026-03-31", f"on: {START.astimezone().date()}"
)
HARDLY_OFF = JOINED.replace("shows_too_much: 0.9", "shows_too_much: 0.01")


def test_the_ledger_tells_what_was_used_and_which_loads_the_file_leaves_out(folder: Path, ledger_file: str) -> None:
    assert "in_ledger" in JOINED
    told, (load, other) = with_ledger(folder, ledger_file, HARDLY_OFF)
    assert [use["what"] for use in load["used"]] == ["Heron, used in case case-1"]  # case-3 lies behind load s2
    assert load["not_used"] == [{"what": "Otter", "is": "sterile-stored"}]
    assert (load["load"], load["stands"]) == ("s1", True)
    assert (other["load"], other["stands"], other["record"]) == ("s2", False, "")
    assert [use["what"] for use in other["used"]] == ["Heron, used in case case-3"]
    assert told.exit_code == 1
    assert other["why_not"] == "the ledger has it of 'North' and these days, the file does not name it"


def test_only_loads_of_the_sensors_days_are_missed_in_the_file(folder: Path, ledger_file: str) -> None:
    day = (START + timedelta(days=1)).date()
    _, loads = with_ledger(folder, ledger_file, JOINED.replace("first_day: 2026-03-28", f"first_day: {day}"))
    assert [load["load"] for load in loads] == ["s1"]
    _, loads = with_ledger(folder, ledger_file, JOINED.replace("first_day: 2026-03-28", f"last_day: {START.date()}"))
    assert [load["load"] for load in loads] == ["s1", "s2"]


def test_what_was_used_and_what_was_not_is_told_in_words(folder: Path, ledger_file: str) -> None:
    (folder / "d.yaml").write_text(JOINED, encoding="utf-8")
    words = ["calendar", "drifted", str(folder / "d.yaml"), "--site", str(folder / "larkmere"), "--ledger", ledger_file]
    told = CliRunner().invoke(main, words).stdout
    assert "used since: Heron, used in case case-1 at 2026-05-12 " in told
    assert "; not used: Otter (sterile-stored)" in told


@pytest.mark.parametrize(
    ("key", "why"),
    [
        ("", "what was used is not known: in_ledger does not say what the ledger calls it"),
        ("    in_ledger: s9\n", "what was used is not known: no load 's9' ran"),
        ("    in_ledger: w1\n", "in the ledger load w1 ran in 'Alder', not in 'North'"),
    ],
)
def test_a_load_the_ledger_does_not_know_as_such_does_not_stand(
    folder: Path, ledger_file: str, key: str, why: str
) -> None:
    _, (load, *_) = with_ledger(folder, ledger_file, HARDLY_OFF.replace("    in_ledger: s1\n", key))
    assert (load["stands"], load["why_not"]) == (False, why)
    assert (load["used"] is None) == (not key.endswith("w1\n"))


def test_a_load_that_the_ledger_has_of_another_day_does_not_stand(folder: Path, ledger_file: str) -> None:
    day = START.astimezone().date()
    _, (load, *_) = with_ledger(folder, ledger_file, HARDLY_OFF.replace(f"on: {day}", f"on: {day - timedelta(days=1)}"))
    assert (load["stands"], load["lost"]) == (False, [])
    assert load["why_not"] == f"in the ledger load s1 ran on {day}, the file says {day - timedelta(days=1)}"


def test_what_nobody_says_is_not_known_and_not_nothing(folder: Path) -> None:
    told, load = looked(folder, TEXT.replace("    used: [{what: Noon, at: 2026-04-01T07:30+02:00}]\n", ""))
    assert load["used"] is None
    assert "what was used since is not known" in told.stdout
