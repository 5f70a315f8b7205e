"""The way from a carrier of which only sizes are known to a commissioned model can be walked as its page says."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from patency.cli import main
from patency.steps import read_planned
from tests.cli.test_commission_cycles import write_cycles
from tests.docs.test_pages import snippets
from tests.flow.commissioning.kept_cycles import planned

PAGE = (Path(__file__).parents[2] / "docs" / "commissioning.md").read_text(encoding="utf-8")
CALLS = [
    (call, block.splitlines()[1:])
    for text in re.findall(r"^```console\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL)
    for block in re.split(r"^\$ ", text, flags=re.MULTILINE)[1:]
    if (call := block.splitlines()[0])
]


def differs(shown: list[str], printed: list[str]) -> str:
    """Name the first line of a page that was not printed in its place; ``...`` stands for what is left out."""
    rest = iter(printed)
    left_out = False
    for line in shown:
        if line == "...":
            left_out = True
            continue
        begins, dots, _ = line.partition("...")
        for found in rest:
            if found == line or (dots and found.startswith(begins)):
                break
            if not left_out:
                return f"{line!r} is shown, {found!r} was printed"
        else:
            return f"{line!r} was not printed"
        left_out = False
    return "" if left_out or next(rest, None) is None else "more was printed than is shown"


def keep_cycles() -> None:
    """Keep the cycles the page speaks of: a pump of 0.97 of its curve, that loses a little a day from day 20 on.

    The sensor shows as much too little as on the page's bench.
    """
    department, plan = read_planned(Path("out/plan.json"), Path("mine"))
    described = planned(department.model_copy(update={"commissioned": {}}), plan.loads[0])
    share = 0.97 * np.concatenate((np.ones(20), 1.0 - 1.2e-3 * np.arange(1, 11)))
    readings = described * share[:, None] * (1.0 + 2e-3 * np.random.default_rng(5).normal(size=(30, 4))) - 240.0
    write_cycles(Path("cycles.json"), readings, plan.loads[0])


def test_every_command_of_the_page_prints_what_the_page_shows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("mine").mkdir()
    for name, text in snippets():
        (Path("mine") / name).write_text(text, encoding="utf-8")
    for name, text in re.findall(r"^`([a-z]+\.csv)`:\n\n```text\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL):
        Path(name).write_text(text, encoding="utf-8")
    assert len(CALLS) == 10
    statuses = []
    for call, shown in CALLS:
        if "cycles.json" in call:
            keep_cycles()
        result = CliRunner().invoke(main, shlex.split(call)[1:])
        assert result.exit_code in {0, 1}, (call, result.output)
        assert differs(shown, result.stdout.splitlines()) == "", call
        statuses.append(result.exit_code)
    assert statuses[1:5] == [0, 0, 0, 0]
    assert statuses[6:] == [1, 0, 1, 0]  # a port is flagged, and then a pressure
    assert '"commissioned": {\n' in Path("out/plan.json").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("shown", "printed", "fault"),
    [
        (["a", "b"], ["a", "b"], ""),
        (["a", "...", "d"], ["a", "b", "c", "d"], ""),
        (["id ..."], ["id 12"], ""),
        (["a", "c"], ["a", "b", "c"], "'c' is shown, 'b' was printed"),
        (["a", "...", "e"], ["a", "b"], "'e' was not printed"),
        (["a"], ["a", "b"], "more was printed than is shown"),
    ],
)
def test_a_page_that_shows_something_else_is_found(shown: list[str], printed: list[str], fault: str) -> None:
    assert differs(shown, printed) == fault
