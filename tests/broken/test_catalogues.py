"""Departments broken on purpose, each in one way: each is refused with one line that names the place."""

from __future__ import annotations

from pathlib import Path
from typing import TypedDict

import pytest
import yaml
from click.testing import CliRunner

from patency.catalogue import read_department
from patency.cli import main
from patency.errors import InputErrors
from tests.small_site import SMALL_SITE, changed


class Broken(TypedDict):
    """One way to break the small department."""

    what: str
    was: str
    now: str
    says: str
    """The whole line; where it ends with …, what stands before that."""


BROKEN: list[Broken] = yaml.safe_load(Path(__file__).with_name("catalogues.yaml").read_text(encoding="utf-8"))


def agrees(line: str, says: str) -> bool:
    """Tell whether a line is the one expected."""
    return line.startswith(says.removesuffix("…")) if says.endswith("…") else line == says


@pytest.mark.parametrize("broken", BROKEN, ids=lambda broken: broken["what"])
def test_each_broken_catalogue_is_refused_with_one_line_that_names_the_place(broken: Broken) -> None:
    with pytest.raises(InputErrors) as refused:
        read_department(changed(SMALL_SITE, broken["was"], broken["now"]))
    lines = [fault.line for fault in refused.value.faults]
    assert len(lines) == 1, lines
    assert agrees(lines[0], broken["says"]), lines[0]
    assert "\n" not in lines[0]


@pytest.mark.parametrize("broken", BROKEN[::15], ids=lambda broken: broken["what"])
def test_the_command_ends_with_2_and_prints_that_line_only(broken: Broken, tmp_path: Path) -> None:
    for name, text in changed(SMALL_SITE, broken["was"], broken["now"]).items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    before = {file: file.read_bytes() for file in tmp_path.iterdir()}
    result = CliRunner().invoke(main, ["site", "check", str(tmp_path), "--json"])
    assert (result.exit_code, result.stdout) == (2, "")
    assert agrees(result.stderr.rstrip("\n"), broken["says"])
    assert {file: file.read_bytes() for file in tmp_path.iterdir()} == before


def test_no_way_to_break_it_is_listed_twice() -> None:
    assert len({broken["what"] for broken in BROKEN}) == len(BROKEN) >= 100
