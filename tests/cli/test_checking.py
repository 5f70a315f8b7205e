"""``patency check``: lines for people, one object for programs, and the exit status."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner, Result

from patency.cli import main
from patency.load import write_plan
from tests.small_plan import SMALL_PLAN
from tests.small_site import SMALL_SITE

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, text in SMALL_SITE.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    (tmp_path / "plan.json").write_text(write_plan(SMALL_PLAN), encoding="utf-8")
    return tmp_path


def check(folder: Path, *more: str) -> Result:
    return CliRunner().invoke(main, ["check", str(folder / "plan.json"), "--site", str(folder), *more])


def break_it(folder: Path, old: str, new: str) -> None:
    text = write_plan(SMALL_PLAN)
    assert old in text
    (folder / "plan.json").write_text(text.replace(old, new), encoding="utf-8")


def test_a_good_plan_ends_with_zero(folder: Path) -> None:
    result = check(folder)
    assert result.exit_code == 0, result.output
    assert result.stdout.splitlines()[-1].endswith("places that break one: 0, left open by missing data: 0")


def test_the_help_says_why_what_is_open_ends_otherwise_than_in_site_check() -> None:
    told = " ".join(CliRunner().invoke(main, ["check", "--help"]).stdout.split())
    assert "it breaks no rule, so it alone ends with 0" in told
    assert "patency site check" in told


def test_a_broken_plan_ends_with_one_and_a_line_for_each_finding(folder: Path) -> None:
    break_it(folder, '"taper_cap"', '"hose_cap"')
    result = check(folder)
    assert result.exit_code == 1
    assert result.stdout.splitlines()[0] == "load L1, port T1: hose_cap does not close it (rule: caps fit)"


def test_programs_get_the_same_as_one_object(folder: Path) -> None:
    break_it(folder, '"taper_cap"', '"hose_cap"')
    result = check(folder, "--json")
    data = json.loads(result.stdout)
    assert result.exit_code == 1
    assert (data["format"], data["open_points"]) == ("patency-plan-check/1", [])
    assert [(found["rule"], found["port"], found["answer"]) for found in data["findings"]] == [("caps fit", "T1", "no")]


def test_what_is_left_open_is_listed_and_breaks_nothing(folder: Path) -> None:
    text = SMALL_SITE["instruments.yaml"].replace("        mass: 250 g\n", "")
    (folder / "instruments.yaml").write_text(text, encoding="utf-8")
    result = check(folder)
    assert result.exit_code == 0
    assert result.stdout.splitlines()[0] == "open: load L1: the mass of 1 pieces is not known (rule: mass)"


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"patency-plan/1"', '"patency-plan/9"', "format"),
        ('"port": "T1"', '"port": 1', "capped_ports[0].port"),
        ('"way_up": "coiled"', '"way_up": "sideways"', "way_up"),
        ("{", "", "plan.json"),
    ],
)
def test_a_plan_that_cannot_be_read_ends_with_two_and_one_line(folder: Path, old: str, new: str, words: str) -> None:
    break_it(folder, old, new)
    result = check(folder)
    assert (result.exit_code, result.stdout) == (2, "")
    assert words in result.stderr
    assert all(line.startswith(str(folder)) for line in result.stderr.splitlines())


def test_a_department_that_cannot_be_read_ends_with_two(folder: Path) -> None:
    (folder / "site.yaml").write_text("site: [", encoding="utf-8")
    result = check(folder)
    assert (result.exit_code, result.stdout) == (2, "")
    assert "site.yaml" in result.stderr
