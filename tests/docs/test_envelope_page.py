"""The page on what was validated shows what the command says of the demo's load."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

from click.testing import CliRunner

from patency.cli import main
from patency.demo import larkmere_texts
from patency.load import Plan, write_plan
from tests.demo.larkmere import hand_made_load, larkmere
from tests.papers.cast import in_holders

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


def test_the_page_shows_what_the_command_says(tmp_path: Path) -> None:
    for name, text in larkmere_texts().items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    plan = Plan(
        site=larkmere().site,
        day=date(2026, 5, 12),
        loads=(in_holders(hand_made_load("L3")),),
        loads_at_least=1,
        proven_fewest=True,
        objective={},
        bound={},
    )
    path = tmp_path / "plan.json"
    path.write_text(write_plan(plan), encoding="utf-8")
    result = CliRunner().invoke(main, ["envelope", str(path), "--site", str(tmp_path), "--load", "L3"])
    assert result.exit_code == 1
    shown = shown_answers()
    assert len(shown) == 4
    for answer in shown:
        assert answer in result.stdout
    assert "for L3: 7 lumens stand for all" in result.stdout
    assert "needs 7 of its 31 lumens" in " ".join(PAGE.split())
