"""The commands shown on the page of the ledger do what the page says, and its table of states is the one in force."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest
from click.testing import CliRunner

from patency.cli import main
from patency.ledger import SetState, next_states, open_ledger
from tests.ledger.quay import Desk

PAGE = (Path(__file__).parents[2] / "docs" / "ledger.md").read_text(encoding="utf-8")
SHOWN = re.findall(r"^patency (ledger .*)$", PAGE, re.MULTILINE)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Keep a small ledger under the names of the page."""
    folder = tmp_path_factory.mktemp("page")
    desk = Desk(open_ledger(str(folder / "quay.sqlite"), create=True)).opened()
    desk.wash("w1", ["Heron", "Otter"])
    desk.steam("s1", ["Heron", "Otter"])
    desk.use("case-17", "Heron")
    for number in (1, 2, 3):
        desk.sample(f"water-{number}", within=number < 3)
    desk.ledger.close()
    return folder


@pytest.mark.parametrize("line", SHOWN)
def test_a_command_shown_on_the_page_ends_well(folder: Path, line: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(folder)
    ledger = open_ledger("quay.sqlite")
    known = ledger.head()
    ledger.close()
    words = shlex.split(line.replace("120:DIGEST", f"{known.seq}:{known.digest}"))
    result = CliRunner().invoke(main, words)
    assert result.exit_code == 0, result.output


def test_an_export_is_checked_as_the_page_says(folder: Path) -> None:
    result = CliRunner().invoke(
        main, ["ledger", "export", str(folder / "quay.sqlite"), "--out", str(folder / "export")]
    )
    assert result.exit_code == 0
    words = re.findall(r"^python (export/verify_export.py export)$", PAGE, re.MULTILINE)[0].split()
    done = subprocess.run([sys.executable, *words], cwd=folder, capture_output=True, text=True, check=True)
    assert done.stdout == "the chain of events holds\n"


def test_the_table_of_states_is_the_one_in_force() -> None:
    way = re.findall(r"[a-z]+(?:-[a-z]+)?", PAGE.split("## States of a set")[1].split("A new set")[0])
    told = {one: {other} for one, other in pairwise(way)}
    for states, others in re.findall(r"^\| ([a-z, -]+) \| ([a-z, -]+?)(?:;.*)? \|$", PAGE, re.MULTILINE):
        for state in states.split(", "):
            if state in set(SetState):
                told.setdefault(state, set()).update(others.split(", "))
    assert told == {state.value: set(next_states(state)) for state in SetState if next_states(state)}
