"""The page on the water in a load keeps its word: its command runs and draws what the page shows."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from patency.cli import main
from patency.load import write_plan
from tests.small_plan import SMALL_PLAN
from tests.small_site import SMALL_SITE

DOCS = Path(__file__).parents[2] / "docs"
PAGE = (DOCS / "physics-load.md").read_text(encoding="utf-8")


def test_the_command_of_the_page_runs_and_draws_the_charts_it_shows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for folder in ("mine", "out"):
        Path(folder).mkdir()
    for name, text in SMALL_SITE.items():
        Path("mine", name).write_text(text, encoding="utf-8")
    Path("out", "plan.json").write_text(write_plan(SMALL_PLAN), encoding="utf-8")
    (line,) = re.findall(r"^\$ patency (.*)$", PAGE, re.MULTILINE)
    result = CliRunner().invoke(main, line.split())
    assert result.exit_code == 0, result.output
    shown = re.findall(r"\]\(pictures/load-(\w+)\.svg\)", PAGE)
    assert {path.name for path in Path("out").glob("*.svg")} == {f"load-L1-{name}.svg" for name in shown}
    assert all((DOCS / "pictures" / f"load-{name}.svg").exists() for name in shown)
