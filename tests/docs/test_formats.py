"""The page on file formats names the keys and units there are, and no others."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from patency.catalogue import Department, read_department
from patency.errors import InputErrors
from patency.quantities import UNITS

PAGE = (Path(__file__).parents[2] / "docs" / "formats.md").read_text(encoding="utf-8")


def table(head: str) -> dict[str, str]:
    """Read a table of two columns from the page: first cell to second."""
    rows = PAGE.partition(f"| {head} |\n| --- | --- |\n")[2].partition("\n\n")[0]
    return dict(re.findall(r"^\| (.*?) \| (.*?) \|$", rows, re.MULTILINE))


def test_every_key_of_a_department_stands_in_the_table() -> None:
    keys = [key for cell in table("key | what it holds") for key in re.findall(r"`(\w+)`", cell)]
    assert sorted(keys) == sorted(Department.model_fields)


def test_every_unit_that_is_read_stands_in_the_table() -> None:
    units = table("quantity | units")
    assert units.pop("number").startswith("none")
    assert {name: cell.split(", ") for name, cell in units.items()} == {
        name: list(of) for name, of in UNITS.items() if name != "number"
    }


@pytest.mark.parametrize(
    ("written", "read"), [("no", "no"), ("11:50", "11:50"), ("2026-03-31", "2026-03-31"), ('"4"', "4")]
)
def test_what_the_page_calls_text_is_text(written: str, read: str) -> None:
    assert re.search(rf"`{re.escape(written)}`", PAGE)
    assert read_department({"a.yaml": f"site: {written}\nlanguages: [en]"}).site == read


@pytest.mark.parametrize("written", ["7", "1.5", "true", "~"])
def test_what_is_clearly_no_text_is_none(written: str) -> None:
    with pytest.raises(InputErrors, match="site"):
        read_department({"a.yaml": f"site: {written}\nlanguages: [en]"})
