"""The calendar as an interlock: what is blocked is neither planned nor met, and a load file ages."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from patency.cli import main
from patency.demo import larkmere_texts
from patency.load import write_plan
from tests.evidence.cycles import good_cycle
from tests.evidence.steam_cycles import CHECKS, good_steam
from tests.small_plan import SMALL_PLAN
from tests.small_site import SMALL_SITE

CALENDAR = """\
format: patency-calendar/1
tests:
  leak: {of: machine, name: NAME, interval: 7 d, blocks: {machines: [NAME]}, source: policy}
done:
  - {test: leak, at: 2026-03-01T06:30Z, by: M. Hollis, result: passed}
"""


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture
def site(tmp_path: Path) -> Path:
    (tmp_path / "site").mkdir()
    for name, text in SMALL_SITE.items():
        (tmp_path / "site" / name).write_text(text, encoding="utf-8")
    return tmp_path / "site"


def calendar(folder: Path, machine: str) -> Path:
    file = folder / "calendar.yaml"
    file.write_text(CALENDAR.replace("NAME", machine), encoding="utf-8")
    return file


def planned(site: Path, machine: str, at: str) -> tuple[Result, dict[str, object]]:
    words = ["plan", site, "--seconds", "5", "--calendar", calendar(site.parent, machine), "--at", at]
    document: dict[str, object] = json.loads(run(*words, "--json").stdout)
    return run(*words), document


def test_a_machine_whose_test_ran_out_is_not_planned_with(site: Path) -> None:
    told, document = planned(site, "Alpha", "2026-03-09T06:00+00:00")
    assert told.exit_code == 1
    assert "machine Alpha is blocked: leak: overdue; passed at 2026-03-01 06:30 UTC" in told.stdout
    assert "Alpha" not in {load["machine"] for load in document["loads"]}  # type: ignore[attr-defined]


def test_a_machine_in_date_is_planned_with_as_without_a_calendar(site: Path) -> None:
    told, document = planned(site, "Alpha", "2026-03-02T06:00+00:00")
    without = run("plan", site, "--seconds", "5", "--json")
    assert document["loads"] == json.loads(without.stdout)["loads"]
    assert "blocked" not in told.stdout
    assert told.exit_code == without.exit_code


def test_a_load_that_starts_after_a_test_ran_out_is_named(site: Path) -> None:
    # Planned while the test of 23 February, 12:00, still counts; the load starts at noon of 2 March or later.
    file = calendar(site.parent, "Alpha")
    file.write_text(
        file.read_text(encoding="utf-8").replace("2026-03-01T06:30Z", "2026-02-23T10:00Z"), encoding="utf-8"
    )
    told = run("plan", site, "--seconds", "5", "--calendar", file, "--at", "2026-03-02T06:00+00:00")
    assert told.exit_code == 1
    assert re.search(r"load \S+ must not start at \d\d:\d\d: leak: passed at 2026-02-23 10:00 UTC", told.stdout)


def test_a_moment_without_offset_and_a_bad_calendar_are_refused(site: Path) -> None:
    file = calendar(site.parent, "Alpha")
    assert "a moment with its offset" in run("calendar", "status", file, "--at", "2026-03-02T06:00").stderr
    file.write_text("format: patency-calendar/1\n", encoding="utf-8")
    answer = run("plan", site, "--calendar", file)
    assert (answer.exit_code, answer.stdout) == (2, "")


def test_the_status_has_a_status_and_json(site: Path) -> None:
    file = calendar(site.parent, "Alpha")
    answer = run("calendar", "status", file, "--at", "2026-03-02T06:00Z", "--json")
    assert (answer.exit_code, json.loads(answer.stdout)["blocked"]["machines"]) == (0, {})
    assert run("calendar", "status", file).exit_code == 1


@pytest.fixture
def steam(tmp_path: Path) -> list[object]:
    """A steam record that starts on 31 March, its checks and the demo's department, as words of a command."""
    (tmp_path / "larkmere").mkdir()
    for name, text in larkmere_texts().items():
        (tmp_path / "larkmere" / name).write_text(text, encoding="utf-8")
    cycle = good_steam()
    head, *rows = cycle.text().splitlines()
    stamped = [
        f"2026-03-31T{9 + number // 3600:02}:{number // 60 % 60:02}:{number % 60:02}Z" for number in range(len(rows))
    ]
    lines = [head, *(f"{stamp},{row.partition(',')[2]}" for stamp, row in zip(stamped, rows, strict=True))]
    (tmp_path / "s.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    described = cycle.description.replace("programme: wrapped", "programme: wrapped_134").replace(
        "unit: s}", "unit: iso8601}"
    )
    (tmp_path / "s.yaml").write_text(described, encoding="utf-8")
    (tmp_path / "c.yaml").write_text(
        CHECKS.replace("2026-06-01", "2026-03-31").replace("05-27", "03-27"), encoding="utf-8"
    )
    words = [
        "evidence",
        "steam",
        tmp_path / "s.csv",
        "--description",
        tmp_path / "s.yaml",
        "--programme",
        "wrapped_134",
    ]
    return [*words, "--site", tmp_path / "larkmere", "--on", "2026-03-31", "--checks", tmp_path / "c.yaml"]


def judged(steam: list[object], file: Path) -> dict[str, object]:
    document: dict[str, object] = json.loads(run(*steam, "--calendar", file, "--json").stdout)
    return document


def test_a_cycle_of_a_machine_out_of_date_does_not_meet_its_criteria(steam: list[object], tmp_path: Path) -> None:
    file = calendar(tmp_path, "Yew")
    late = judged(steam, file)
    (criterion,) = [one for one in late["criteria"] if one["name"] == "test in date"]  # type: ignore[attr-defined]
    assert (criterion["state"], late["verdict"]) == ("not met", "not met")
    file.write_text(CALENDAR.replace("NAME", "Yew").replace("03-01", "03-30"), encoding="utf-8")
    in_time = judged(steam, file)
    (criterion,) = [one for one in in_time["criteria"] if one["name"] == "test in date"]  # type: ignore[attr-defined]
    assert criterion["state"] == "met"
    assert in_time["relies_on"] == [
        {"test": "leak", "done": "2026-03-30T06:30:00Z", "until": "2026-04-06T06:30:00Z", "state": "in date"}
    ]


def test_a_load_file_ages(steam: list[object], tmp_path: Path) -> None:
    file = tmp_path / "calendar.yaml"
    file.write_text(CALENDAR.replace("NAME", "Yew").replace("03-01", "03-30"), encoding="utf-8")
    run(*steam, "--calendar", file, "--out", tmp_path / "out")
    kept = tmp_path / "out" / "steam-s-file.json"
    for at, status, says in (("2026-04-01T08:00Z", 0, "in date"), ("2026-04-07T08:00Z", 1, "no longer in date")):
        answer = run("calendar", "statement", kept, "--calendar", file, "--at", at)
        assert (answer.exit_code, answer.stdout.splitlines()[-1]) == (status, f"the statement is {says}")
    assert json.loads(run("calendar", "statement", kept, "--calendar", file, "--json").stdout)["statement"] == (
        "no longer in date"
    )


def test_a_washing_cycle_is_asked_for_its_tests_too(site: Path, tmp_path: Path) -> None:
    cycle = good_cycle()
    (tmp_path / "r.csv").write_text(cycle.text(), encoding="utf-8")
    (tmp_path / "r.yaml").write_text(cycle.description.replace("Alder", "Alpha"), encoding="utf-8")
    (tmp_path / "plan.json").write_text(write_plan(SMALL_PLAN), encoding="utf-8")
    words = ["evidence", "judge", tmp_path / "r.csv", "--description", tmp_path / "r.yaml", "--on", "2026-03-02"]
    load = ["--site", site, "--plan", tmp_path / "plan.json", "--load", SMALL_PLAN.loads[0].id]
    file = calendar(tmp_path, "Alpha")
    document = json.loads(run(*words, *load, "--calendar", file, "--json").stdout)
    states = {one["why"].split(";")[0]: one["state"] for one in document["criteria"] if one["name"] == "test in date"}
    # The record counts seconds only: nobody knows whether the test counted when the cycle ran.
    assert states == {"leak: in date": "met", "the record does not say when the cycle ran": "not evaluated"}
    assert "--calendar says what a load relies on" in run(*words, "--calendar", file).stderr
