"""``patency plan`` and ``patency sheet``."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner, Result

from patency.cli import main
from tests.small_site import SMALL_SITE, changed

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path


def site(folder: Path, texts: Mapping[str, str] = SMALL_SITE) -> str:
    for name, text in texts.items():
        folder.mkdir(exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    return str(folder)


def call(*words: str) -> Result:
    return CliRunner().invoke(main, words)


def test_a_plan_is_written_passes_the_second_check_and_its_sheets_are_printed(tmp_path: Path) -> None:
    folder, out = site(tmp_path / "site"), tmp_path / "out"
    planned = call("plan", folder, "--out", str(out))
    assert planned.exit_code == 0, planned.output
    assert "1 load, proven fewest" in planned.stdout
    assert planned.stdout.splitlines()[-4:] == [
        f"written: {out / 'plan.json'}",
        f"written: {out / 'answers.json'}",
        f"next: patency check {out / 'plan.json'} --site {folder}",
        f"then: patency sheet {out / 'plan.json'} --site {folder} --out {out}",
    ]
    plan = str(out / "plan.json")
    answers = json.loads((out / "answers.json").read_text(encoding="utf-8"))
    (load,) = answers["loads"]
    assert load["count"]["reached"] == {"yes": 0, "no": 0, "unknown": len(load["pieces"])}
    assert load["count"]["fed"]["yes"] == len(load["pieces"])
    assert any(figure["limit"] for one in load["pieces"] for figure in one["replies"]["fed"]["figures"])
    assert call("check", plan, "--site", folder).exit_code == 0
    printed = call("sheet", plan, "--site", folder, "--out", str(out / "sheets"), "--json")
    written = json.loads(printed.stdout)["written"]
    assert [name.rsplit(".", 1)[1] for name in written] == ["pdf", "html"]
    assert all((out / "sheets" / name.rsplit("/", 1)[1]).exists() for name in written)


def test_programs_get_the_plan_itself(tmp_path: Path) -> None:
    answer = json.loads(call("plan", site(tmp_path / "site"), "--json").stdout)
    assert answer["format"] == "patency-plan/1"
    assert answer["proven_fewest"] is True
    assert {load["carrier"] for load in answer["loads"]} == {"Wren"}


def test_a_set_that_cannot_be_planned_is_left_out_with_its_reason_and_status_one(tmp_path: Path) -> None:
    held = changed(SMALL_SITE, "    soiled_side: 8 min\n", "    soiled_side: 8 min\n    hold: tag unreadable\n")
    result = call("plan", site(tmp_path / "site", held))
    assert result.exit_code == 1
    assert "left out: Noon" in result.stdout
    assert result.stdout.splitlines()[-1].startswith("nothing was written; --out DIRECTORY")
    assert "tag unreadable" in result.stdout


def test_a_piece_not_known_to_be_fed_is_named_and_falls_short(tmp_path: Path) -> None:
    unasked = changed(SMALL_SITE, "    least_flow: {value: 50 mL/min, source: no source}\n", "")
    result = call("plan", site(tmp_path / "site", unasked))
    assert result.exit_code == 1
    assert "Morning, sleeve11/1/sleeve: fed unknown: " in result.stdout


def test_a_plan_for_another_site_prints_no_sheet(tmp_path: Path) -> None:
    folder, out = site(tmp_path / "site"), tmp_path / "out"
    call("plan", folder, "--out", str(tmp_path))
    text = (tmp_path / "plan.json").read_text(encoding="utf-8")
    (tmp_path / "plan.json").write_text(text.replace("Small Infirmary", "Large Infirmary"), encoding="utf-8")
    result = call("sheet", str(tmp_path / "plan.json"), "--site", folder, "--out", str(out))
    assert result.exit_code == 2
    assert "a plan for 'Large Infirmary" in result.stderr
    assert not out.exists()


def test_a_department_without_a_day_cannot_be_planned(tmp_path: Path) -> None:
    text = SMALL_SITE["instruments.yaml"]
    texts = {**SMALL_SITE, "instruments.yaml": text[: text.index("\nday:")] + "\n"}
    result = call("plan", site(tmp_path / "site", texts), "--out", str(tmp_path / "out"))
    assert result.exit_code == 2
    assert "no working day is described" in result.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("broken", ["{", '{"format": "patency-plan/1"}', "[]"])
def test_a_broken_plan_prints_no_sheet(tmp_path: Path, broken: str) -> None:
    (tmp_path / "plan.json").write_text(broken, encoding="utf-8")
    out = tmp_path / "out"
    result = call("sheet", str(tmp_path / "plan.json"), "--site", site(tmp_path / "site"), "--out", str(out))
    assert (result.exit_code, result.stdout) == (2, "")
    assert "plan.json" in result.stderr
    assert not out.exists()


def test_names_the_department_does_not_know_print_no_sheet(tmp_path: Path) -> None:
    folder = site(tmp_path / "site")
    call("plan", folder, "--out", str(tmp_path))
    text = (tmp_path / "plan.json").read_text(encoding="utf-8")
    (tmp_path / "plan.json").write_text(text.replace('"Wren"', '"Raven"'), encoding="utf-8")
    result = call("sheet", str(tmp_path / "plan.json"), "--site", folder, "--out", str(tmp_path / "out"))
    assert result.exit_code == 2
    assert "Raven" in result.stderr


def test_staying_fed_in_a_fault_is_planned_for_and_its_cost_is_told(tmp_path: Path) -> None:
    folder = site(tmp_path / "site")
    result = call("plan", folder, "--stay-fed", "hose off at the port", "--stay-fed", "arm stuck")
    assert result.exit_code == 0, result.output
    assert "staying fed in every single fault (arm stuck, hose off at the port) costs nothing" in result.stdout
    answer = json.loads(call("plan", folder, "--stay-fed", "hose off at the port", "--json").stdout)
    assert answer["stays_fed"] == {
        "fault_kinds": ["hose off at the port"],
        "costs": [],
        "would_buy": [],
        "would_not_do": [],
        "not_computed": [],
    }
    open_question = call("plan", folder, "--stay-fed", "arm lost").stdout
    assert "staying fed in every single fault (arm lost) costs nothing, as far as it can be computed" in open_question
    assert (
        "not known to stay fed: load L1: arm lost, lower: the feed it would leave open is not described"
        in open_question
    )


def test_what_the_time_limit_cuts_short_is_said_and_stands_in_the_plan(tmp_path: Path) -> None:
    folder, out = site(tmp_path / "site"), tmp_path / "out"
    result = call("plan", folder, "--seconds", "0", "--out", str(out))
    plan = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    cut = plan["cut_short"]
    assert "load L1: what the jets strike" in cut
    assert [f"cut short by the time limit: {line}" for line in cut] == [
        line for line in result.stdout.splitlines() if line.startswith("cut short")
    ]
    assert plan["loads"]
    asked = call("plan", folder, "--seconds", "0", "--stay-fed", "hose off at the port").stdout
    assert "staying fed in every single fault (hose off at the port) costs nothing" in asked
    assert "cut short by the time limit: " in asked
    assert "cut short" not in call("plan", folder, "--seconds", "600").stdout


def test_a_time_below_zero_is_refused_in_one_line(tmp_path: Path) -> None:
    result = call("plan", str(tmp_path), "--seconds", "-1")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == "patency plan: Invalid value for '--seconds': -1.0 is not in the range x>=0.\n"


def test_a_fault_of_no_kind_is_refused_in_one_line(tmp_path: Path) -> None:
    result = call("plan", site(tmp_path / "site"), "--stay-fed", "hose gone")
    assert result.exit_code == 2
    (line,) = result.stderr.splitlines()
    assert "kind of fault" in line
    assert "'hose off at the port'" in line
