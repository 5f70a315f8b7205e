"""The page on keeping records keeps its word: its commands run in its order, on a small department and its record."""

from __future__ import annotations

import json
import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from patency.cli import main
from patency.load import write_plan
from tests.evidence.readers import CALENDAR
from tests.evidence.steam_cycles import CHECKS
from tests.small_plan import SMALL_PLAN
from tests.small_site import SMALL_SITE

PAGE = (Path(__file__).parents[2] / "docs" / "archive.md").read_text(encoding="utf-8")
COMMANDS = re.findall(r"^    (patency .*)$", PAGE, re.MULTILINE)
DESCRIPTION = """\
format: patency-record/1
time: {column: time, unit: s}
columns:
  T1: {quantity: temperature, unit: degC, place: chamber, uncertainty: 0.5}
machine: Alder
"""
STEAM = """\
steam_programmes:
  wrapped_134: {name: w, version: "1", sterilization_temperature: 134 °C, holding: 3 min, pulses: 3, drying: 5 min}
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A department, its plan and a record under the names of the page."""
    monkeypatch.chdir(tmp_path)
    Path("mine").mkdir()
    for name, text in SMALL_SITE.items():
        Path("mine", name).write_text(text, encoding="utf-8")
    Path("plan.json").write_text(write_plan(SMALL_PLAN), encoding="utf-8")
    rows = "".join(f"{second},90.0\n" for second in range(301))
    Path("c.csv").write_text("time,T1\n" + rows, encoding="utf-8")
    Path("inbox").mkdir()
    week = "".join(f"{second},{second // 3600},90.0\n" for second in range(0, 9000, 60))
    Path("week.csv").write_text("time,run,T1\n" + week, encoding="utf-8")
    for name in ("r.yaml", "s.yaml"):
        Path(name).write_text(DESCRIPTION, encoding="utf-8")
    Path("mine", "steam.yaml").write_text(STEAM, encoding="utf-8")
    Path("checks.yaml").write_text(CHECKS, encoding="utf-8")
    Path("calendar.yaml").write_text(CALENDAR, encoding="utf-8")
    for name, text in re.findall(r"^`([a-z]+\.yaml)`:\n\n```yaml\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL):
        Path(name).write_text(text, encoding="utf-8")
    return tmp_path


@pytest.mark.usefixtures("folder")
def test_the_commands_of_the_page_run_in_their_order() -> None:
    assert len(COMMANDS) == 9
    for line in COMMANDS:
        words = shlex.split(line.replace("ARCHIVE", "kept").replace("RECORD...", "c.csv"))[1:]
        result = CliRunner().invoke(main, words)
        assert result.exit_code == 0, (line, result.output)
        assert result.stdout


@pytest.mark.usefixtures("folder")
def test_what_changes_is_listed_with_both_values() -> None:
    words = ["evidence", "archive", "add", "kept", "c.csv", "--description", "r.yaml", "--site", "mine"]
    assert CliRunner().invoke(main, [*words, "--on", "2026-03-02"]).stdout == "c.csv: not evaluated\n"
    limits = next(path for path in Path("mine").rglob("*.yaml") if "longest_gap" in path.read_text(encoding="utf-8"))
    text = re.sub(r"(longest_gap: {value: )5 s", r"\g<1>0.5 s", limits.read_text(encoding="utf-8"))
    limits.write_text(text, encoding="utf-8")
    rejudge = ["evidence", "rejudge", "kept", "--site", "mine", "--on", "2026-03-02"]
    result = CliRunner().invoke(main, rejudge)
    assert result.exit_code == 1, result.output
    assert result.stdout.splitlines() == [
        "c.csv (Alder, 2026-03-02): not evaluated before, not met now",
        "    longest gap in the record: 1 s, met before, 1 s, not met now",
        "1 cycles, 1 judged again: 1 would be decided otherwise, 0 keep their verdict though a criterion changes",
    ]
    answer = json.loads(CliRunner().invoke(main, [*rejudge, "--json"]).stdout)
    assert [(one["before"], one["after"], one["criteria"]) for one in answer["changed"]] == [
        (
            "not evaluated",
            "not met",
            [
                {
                    "name": "longest gap in the record",
                    "stage": None,
                    "sensor": None,
                    "unit": "s",
                    "before": {"value": 1.0, "state": "met"},
                    "after": {"value": 1.0, "state": "not met"},
                }
            ],
        )
    ]


@pytest.mark.usefixtures("folder")
def test_a_record_that_cannot_be_used_and_an_archive_at_fault_end_with_one() -> None:
    Path("bad.csv").write_text("time,T1\n0,warm\n1,20\n", encoding="utf-8")
    add = ["evidence", "archive", "add", "kept", "bad.csv", "c.csv", "--description", "r.yaml"]
    result = CliRunner().invoke(main, add)
    assert result.exit_code == 1
    assert result.stdout.splitlines() == [
        "c.csv: not evaluated",
        "refused: bad.csv, line 2, column T1: 'warm' cannot be read (expected: a number with '.' as decimal sign)",
    ]
    assert CliRunner().invoke(main, add[:4] + add[5:]).stdout == "c.csv: there already\n"
    next(Path("kept").rglob("*.samples.parquet")).unlink()
    result = CliRunner().invoke(main, ["evidence", "archive", "verify", "kept"])
    assert result.exit_code == 1
    assert "1 faults" in result.stdout or "0 cycles" in result.stdout
    half = CliRunner().invoke(main, [*add, "--load", "L1"])
    assert half.exit_code == 2
    assert "--plan, --load and --site together" in half.stderr
