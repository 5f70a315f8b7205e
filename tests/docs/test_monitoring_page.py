"""The page on following results keeps its word: its files are read, its commands print what it shows."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from patency.cli import main
from tests.docs.test_commissioning_page import differs

DOCS = Path(__file__).parents[2] / "docs"
PAGE = (DOCS / "monitoring.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL)


def test_the_charts_of_the_page_are_those_it_shows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("charts.yaml").write_text(blocks("yaml")[0], encoding="utf-8")
    Path("results.csv").write_text(blocks("text")[0], encoding="utf-8")
    (block,) = blocks("console")
    call, *shown = block.splitlines()
    result = CliRunner().invoke(main, shlex.split(call)[2:])
    assert result.exit_code == 1, result.output
    assert differs(shown, result.stdout.splitlines()) == ""
    drawn = sorted(Path("charts").iterdir())
    assert len(drawn) == 2
    for picture in (drawn[0], DOCS / "pictures" / "control-chart.svg"):
        assert {"rise since V-306", "upper limit"} <= set(
            re.findall(r"<text[^>]*>([^<]*)</text>", picture.read_text("utf-8"))
        )


def test_the_pieces_of_the_page_are_chosen(tmp_path: Path) -> None:
    file = tmp_path / "waiting.yaml"
    file.write_text(blocks("yaml")[1], encoding="utf-8")
    result = CliRunner().invoke(main, ["monitor", "inspection", str(file)])
    assert result.exit_code == 0, result.output
    assert [line.split(":")[0] for line in result.stdout.splitlines()[:3]] == ["trocar-01", "grasper-01", "grasper-03"]


def test_the_packs_of_the_page_are_compared(tmp_path: Path) -> None:
    file = tmp_path / "packs.csv"
    file.write_text(blocks("text")[1], encoding="utf-8")
    result = CliRunner().invoke(main, ["monitor", "wet-packs", str(file)])
    assert result.exit_code == 0, result.output
    assert result.stdout.splitlines()[0].startswith("by chance     position drain: 2 of 2 wet, 1.0 expected; chance ")
