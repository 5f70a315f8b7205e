"""The page on faults keeps its word: its commands run, its example works, its figures are those computed."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from patency.cli import main
from patency.flow import AGAINST_THE_SAME_LOAD, Alarm, FaultKind, advise_sensors, solve_load
from patency.flow.blind_spots.eye_checks import Look
from patency.load import write_plan
from tests.demo.larkmere import hand_made_load, larkmere
from tests.small_plan import SMALL_PLAN
from tests.small_site import SMALL_SITE, small_department

PAGE = (Path(__file__).parents[2] / "docs" / "faults.md").read_text(encoding="utf-8")


def test_the_commands_of_the_page_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    for folder in ("mine", "out"):
        Path(folder).mkdir()
    for name, text in SMALL_SITE.items():
        Path("mine", name).write_text(text, encoding="utf-8")
    Path("out", "plan.json").write_text(write_plan(SMALL_PLAN), encoding="utf-8")
    lines = re.findall(r"^\$ patency (.*)$", PAGE, re.MULTILINE)
    assert len(lines) == 2
    for line in lines:
        result = CliRunner().invoke(main, line.split())
        assert result.exit_code == 1, result.output  # a rod on the wall is seen by nobody
    assert Path("out", "load-L1-faults.svg").exists()
    assert Path("out", "load-L1-faults.txt").exists()


def test_the_example_in_python_works() -> None:
    (source,) = re.findall(r"^```python\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL)
    names: dict[str, Any] = {"department": small_department(), "load": SMALL_PLAN.loads[0], "day": SMALL_PLAN.day}
    exec(source, names)
    assert len(names["spots"].probability[AGAINST_THE_SAME_LOAD.name]) == len(names["effects"].faults)


def test_what_the_page_says_further_sensors_show_is_what_they_show() -> None:
    load = hand_made_load("L2")
    advice = advise_sensors(larkmere(), load, solve_load(larkmere(), load), Alarm())
    built, narrowed = (each[AGAINST_THE_SAME_LOAD.name] for each in (advice.as_built, advice.with_orifices))
    assert built.best_one.sensors == ("flow at dock",)
    assert set(built.best_two.sensors) == {"flow at dock", "flow at nozzle rail"}
    words = (
        f"In a full load of the demo ({built.faults} faults, held against earlier cycles of the same load) the fitted "
        f"sensors show {built.as_fitted.seen}, one flow sensor at the dock {built.best_one.seen}, a second at the "
        f"nozzle rail {built.best_two.seen}; a pressure sensor at every place shows {built.all_pressures.seen}, and "
        f"{narrowed.all_pressures.seen} with orifices, which cost a lumen up to {advice.largest_flow_loss * 100:.0f} % "
        "of its flow."
    )
    assert words in " ".join(PAGE.split())


def test_the_page_names_every_kind_of_fault_and_every_glance() -> None:
    told = PAGE.lower()
    for kind in FaultKind:
        words = {
            FaultKind.STRAINER_CLOGGED: "strainer, machine's sieve half clogged",
            FaultKind.SIEVE_CLOGGED: "strainer, machine's sieve half clogged",
            FaultKind.PUMP_AT_90: "pump at 90 %, at 80 % of its speed",
            FaultKind.PUMP_AT_80: "pump at 90 %, at 80 % of its speed",
        }.get(kind, kind.value)
        assert f"| {words} |" in told, kind
    assert [look.value for look in Look if look.value not in told] == []
