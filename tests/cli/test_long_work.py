"""What the command line adds to long work: progress on a terminal, quiet in a pipe, files, the exit status."""

from __future__ import annotations

import io
import json
import runpy
import sys
from dataclasses import replace
from datetime import UTC, datetime
from importlib.metadata import version
from types import SimpleNamespace
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner

import patency.demo
import patency.steps
from patency.cli import main
from patency.cli.progress import tell
from patency.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

    from patency.steps.self_checking import SelfCheck


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        """Say so."""
        return True


def test_progress_is_told_on_a_terminal_each_in_place_of_the_last(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    tell("planning")
    tell("")
    assert terminal.getvalue() == "\r\x1b[2Kplanning\r\x1b[2K"


def test_in_a_pipe_nothing_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    pipe = io.StringIO()
    monkeypatch.setattr(sys, "stderr", pipe)
    tell("planning")
    assert pipe.getvalue() == ""


def test_the_module_does_what_the_command_does(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "argv", ["patency", "--version"])
    with pytest.raises(SystemExit) as end:
        runpy.run_module("patency", run_name="__main__")
    assert end.value.code == 0
    assert capsys.readouterr().out.split()[-1] == version("patency")


@pytest.fixture(scope="module")
def checked() -> SelfCheck:
    """Run the self-check once for all tests."""
    return patency.steps.self_check(datetime(2026, 5, 12, tzinfo=UTC))


def test_the_self_check_is_a_table_data_and_a_pdf_to_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, checked: SelfCheck
) -> None:
    monkeypatch.setattr(patency.steps, "self_check", lambda _: checked)
    for words in ((), ("--json",)):
        pdf = tmp_path / f"table{len(words)}.pdf"
        found = CliRunner().invoke(main, ["self-check", "--pdf", str(pdf), *words])
        assert found.exit_code == 0
        assert pdf.read_bytes().startswith(b"%PDF")
    assert json.loads(found.stdout)["format"] == "patency-self-check/1"


def test_a_value_that_differs_from_the_published_one_falls_short(
    monkeypatch: pytest.MonkeyPatch, checked: SelfCheck
) -> None:
    first, *others = checked.results
    wrong = replace(checked, results=(replace(first, computed=2.0 * first.computed + 1.0, agrees=False), *others))
    monkeypatch.setattr(patency.steps, "self_check", lambda _: wrong)
    assert CliRunner().invoke(main, ["self-check"]).exit_code == 1


@pytest.mark.parametrize(("findings", "status"), [((), 0), (("a rule is broken",), 1)])
def test_the_demo_ends_by_what_the_second_check_of_its_plan_found(
    findings: tuple[str, ...], status: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []

    def run(folder: Path, texts: dict[str, str], *_: object) -> SimpleNamespace:
        asked.append((folder, sorted(texts)))
        return SimpleNamespace(check=SimpleNamespace(findings=findings))

    monkeypatch.setattr(patency.demo, "run_demo_day", run)
    monkeypatch.setattr(patency.demo, "summary_text", lambda _: "what came of it")
    monkeypatch.setattr(patency.demo, "summary_data", lambda _: {"format": "patency-demo/1"})
    found = CliRunner().invoke(main, ["demo", "--out", str(tmp_path / "day")])
    assert (found.exit_code, found.stdout, found.stderr) == (status, "what came of it\n", "")
    assert asked == [(tmp_path / "day", sorted(patency.demo.larkmere_texts()))]


def test_a_demo_into_a_folder_with_something_else_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def run(folder: Path, *_: object) -> None:
        raise InputError(str(folder), "holds something else than an earlier demo", "a new or empty folder")

    monkeypatch.setattr(patency.demo, "run_demo_day", run)
    found = CliRunner().invoke(main, ["demo", "--out", str(tmp_path)])
    assert found.exit_code == 2
    assert found.stderr.startswith(f"{tmp_path}: holds something else")
