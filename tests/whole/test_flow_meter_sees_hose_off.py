"""From records with a column of flow to a hose off: recorded, kept as a baseline, diagnosed; through the command line.

A flow meter is added to the invented machine of the demo. The course of every cycle is simulated from the water that
was solved for it, in the last one with the hose truly off. First studies on invented networks said that pressure and
total flow against a baseline of the same load show a hose off and no blocked lumen; here the whole chain has to.
"""

from __future__ import annotations

import json
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from click.testing import CliRunner

from patency.catalogue import Department, read_department
from patency.cli import main
from patency.demo import Mishap, Recorder, SimulatedSensor, larkmere_record, larkmere_texts, sensors_of
from patency.demo.day import _with_hose_off
from patency.flow import nominal_flow_of_load
from patency.load import Load, Plan, write_plan
from patency.steps import RecordFiles, keep_cycle
from tests.demo.larkmere import hand_made_load
from tests.papers.cast import in_holders

if TYPE_CHECKING:
    from pathlib import Path

    from patency.evidence import BaselineFile

METER = "      F1: {quantity: flow, place: circulation, unit: L/min, uncertainty: 1}\n"
PRESSURE = "      P1: {quantity: pressure, place: circulation, unit: mbar, uncertainty: 2, height: -60 mm}\n"
OFF, BLOCKED = "hose off at the port, ", "lumen blocked, "
CYCLES = 16  # one more than the ten readings of five wet stages, and some to spare
# What no two cycles share (assumed, k = 1): the pump's head, and what the two sensors do not follow together.
PUMP, APART = 5e-3, 1e-3


@cache
def texts() -> dict[str, str]:
    """Larkmere with a flow meter at the circulation of the washers for lumens."""
    site = dict(larkmere_texts())
    assert site["machines.yaml"].count(PRESSURE) == 1
    site["machines.yaml"] = site["machines.yaml"].replace(PRESSURE, PRESSURE + METER)
    return site


@cache
def department() -> Department:
    return read_department(texts())


@cache
def sensors() -> tuple[SimulatedSensor, ...]:
    """The machine's sensors with their own errors, which are the same in every cycle."""
    machine = department().machines["Alder"]
    kind, rng = department().machine_kinds[machine.kind], np.random.default_rng(4)
    return sensors_of(kind, rng, machine.sensor_offsets, {"F1": shown(hand_made_load("D1"), 1.0, 1.0)[1]})


def shown(load: Load, head: float, apart: float) -> tuple[dict[str, float], dict[str, float]]:
    """Pressure and total flow at the circulation in each wet stage [Pa, m³/s]; flow goes with the root of the head."""
    stages = nominal_flow_of_load(department(), load).stages
    pressures = {name: head * stage.circulation_pa.nominal for name, stage in stages.items()}
    return pressures, {name: apart * head**0.5 * stage.total_m3_s.nominal for name, stage in stages.items()}


def record(load: Load, rng: np.random.Generator) -> tuple[str, str]:
    """A cycle of a load as it truly stood, with a flow meter beside the pressure sensor."""
    head, apart = 1.0 + PUMP * rng.standard_normal(), 1.0 + APART * rng.standard_normal()
    pressures, flows = shown(load, head, apart)
    per_min = {stage: 6e4 * flow for stage, flow in flows.items()}
    meters = tuple(
        one if one.column != "F1" else SimulatedSensor(**{**_fields(one), "shows": per_min}) for one in sensors()
    )
    recorder = Recorder(machine="Alder", programme=load.programme)
    programme = department().programmes[load.programme]
    return larkmere_record(Mishap.NOTHING, programme, pressures, meters, rng, recorder=recorder)


def _fields(sensor: SimulatedSensor) -> dict[str, Any]:
    return {name: getattr(sensor, name) for name in SimulatedSensor.__slots__}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The site, a plan, a baseline of cycles as planned, a record of one more and one with a hose truly off."""
    where: Path = tmp_path_factory.mktemp("metered")
    (where / "site").mkdir()
    for name, text in texts().items():
        (where / "site" / name).write_text(text, encoding="utf-8")
    load = hand_made_load("D1")
    loads = (in_holders(load),)
    plan = Plan(
        site=department().site,
        day=load.starts.date(),
        loads=loads,
        loads_at_least=1,
        proven_fewest=False,
        objective={},
        bound={},
    )
    (where / "plan.json").write_text(write_plan(plan), encoding="utf-8")
    rng, kept = np.random.default_rng(2026), None
    for number in range(CYCLES):
        files = RecordFiles(*record(load, rng), f"{number}.csv", f"{number}.yaml")
        kept = keep_cycle(files, department(), loads[0], load.starts.date(), "J. Miller", kept).file
    assert kept is not None
    _write(where, kept)
    off = _with_hose_off(load)
    assert off is not None
    for name, true in (("planned", load), ("off", off)):
        text, description = record(true, rng)
        (where / f"{name}.csv").write_text(text, encoding="utf-8")
        (where / f"{name}.yaml").write_text(description, encoding="utf-8")
    return where


def truly_off() -> str:
    """Name the fault of the last cycle."""
    load = hand_made_load("D1")
    off = _with_hose_off(load)
    assert off is not None
    (port,) = set(off.open_ports) - set(load.open_ports)
    return f"{OFF}{port}"


def _write(where: Path, kept: BaselineFile) -> None:
    (where / "kept.json").write_text(kept.model_dump_json(by_alias=True), encoding="utf-8")


def diagnosed(folder: Path, name: str, *more: str) -> tuple[int, dict[str, Any]]:
    """What ``patency diagnose`` says of a record: its exit status and its data."""
    files = [str(folder / f"{name}.csv"), "--description", str(folder / f"{name}.yaml")]
    site = ["--site", str(folder / "site"), "--load", "D1", "--on", "2026-05-12", "--json"]
    result = CliRunner().invoke(main, ["diagnose", str(folder / "plan.json"), *files, *site, *more])
    assert isinstance(result.exception, SystemExit | None), result.exception
    assert result.exit_code in {0, 1}, result.output
    return result.exit_code, json.loads(result.stdout)


def visibility(found: dict[str, Any], kind: str) -> set[str]:
    """How well each fault of a kind shows."""
    return {one["visibility"] for one in found["detectability"] if one["cause"].startswith(f"{kind}, ")}


def test_pressure_and_total_flow_against_a_baseline_show_a_hose_off_and_no_blocked_lumen(folder: Path) -> None:
    status, found = diagnosed(folder, "off", "--baseline", str(folder / "kept.json"))
    assert status == 1
    assert found["readings"] == 10
    assert found["compared"].startswith(f"against a baseline of {CYCLES} earlier cycles")
    planned = sum(one["probability"] for one in found["explanations"] if "as planned" in one["causes"])
    hoses = [one for one in found["explanations"] if any(cause.startswith(OFF) for cause in one["causes"])]
    assert planned < 0.05
    assert sum(one["probability"] for one in hoses) > 0.5  # the rest: a sensor that is off does the same
    assert truly_off() in {cause for one in hoses[:6] for cause in one["causes"]}
    assert visibility(found, "hose off at the port") == {"is seen", "is seen at times"}
    lumens = {one["cause"]: one["visibility"] for one in found["detectability"] if one["cause"].startswith(BLOCKED)}
    assert "is seen" not in {seen for cause, seen in lumens.items() if cause.removeprefix(BLOCKED).startswith("H")}
    assert found["never_shown"].startswith("No reading of these sensors shows that every lumen was fed")


def test_a_further_cycle_as_planned_is_not_taken_for_a_fault(folder: Path) -> None:
    status, found = diagnosed(folder, "planned", "--baseline", str(folder / "kept.json"))
    assert status == 0
    assert "as planned" in found["explanations"][0]["causes"]


def test_the_same_record_against_the_computed_value_shows_no_hose_off(folder: Path) -> None:
    _, found = diagnosed(folder, "off")
    assert found["readings"] == 10
    assert visibility(found, "hose off at the port") == {"cannot be seen with these sensors"}


def test_the_verdict_raises_the_alarm_on_the_hose_that_is_off(folder: Path) -> None:
    states = {}
    for name in ("planned", "off"):
        files = [str(folder / f"{name}.csv"), "--description", str(folder / f"{name}.yaml")]
        site = ["--plan", str(folder / "plan.json"), "--site", str(folder / "site"), "--load", "D1"]
        kept = ["--baseline", str(folder / "kept.json"), "--on", "2026-05-12"]
        lines = CliRunner().invoke(main, ["evidence", "judge", *files, *site, *kept]).stdout.splitlines()
        (states[name],) = (line for line in lines if "alarm on the readings of the water" in line)
    assert states["planned"].startswith("met")
    assert states["off"].startswith("not met")
