"""``patency site check``: lines for people, one object for programs, and the exit status."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner, Result

from patency.cli import main
from tests.small_site import SMALL_SITE, changed

if TYPE_CHECKING:
    from pathlib import Path

MASS = "        mass: 25 g\n"
LINE = SMALL_SITE["instruments.yaml"].split(MASS)[0].count("\n") + 1


def check(folder: Path, was: str = MASS, now: str = MASS, *more: str) -> Result:
    """Check the small department after a change."""
    for name, text in changed(SMALL_SITE, was, now).items():
        (folder / name).write_text(text, encoding="utf-8")
    return CliRunner().invoke(main, ["site", "check", str(folder), *more])


def test_a_department_that_states_everything_ends_with_zero(tmp_path: Path) -> None:
    result = check(tmp_path)
    assert (result.exit_code, result.stderr) == (0, "")
    first, *_, shapes, last = result.stdout.splitlines()
    told = "data of shapes and jets are not stated and no jets are described: reached stays unknown of every piece"
    assert shapes.endswith(told)
    assert first.startswith("Small Infirmary (invented): 2 sets, 5 instrument types, 8 piece types, 3 lumens")
    assert last == "nothing is unknown"


def test_what_there_is_one_of_and_what_is_many_reads_as_such(tmp_path: Path) -> None:
    first = check(tmp_path).stdout.splitlines()[0]
    assert ", 1 carrier, " in first
    assert " accessories, " in first
    unsaid = check(tmp_path, "lowest_ph:", "#lowest_ph:").stdout
    assert "lowest pH is not stated" in unsaid


def test_defaults_that_stand_in_once_are_told_as_once(tmp_path: Path) -> None:
    lines = check(tmp_path).stdout.splitlines()
    assert sum(line.startswith("1 time no ") for line in lines) == 1
    assert not any(line.startswith("1 times ") for line in lines)


def test_a_missing_mass_ends_with_one_and_says_what_it_leaves_open(tmp_path: Path) -> None:
    result = check(tmp_path, MASS, "")
    assert result.exit_code == 1
    line, _, _, last = result.stdout.splitlines()[-4:]
    assert line.startswith("instruments.yaml:")
    assert line.endswith(": instruments.mod5.pieces.tube.mass: the mass is not stated (open: fits, held)")
    assert last == "1 unknown; unknown counts as no"


def test_once_jets_are_described_every_shape_that_is_not_stated_is_unknown(tmp_path: Path) -> None:
    share = "    drain_angle: {value: 15 °, source: common practice}\n"
    result = check(tmp_path, share, f"{share}    struck_share: {{value: 70 %, source: no source}}\n")
    assert result.exit_code == 1
    lines = [line for line in result.stdout.splitlines() if line.endswith("(open: reached)")]
    assert any("carriers.Wren.frame: its pipes and rods are not stated" in line for line in lines)
    held = [line for line in result.stdout.splitlines() if line.endswith("(open: held)")]
    assert [": limits.load.push_share: with which share of its weight" in line for line in held] == [True]
    assert result.stdout.splitlines()[-1] == f"{len(lines) + len(held)} unknown; unknown counts as no"


def test_programs_get_the_same_as_one_object(tmp_path: Path) -> None:
    result = check(tmp_path, MASS, "", "--json")
    data = json.loads(result.stdout)
    assert result.exit_code == 1
    assert data["format"] == "patency-site-check/1"
    assert set(data) == {"format", "site", "counts", "unknowns", "defaults", "commissioned", "shapes_unstated"}
    (one,) = data["unknowns"]
    assert one["place"].startswith("instruments.yaml:")
    assert (one["path"], one["questions"]) == ("instruments.mod5.pieces.tube.mass", ["fits", "held"])


@pytest.mark.parametrize("more", [(), ("--json",)], ids=["people", "programs"])
def test_a_fault_ends_with_two_and_a_line_that_names_file_and_line(tmp_path: Path, more: tuple[str, ...]) -> None:
    result = check(tmp_path, MASS, "        mass: 25\n", *more)
    assert (result.exit_code, result.stdout) == (2, "")
    (line,) = result.stderr.splitlines()
    assert line.startswith(f"instruments.yaml:{LINE}: instruments.mod5.pieces.tube.mass: ")


def test_a_folder_that_is_not_there_ends_with_two(tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["site", "check", str(tmp_path / "nowhere")])
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.startswith(f"{tmp_path}/nowhere: no such folder")
