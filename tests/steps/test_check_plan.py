"""Checking a plan file against a department's folder: what is found, what is left open, what cannot be used."""

from __future__ import annotations

import runpy
from pathlib import Path

import pytest

from patency.errors import InputError, InputErrors
from patency.load import write_plan
from patency.plan import RULES
from patency.steps import check_plan_file
from tests.small_plan import SMALL_PLAN
from tests.small_site import SMALL_SITE, changed


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    site = tmp_path / "site"
    site.mkdir()
    for name, text in SMALL_SITE.items():
        (site / name).write_text(text, encoding="utf-8")
    return site


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    file = tmp_path / "plan.json"
    file.write_text(write_plan(SMALL_PLAN), encoding="utf-8")
    return file


def test_a_good_plan_is_found_to_break_nothing(plan: Path, folder: Path) -> None:
    found = check_plan_file(plan, folder)
    assert (found.site, found.loads, found.rules) == ("Small Infirmary (invented)", 1, len(RULES))
    assert (found.findings, found.open_points) == ((), ())


def test_a_plan_made_for_another_stock_is_found(plan: Path, folder: Path) -> None:
    texts = changed(SMALL_SITE, "name: cap for the taper\n    stock: 1", "name: cap for the taper\n    stock: 0")
    (folder / "equipment.yaml").write_text(texts["equipment.yaml"], encoding="utf-8")
    found = check_plan_file(plan, folder)
    assert [finding.rule for finding in found.findings] == ["stock of caps"]
    assert found.data["format"] == "patency-plan-check/1"


def test_a_plan_that_is_not_there_is_refused(folder: Path) -> None:
    with pytest.raises(InputError, match=r"nowhere\.json: No such file or directory"):
        check_plan_file(Path("nowhere.json"), folder)


def test_every_fault_of_a_plan_is_told_with_its_file(plan: Path, folder: Path) -> None:
    text = plan.read_text(encoding="utf-8").replace('"loads_at_least": 1', '"loads_at_most": 1')
    plan.write_text(text, encoding="utf-8")
    with pytest.raises(InputErrors) as refused:
        check_plan_file(plan, folder)
    assert all(fault.line.startswith(str(plan)) for fault in refused.value.faults)


def test_a_department_without_a_working_day_is_refused(plan: Path, folder: Path) -> None:
    text = SMALL_SITE["instruments.yaml"]
    (folder / "instruments.yaml").write_text(text[: text.index("day:")], encoding="utf-8")
    with pytest.raises(InputError, match="no working day is described"):
        check_plan_file(plan, folder)


def test_the_page_of_rules_is_the_one_made_from_the_list() -> None:
    docs = Path(__file__).parents[2] / "docs"
    made = runpy.run_path(str(docs / "make_rules.py"))["page"]()
    assert (docs / "checking-a-plan.md").read_text(encoding="utf-8") == made, "run: python docs/make_rules.py"
