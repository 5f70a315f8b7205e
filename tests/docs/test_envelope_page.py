"""The page on what was validated shows, line by line, what the command says of the load the demo plans."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from patency.cli import main
from patency.demo import larkmere_texts
from patency.load import write_plan
from tests.plan.larkmere import larkmere_plan

PAGE = (Path(__file__).parents[2] / "docs" / "validated-envelope.md").read_text(encoding="utf-8")


def shown_answers() -> list[str]:
    """Return the indented answers of the page, each with its further lines joined to it."""
    block = PAGE.split("## What the answer looks like")[1].split("The **nearest**")[0]
    answers: list[str] = []
    for line in re.findall(r"^ {4}(.*)$", block, re.MULTILINE):
        if line.startswith(" "):
            answers[-1] += f" {line.strip()}"
        else:
            answers.append(line)
    return answers


@pytest.mark.slow
def test_the_page_shows_what_the_command_says_of_the_demos_own_plan(tmp_path: Path) -> None:
    for name, text in larkmere_texts().items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    plan = larkmere_plan()
    (load,) = (load for load in plan.loads if set(load.sets) == {"Long Colon", "Pelvis Two"})
    path = tmp_path / "plan.json"
    path.write_text(write_plan(plan), encoding="utf-8")
    result = CliRunner().invoke(main, ["envelope", str(path), "--site", str(tmp_path), "--load", load.id])
    assert result.exit_code == 1
    shown = shown_answers()
    assert len(shown) == 4
    assert [answer for answer in shown if answer not in result.stdout.splitlines()] == []
    assert f"for {load.id}: 7 lumens stand for all" in result.stdout
    assert "needs 7 of its 31 lumens" in " ".join(PAGE.split())
