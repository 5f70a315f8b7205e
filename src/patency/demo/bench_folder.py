"""Makes a folder in which the bench can work: the demo department, its plan, its machines' records, its ledger."""

from __future__ import annotations

from contextlib import closing
from datetime import UTC, datetime, timedelta
from itertools import product
from typing import TYPE_CHECKING

from patency.demo.bench_history import STEAM, write_history
from patency.demo.day import run_machines
from patency.demo.earlier_cycles import earlier_cycles
from patency.demo.simulator import simulate_steam
from patency.errors import InputError
from patency.evidence import write_baseline
from patency.ledger import open_ledger
from patency.load import write_plan
from patency.steps import plan_site, steam_load_name, write_all

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import date
    from pathlib import Path

    import numpy as np

    from patency.catalogue import Department

_STEAM_CYCLES = 6
_INTO_THE_SHIFT = timedelta(hours=2, minutes=20)


def prepare_bench(
    folder: Path, texts: Mapping[str, str], rng: np.random.Generator, tell: Callable[[str], None]
) -> datetime:
    """Fill a folder with everything the bench needs to show the demo department at work.

    Parameters
    ----------
    folder
        A new or empty folder.
    texts
        The files of the demo department.
    rng
        Source of the machines' noise.
    tell
        Called with what is being done.

    Returns
    -------
    datetime
        The moment of the demo's day at which it stands.

    Raises
    ------
    InputError
        When something is in the folder already.
    """
    if folder.exists() and any(folder.iterdir()):
        raise InputError(str(folder), "is not empty", "a new or empty folder")
    write_all(folder / "site", {name: text.encode() for name, text in texts.items()})
    tell("planning the loads of the demo's day")
    department, plan, _ = plan_site(folder / "site", on_progress=tell)
    tell("running the demo's machines")
    for load, (record, description) in run_machines(department, plan, rng).items():
        files = {f"load-{load}.csv": record.encode(), f"load-{load}.yaml": description.encode()}
        write_all(folder / "records", files)
    for planned in plan.loads:
        tell(f"running earlier cycles of load {planned.id}")
        baseline = write_baseline(earlier_cycles(department, planned, rng))
        write_all(folder / "baselines", {f"load-{planned.id}.json": baseline.encode()})
    if department.day is None:  # pragma: no cover - planning has refused a department without a day
        raise InputError(str(folder), "no working day is described", "day: with date, shift and the sets waiting")
    tell("running the demo's sterilizers")
    write_all(folder / "records", _steam_records(department, department.day.date, rng))
    tell("writing down what happened before")
    now = department.day.shift_starts.replace(tzinfo=UTC) + _INTO_THE_SHIFT
    with closing(open_ledger(str(folder / "ledger.sqlite"), create=True)) as ledger:
        write_history(ledger, department, now)
    # The plan comes last: a folder that has one is complete.
    write_all(folder, {"plan.json": write_plan(plan).encode()})
    return now


def _steam_records(department: Department, on: date, rng: np.random.Generator) -> dict[str, bytes]:
    """Run each sterilizer through its cycles of the day: more than ten sets can need."""
    (key, programme), *_ = department.steam_programmes.items()
    files: dict[str, bytes] = {}
    for machine, number in product(STEAM, range(1, _STEAM_CYCLES + 1)):
        cycle = simulate_steam(programme, rng, key=key, machine=machine)
        name = f"load-{steam_load_name(machine, on, number)}"
        files |= {f"{name}.csv": cycle.record.encode(), f"{name}.yaml": cycle.description.encode()}
    return files
