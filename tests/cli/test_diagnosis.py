"""``patency diagnose`` on records of the demo's machines: what it ranks, what it says it cannot see, how it refuses."""

from __future__ import annotations

import json
import re
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result

from patency.cli import main
from patency.demo import Mishap, larkmere_texts
from patency.demo.day import _run
from patency.load import Plan, write_plan
from patency.steps import RecordFiles, judge_cycle
from tests.demo.larkmere import hand_made_load, larkmere
from tests.papers.cast import in_holders


@cache
def record_of(load_id: str, mishap: Mishap) -> tuple[str, str]:
    """Run a load of the demo on its simulated machine."""
    return _run(larkmere(), hand_made_load(load_id), mishap, np.random.default_rng(20260512))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    where = tmp_path_factory.mktemp("larkmere")
    (where / "site").mkdir()
    for name, text in larkmere_texts().items():
        (where / "site" / name).write_text(text, encoding="utf-8")
    loads = tuple(in_holders(hand_made_load(load_id)) for load_id in ("L3", "D1"))
    plan = Plan(
        site=larkmere().site,
        day=hand_made_load("L3").starts.date(),
        loads=loads,
        loads_at_least=1,
        proven_fewest=False,
        objective={},
        bound={},
    )
    (where / "plan.json").write_text(write_plan(plan), encoding="utf-8")
    return where


def diagnose(folder: Path, load_id: str, mishap: Mishap, *more: str, record: str | None = None) -> Result:
    text, description = record_of(load_id, mishap)
    (folder / "record.csv").write_text(record or text, encoding="utf-8")
    (folder / "record.yaml").write_text(description, encoding="utf-8")
    files = [str(folder / "plan.json"), str(folder / "record.csv"), "--description", str(folder / "record.yaml")]
    words = ["diagnose", *files, "--site", str(folder / "site"), "--load", load_id, "--on", "2026-05-12", *more]
    return CliRunner().invoke(main, words)


def data_of(result: Result) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(result.stdout)
    return data


def test_a_forgotten_taper_cap_ranks_first_and_ends_with_one(folder: Path) -> None:
    result = diagnose(folder, "L3", Mishap.TAPER_CAP_FORGOTTEN)
    assert result.exit_code == 1, result.output
    first = result.stdout.splitlines()[2]
    assert "cannot be told apart: cap missing, T1 / pump worn or slow" in first
    found = data_of(diagnose(folder, "L3", Mishap.TAPER_CAP_FORGOTTEN, "--json"))
    assert "cap missing, T1" in found["explanations"][0]["causes"]
    assert found["explanations"][0]["probability"] > 0.5


def test_the_page_shows_what_the_command_ranks_first(folder: Path) -> None:
    page = (Path(__file__).parents[2] / "docs" / "diagnosis.md").read_text(encoding="utf-8")
    first = diagnose(folder, "L3", Mishap.TAPER_CAP_FORGOTTEN).stdout.splitlines()[2]
    group = first.split("%", 1)[1].strip()
    assert group in page
    unseen = [line.strip() for line in diagnose(folder, "D1", Mishap.HOSE_OFF).stdout.splitlines()]
    shown = re.findall(r"^ {4}(.*: none of .*)$", page, re.MULTILINE)
    assert len(shown) == 1
    assert set(shown) <= set(unseen)
    assert "patency diagnose plan.json record.csv --description record.yaml --site my-department --load L3" in page


def test_a_hose_that_came_off_cannot_be_seen_and_the_answer_says_so(folder: Path) -> None:
    result = diagnose(folder, "D1", Mishap.HOSE_OFF)
    assert result.exit_code == 0, result.output
    lines = result.stdout.splitlines()
    assert "as planned / hose off at the port (14 places)" in lines[2]
    hoses = [line.split(" (")[0] for line in lines if line.startswith("  hose off")]
    assert hoses == [
        "  hose off at the port: none of 14 can be seen with these sensors",
        "  hose off at the piece: none of 14 can be seen with these sensors",
    ]
    assert lines[-1].startswith("No reading of these sensors shows that every lumen was fed")


def test_a_cycle_as_planned_looks_as_planned_and_every_cause_is_counted_once(folder: Path) -> None:
    result = diagnose(folder, "L3", Mishap.NOTHING)
    assert result.exit_code == 0, result.output
    found = data_of(diagnose(folder, "L3", Mishap.NOTHING, "--json"))
    assert (found["format"], found["load_id"], found["readings"]) == ("patency-diagnosis/1", "L3", 5)
    assert found["never_shown"].startswith("No reading of these sensors shows that every lumen was fed")
    assert found["assumed"].startswith("assumption, no source")
    assert "how often each fault happens, taken before any reading: assumption, no source" in result.stdout
    kinds = [one["cause"].split(", ")[0] for one in found["detectability"]]
    told = [line.strip() for line in result.stdout.splitlines() if "(noticed in" in line or "(the arm's" in line]
    assert list(dict.fromkeys(line.split(": ")[0] for line in told)) == list(dict.fromkeys(kinds))


def test_an_arm_with_a_sensor_is_shown_by_it_and_two_equal_ends_are_one_number(folder: Path) -> None:
    lines = [line.strip() for line in diagnose(folder, "L3", Mishap.NOTHING).stdout.splitlines()]
    assert "arm stuck: 1 of 4 is seen (the arm's own sensor shows it): top arm" in lines
    assert "arm lost: all 4 are seen (noticed in 100 % of cycles): " in " ".join(lines)
    assert "foam or cavitation in cleaning: is seen at times (noticed in 1 to 100 % of cycles)" in lines
    assert "sensor P1 reads high: is seen at times (noticed in 2 to 100 % of cycles)" in lines
    assert [line for line in lines if "100 to 100" in line or "deviations" in line] == []


@pytest.mark.parametrize("mishap", [Mishap.TAPER_CAP_FORGOTTEN, Mishap.NOTHING])
def test_the_load_file_ranks_what_the_command_ranks_and_says_what_cannot_be_seen(folder: Path, mishap: Mishap) -> None:
    text, description = record_of("L3", mishap)
    load = hand_made_load("L3")
    files = RecordFiles(text, description, "record.csv", "record.yaml")
    page = judge_cycle(files, larkmere(), load, load.ends.date()).file.diagnosed
    ranked = [line.strip() for line in diagnose(folder, "L3", mishap).stdout.splitlines()[2:4]]
    assert [line for line in ranked if float(line.split(" %")[0]) >= 1.0] == [*page[: len(page) - 4]]
    assert page[-3].startswith(
        "Cannot be seen with these sensors: hose off at the port (23), hose off at the piece (23), "
    )
    assert "arm lost" not in page[-3]
    assert page[-2].startswith("Readings of pressure and flow weighed: 5, against the computed value; how often each")
    assert page[-1].startswith("No reading of these sensors shows that every lumen was fed")
    everything = " ".join(page).lower()
    assert [words for words in ("were fed", "was fed, ", "all lumens") if words in everything] == []


def test_a_load_file_of_a_record_without_pressure_ranks_nothing_and_says_why() -> None:
    text, description = record_of("L3", Mishap.NOTHING)
    rows = [line.split(",") for line in text.splitlines()]
    place = rows[0].index("P1")
    without = "\n".join(",".join(cell for at, cell in enumerate(row) if at != place) for row in rows) + "\n"
    kept = "\n".join(line for line in description.splitlines() if not line.strip().startswith("P1:")) + "\n"
    load = hand_made_load("L3")
    page = judge_cycle(RecordFiles(without, kept, "r", "d"), larkmere(), load, load.ends.date()).file.diagnosed
    assert len(page) == 2
    assert page[0].startswith("Nothing can be ranked: nothing to weigh: ")
    assert page[1].startswith("No reading of these sensors shows that every lumen was fed")


@pytest.mark.parametrize(("mishap", "named"), [(Mishap.TAPER_CAP_FORGOTTEN, True), (Mishap.NOTHING, False)])
def test_the_judge_names_this_command_where_a_pressure_is_missed(folder: Path, mishap: Mishap, *, named: bool) -> None:
    diagnose(folder, "L3", mishap)
    files = ["judge", str(folder / "record.csv"), "--description", str(folder / "record.yaml"), "--load", "L3"]
    planned = ["--plan", str(folder / "plan.json"), "--site", str(folder / "site"), "--on", "2026-05-12"]
    lines = CliRunner().invoke(main, ["evidence", *files, *planned]).stdout.splitlines()
    assert any(line.startswith("not met       circulation pressure") for line in lines) is named
    assert (lines[-1] == "next: patency diagnose ranks what the pressure of load L3 can have been") is named


def test_readings_nothing_explains_are_said_to_be_so(folder: Path) -> None:
    text, _ = record_of("L3", Mishap.NOTHING)
    head, *rows = text.splitlines()
    place = head.split(",").index("P1")
    stage = head.split(",").index("step")
    bent = [row.split(",") for row in rows]
    for row in bent:
        factor = {"clean": 1.3, "disinfect": 0.6, "flush": 0.7}.get(row[stage], 1.0)
        row[place] = f"{float(row[place]) * factor:.1f}"
    result = diagnose(folder, "L3", Mishap.NOTHING, record="\n".join([head, *(",".join(row) for row in bent)]) + "\n")
    assert result.exit_code == 1
    assert "nothing thought of explains these readings" in result.stdout


def test_a_record_without_a_pressure_is_refused_in_one_line(folder: Path) -> None:
    text, _ = record_of("L3", Mishap.NOTHING)
    head, *rows = text.splitlines()
    place = head.split(",").index("P1")
    silent = [",".join("" if k == place else cell for k, cell in enumerate(row.split(","))) for row in rows]
    result = diagnose(folder, "L3", Mishap.NOTHING, record="\n".join([head, *silent]) + "\n")
    assert (result.exit_code, result.stdout) == (2, "")
    (line,) = result.stderr.splitlines()
    assert "nothing to weigh" in line


def test_a_pressure_of_a_sensor_whose_offset_was_never_found_gives_no_probability(folder: Path) -> None:
    site = folder / "site" / "machines.yaml"
    whole = site.read_text(encoding="utf-8")
    never_found = whole.replace("    sensor_offsets:\n      P1: {value: 1.5", "    #\n    #  P1: {value: 1.5")
    assert never_found != whole
    site.write_text(never_found, encoding="utf-8")
    result = diagnose(folder, "L3", Mishap.NOTHING)
    site.write_text(whole, encoding="utf-8")
    assert (result.exit_code, result.stdout) == (2, "")
    (line,) = result.stderr.splitlines()
    why = "what this sensor shows too much was never found: taken as nothing"
    assert f"nothing to weigh: P1: its readings would rest on something assumed ({why}) (expected: " in line


def test_a_load_that_is_not_in_the_plan_is_refused(folder: Path) -> None:
    text, description = record_of("L3", Mishap.NOTHING)
    (folder / "record.csv").write_text(text, encoding="utf-8")
    (folder / "record.yaml").write_text(description, encoding="utf-8")
    files = [str(folder / "plan.json"), str(folder / "record.csv"), "--description", str(folder / "record.yaml")]
    result = CliRunner().invoke(main, ["diagnose", *files, "--site", str(folder / "site"), "--load", "L9"])
    assert (result.exit_code, result.stdout) == (2, "")
    assert "no load 'L9' in this plan" in result.stderr
