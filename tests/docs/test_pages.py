"""The pages keep their word: schemas are current, and the way from an empty folder to a first plan can be walked."""

from __future__ import annotations

import json
import re
import runpy
from itertools import takewhile
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner

from patency.cli import main
from patency.quantities import UNITS

if TYPE_CHECKING:
    from collections.abc import Iterator

DOCS = Path(__file__).parents[2] / "docs"
SCHEMAS = runpy.run_path(str(DOCS / "make_schemas.py"))


@pytest.mark.parametrize("name", sorted(SCHEMAS["schemas"]()))
def test_a_schema_is_made_from_the_types_that_read_the_file(name: str) -> None:
    made = SCHEMAS["text"](SCHEMAS["schemas"]()[name])
    assert (DOCS / "schemas" / name).read_text(encoding="utf-8") == made, "run: python docs/make_schemas.py"


def test_no_schema_is_left_over() -> None:
    assert {path.name for path in (DOCS / "schemas").iterdir()} == set(SCHEMAS["schemas"]())


def rows_below(page: str, heading: str) -> list[list[str]]:
    """Return the cells of the table under a line that begins with a heading."""
    lines = (DOCS / page).read_text(encoding="utf-8").split(f"\n{heading}", 1)[1].splitlines()[2:]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in takewhile(str.strip, lines)]


def test_the_page_of_formats_names_every_unit_that_is_read() -> None:
    named = {quantity: units.split(", ") for quantity, units in rows_below("formats.md", "| quantity | units |")}
    assert named.pop("number").pop(0).startswith("none")
    assert named == {name: list(units) for name, units in UNITS.items() if name != "number"}


def test_the_page_of_formats_names_every_key_of_a_department() -> None:
    cells = [key for key, _ in rows_below("formats.md", "| key | what it holds |")]
    named = [key for cell in cells for key in re.findall(r"`(\w+)`", cell)]
    assert sorted(named) == sorted(SCHEMAS["schemas"]()["department.json"]["properties"])


def snippets() -> Iterator[tuple[str, str]]:
    """Each file the page on describing a department lets the reader write: its name and its text."""
    page = (DOCS / "describe-your-department.md").read_text(encoding="utf-8")
    yield from re.findall(r"^`([a-z-]+\.yaml)`:\n\n```yaml\n(.*?)^```", page, re.MULTILINE | re.DOTALL)


def test_the_department_of_the_page_is_described_planned_checked_and_printed(tmp_path: Path) -> None:
    folder, out = tmp_path / "mine", tmp_path / "out"
    folder.mkdir()
    run = CliRunner().invoke
    for name, text in snippets():
        (folder / name).write_text(text, encoding="utf-8")
        checked = run(main, ["site", "check", str(folder)])
        assert checked.exit_code == 0, checked.output
    planned = run(main, ["plan", str(folder), "--out", str(out), "--json"])
    assert planned.exit_code == 0, planned.output
    assert len(json.loads(planned.stdout)["loads"]) == 1
    assert run(main, ["check", str(out / "plan.json"), "--site", str(folder)]).exit_code == 0
    printed = run(main, ["sheet", str(out / "plan.json"), "--site", str(folder), "--out", str(out)])
    assert printed.exit_code == 0
    answers = json.loads((out / "answers.json").read_text(encoding="utf-8"))
    assert answers["loads"][0]["count"]["fed"]["yes"] == len(answers["loads"][0]["pieces"])


def test_the_page_writes_every_file_once_and_says_so() -> None:
    names = [name for name, _ in snippets()]
    assert len(names) == len(set(names)) >= 5
