"""``patency calendar drifted``: loads judged again with a corrected sensor."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from patency.cli import main
from patency.demo import larkmere_texts
from tests.evidence.steam_cycles import good_steam

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
    assert "used since: Noon at 2026-04-01T07:30+02:00" in told.stdout
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
