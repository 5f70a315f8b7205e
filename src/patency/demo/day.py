"""The demo day: Larkmere planned, checked, printed, run on simulated machines, judged."""

from __future__ import annotations

import json
import shutil
from dataclasses import asdict, dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import PortKind
from patency.demo.calendar import demo_calendar
from patency.demo.cycle_records import larkmere_record
from patency.demo.earlier_cycles import earlier_cycles
from patency.demo.simulator import Mishap, Recorder, sensors_of
from patency.demo.truth import TRUTHS
from patency.errors import InputError
from patency.evidence import EyeCheck, Seen, read_calendar, write_baseline
from patency.flow import nominal_flow_of_load
from patency.load import write_plan
from patency.steps import (
    Interlock,
    RecordFiles,
    answers_document,
    answers_of_load,
    baseline_of_record,
    check_plan_file,
    judge_cycle,
    plan_site,
    print_sheets,
    write_all,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from patency.catalogue import Department
    from patency.evidence import BaselineFile
    from patency.load import Load, PieceReplies, Plan
    from patency.steps import CycleJudged, PlanCheck

_EARLIER_SEED = 6
_FINE_INSTRUMENT = "fix3"
# Nobody has looked yet at these loads: their files ask for it.
_NOT_YET_LOOKED = (Mishap.HOSE_OFF, Mishap.TAPER_CAP_FORGOTTEN)


@dataclass(frozen=True, slots=True)
class DemoDay:
    """What came of the demo day.

    Parameters
    ----------
    department
        Larkmere.
    plan
        Its plan.
    answers
        Load to the six answers about each of its pieces.
    check
        What the second, independent check of the plan found.
    cycles
        Load to what its cycle record proved.
    folder
        Where the files are.
    """

    department: Department
    plan: Plan
    answers: Mapping[str, list[PieceReplies]]
    check: PlanCheck
    cycles: Mapping[str, CycleJudged]
    folder: Path


def run_demo_day(
    folder: Path, texts: Mapping[str, str], rng: np.random.Generator, now: datetime, tell: Callable[[str], None]
) -> DemoDay:
    """Do the main job on the demo day and write everything it yields.

    Parameters
    ----------
    folder
        Where to write; what an earlier run left there is replaced.
    texts
        The files of the demo department.
    rng
        Source of the machines' noise.
    now
        Time written into the papers, with its zone.
    tell
        Called with what is being done.

    Returns
    -------
    DemoDay
        What came of it.
    """
    _clear(folder)
    write_all(folder / "site", {name: text.encode() for name, text in texts.items()})
    tell("planning the loads")
    department, plan, looks = plan_site(folder / "site", on_progress=tell)
    tell("answering the six questions")
    answers = {load.id: answers_of_load(department, plan, load, looks) for load in plan.loads}
    document = json.dumps(answers_document(plan, answers), indent=1, ensure_ascii=False, allow_nan=False)
    write_all(folder, {"plan.json": write_plan(plan).encode(), "answers.json": document.encode()})
    tell("checking the plan a second time")
    check = check_plan_file(folder / "plan.json", folder / "site")
    sheets = print_sheets(
        department,
        plan,
        now,
        on_progress=lambda done, total: tell(f"printing load sheets {done} of {total}"),
        looks=looks,
    )
    write_all(folder / "sheets", sheets)
    cycles = {}
    calendar = demo_calendar(department, plan.day)
    write_all(folder, {"calendar.yaml": calendar.encode()})
    for load, mishap in zip(plan.loads, _mishaps(department, plan), strict=True):
        tell(f"running and judging load {load.id}")
        record, description = _run(department, load, mishap, rng)
        kept = earlier_cycles(department, load, np.random.default_rng(_EARLIER_SEED))
        ran = load.starts.replace(tzinfo=UTC)
        tests = Interlock(read_calendar(calendar), ran, ran=ran)
        files = RecordFiles(record, description, f"load-{load.id}.csv", f"load-{load.id}.yaml")
        cycles[load.id] = cycle = _judge(department, load, mishap, files, kept, tests)
        write_all(folder / "baselines", {f"load-{load.id}.json": write_baseline(kept).encode()})
        name = f"load-{load.id}"
        write_all(folder / "records", {f"{name}.csv": record.encode(), f"{name}.yaml": description.encode()})
        write_all(folder / "truth", {f"{name}.json": _truth(mishap).encode()})
        write_all(folder / "files", cycle.files(now))
    return DemoDay(department, plan, answers, check, cycles, folder)


def run_machines(department: Department, plan: Plan, rng: np.random.Generator) -> dict[str, tuple[str, str]]:
    """Run the loads of a plan on the demo's machines, each with the mishap of the day that can befall it.

    Parameters
    ----------
    department
        Larkmere.
    plan
        Its plan.
    rng
        Source of the machines' noise.

    Returns
    -------
    dict[str, tuple[str, str]]
        Load to the record of its cycle and the description of that record.
    """
    return {
        load.id: _run(department, load, mishap, rng)
        for load, mishap in zip(plan.loads, _mishaps(department, plan), strict=True)
    }


def _clear(folder: Path) -> None:
    if folder.exists():
        if any(folder.iterdir()) and not (folder / "plan.json").exists():
            raise InputError(str(folder), "holds something else than an earlier demo", "a new or empty folder")
        shutil.rmtree(folder)


def _mishaps(department: Department, plan: Plan) -> list[Mishap]:
    """Give each mishap of the day to the load it can befall; loads left over run as planned."""
    mishaps = dict.fromkeys((load.id for load in plan.loads), Mishap.NOTHING)
    for mishap in (Mishap.HOSE_OFF, Mishap.TAPER_CAP_FORGOTTEN, Mishap.POWER_DIP):
        free = [
            load
            for load in plan.loads
            if mishaps[load.id] is Mishap.NOTHING and _truly(department, load, mishap) is not None
        ]
        # The last that can: the first load of the day is left to run as planned.
        if free:
            mishaps[free[-1].id] = mishap
    return list(mishaps.values())


def _truly(department: Department, load: Load, mishap: Mishap) -> Load | None:
    """Return the load as it truly stood in the machine; None where the mishap cannot befall it."""
    if mishap is Mishap.HOSE_OFF:
        return _with_hose_off(load)
    if mishap is Mishap.TAPER_CAP_FORGOTTEN:
        return _with_taper_open(department, load)
    return load


def _with_taper_open(department: Department, load: Load) -> Load | None:
    ports = department.carriers[load.carrier].ports
    forgotten = [capped for capped in load.capped_ports if ports[capped.port].kind is PortKind.TAPER]
    if not forgotten:
        return None
    kept = tuple(capped for capped in load.capped_ports if capped != forgotten[0])
    return load.model_copy(update={"capped_ports": kept, "open_ports": (*load.open_ports, forgotten[0].port)})


def _with_hose_off(load: Load) -> Load | None:
    for place, piece in enumerate(load.pieces):
        if piece.piece.startswith(f"{_FINE_INSTRUMENT}/") and piece.lumens:
            loose = piece.model_copy(update={"lumens": ()})
            pieces = (*load.pieces[:place], loose, *load.pieces[place + 1 :])
            return load.model_copy(update={"pieces": pieces, "open_ports": (*load.open_ports, piece.lumens[0].port)})
    return None


def _run(department: Department, load: Load, mishap: Mishap, rng: np.random.Generator) -> tuple[str, str]:
    """Run a load on its simulated machine: the record and its description."""
    truly = _truly(department, load, mishap) or load
    flow = nominal_flow_of_load(department, truly)
    pressures = {name: stage.circulation_pa.nominal for name, stage in flow.stages.items()}
    offsets = department.machines[load.machine].sensor_offsets
    sensors = sensors_of(department.machine_kinds[load.machine_kind], rng, offsets)
    recorder = Recorder(machine=load.machine, programme=load.programme)
    programme = department.programmes[load.programme]
    return larkmere_record(mishap, programme, pressures, sensors, rng, recorder=recorder)


def _judge(
    department: Department,
    load: Load,
    mishap: Mishap,
    files: RecordFiles,
    kept: BaselineFile,
    tests: Interlock,
) -> CycleJudged:
    eye_check = None if mishap in _NOT_YET_LOOKED else _looked(load)
    baseline = baseline_of_record(load, kept)
    return judge_cycle(files, department, load, load.ends.date(), eye_check, interlock=tests, baseline=baseline)


def _looked(load: Load) -> EyeCheck:
    return EyeCheck(Seen.ALL_IN_PLACE, "clean side 2 (invented)", load.ends + timedelta(minutes=10))


def _truth(mishap: Mishap) -> str:
    truth = asdict(TRUTHS[mishap]) | {"must_miss": sorted(TRUTHS[mishap].must_miss)}
    return json.dumps({"mishap": mishap.value, **truth}, indent=2, ensure_ascii=False)
