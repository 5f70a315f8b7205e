"""The page on tests keeps its word: its calendar is read, its command prints what it shows."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from patency.cli import main
from tests.docs.test_commissioning_page import differs

PAGE = (Path(__file__).parents[2] / "docs" / "calendar.md").read_text(encoding="utf-8")


def test_the_calendar_of_the_page_stands_as_it_shows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    text = re.findall(r"^```yaml\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL)[0]
    Path("calendar.yaml").write_text(text, encoding="utf-8")
    (block,) = re.findall(r"^```console\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL)
    call, *shown = block.splitlines()
    result = CliRunner().invoke(main, shlex.split(call)[2:])
    assert result.exit_code == 1, result.output
    assert differs(shown, result.stdout.splitlines()) == ""
