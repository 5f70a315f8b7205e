"""``patency commission update`` and ``watch``: kept cycles of known loads update a fit and are watched for a drift."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import numpy as np
import pytest
from click.testing import CliRunner, Result

from patency.cli import main
from patency.evidence import BaselineColumn, BaselineCycle, BaselineFile, write_baseline
from patency.load import load_kind, write_plan
from patency.steps import read_site
from tests.flow.commissioning.kept_cycles import STAGES, kept, planned
from tests.small_plan import LOAD, NOON_LOAD, SMALL_PLAN
from tests.small_site import SMALL_SITE, small_department

if TYPE_CHECKING:
    from pathlib import Path

    from patency.load import Load


@pytest.fixture(scope="module")
def pressures_pa() -> np.ndarray:
    """What the sensor should show as described."""
    return planned(small_department())


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The small department's folder with its plan beside it."""
    (tmp_path / "site").mkdir()
    for name, text in SMALL_SITE.items():
        (tmp_path / "site" / name).write_text(text, encoding="utf-8")
    (tmp_path / "plan.json").write_text(write_plan(SMALL_PLAN), encoding="utf-8")
    return tmp_path


def write_cycles(path: Path, readings: np.ndarray, load: Load = LOAD) -> Path:
    """Write cycles as ``patency baseline`` keeps them."""
    cycles = kept(readings, load)
    file = BaselineFile(
        format="patency-baseline/1",
        load_kind=load_kind(load),
        carrier=load.carrier,
        programme=load.programme,
        machine="Alpha",
        columns=tuple(BaselineColumn(stage=stage, sensor="P1", unit="Pa") for stage in STAGES),
        count=len(readings),
        cycles=tuple(
            BaselineCycle(record=record, kept_on=day, seen_by="K. Jones", readings=tuple(map(float, row)))
            for record, day, row in zip(cycles.baseline.records, cycles.days, readings, strict=True)
        ),
    )
    path.write_text(write_baseline(file), encoding="utf-8")
    return path


def run(*words: object) -> Result:
    """Call the program."""
    return CliRunner().invoke(main, ["commission", *map(str, words)])


def course(pressures_pa: np.ndarray, shares: np.ndarray) -> np.ndarray:
    """Readings that follow a course and scatter a little."""
    scattered = 1.0 + 2e-3 * np.random.default_rng(8).normal(size=(shares.size, 4))
    return np.asarray(pressures_pa * shares[:, None] * scattered)


def test_kept_cycles_update_the_fit_and_are_named_in_it_by_their_records(
    folder: Path, pressures_pa: np.ndarray
) -> None:
    baseline = write_cycles(folder / "baseline.json", course(pressures_pa, np.full(12, 0.97)))
    site, asked = folder / "site", ("--by", "J. Miller", "--on", "2026-04-01")
    looked = run("update", site, folder / "plan.json", baseline, *asked)
    assert looked.exit_code == 0, looked.output
    first, *rest = looked.stdout.splitlines()
    assert first.startswith("Wren in front_loader, fit 1: 12 cycles of one load in Alpha of 2026-03-02 to 2026-03-13, ")
    assert any(line.startswith("L1, cleaning: P1, mbar") for line in rest)
    assert not list(site.glob("commissioned*"))
    answer = run("update", site, folder / "plan.json", baseline, *asked, "--keep", "--json")
    data = json.loads(answer.stdout)
    (entry,) = read_site(site).department.commissioned.values()
    assert entry.id == data["fit"]["id"]
    assert entry.cycles is not None
    assert entry.cycles.records == [f"{number:064x}" for number in range(12)]
    assert entry.factors["pump head"].factor < 0.98
    assert data["written"] == [str(site / "commissioned-wren-front-loader-1.yaml")]


WORN = np.concatenate((np.ones(15), np.linspace(1.0, 0.97, 15)))


def test_cycles_that_drift_update_nothing_unless_they_are_left_out_or_somebody_says_why(
    folder: Path, pressures_pa: np.ndarray
) -> None:
    baseline = write_cycles(folder / "baseline.json", course(pressures_pa, WORN))
    asked = ("update", folder / "site", folder / "plan.json", baseline, "--by", "J. Miller", "--keep")
    refused = run(*asked)
    assert (refused.exit_code, refused.stdout) == (2, "")
    (line,) = refused.stderr.splitlines()
    assert line.startswith("drift: load L1 in Alpha, P1 falls since about 2026-03-")
    assert line.endswith(" (expected: cycles without it (--since, --until), or --despite-drift with the reason)")
    assert not list((folder / "site").glob("commissioned*"))
    early = run(*asked[:-1], "--until", "2026-03-16", "--json")
    assert early.exit_code == 0, early.output
    assert json.loads(early.stdout)["fit"]["source"].startswith("15 cycles of one load in Alpha of 2026-03-02 to 2026-")
    late = run(*asked[:-1], "--since", "2026-03-28")
    assert (late.exit_code, late.stderr) == (
        2,
        "cycles: 4 cycles of load L1 (expected: at least 5, which show how readings scatter)\n",
    )
    reason = "the pump is replaced next week, until then it counts as it is"
    taken = run(*asked, "--despite-drift", reason)
    assert taken.exit_code == 0, taken.output
    (entry,) = read_site(folder / "site").department.commissioned.values()
    assert "although load L1 in Alpha, P1 falls since about 2026-03-" in entry.source
    assert entry.source.endswith(f": {reason}")


@pytest.mark.parametrize(
    ("reason", "line"),
    [
        ("worn", "--despite-drift: nothing drifts (expected: it left out)\n"),
        (" ", "--despite-drift: ' ' (expected: a reason of one line, at most 120 signs)\n"),
    ],
)
def test_a_reason_for_nothing_and_no_reason_are_refused(
    folder: Path, pressures_pa: np.ndarray, reason: str, line: str
) -> None:
    baseline = write_cycles(folder / "baseline.json", course(pressures_pa, np.ones(8)))
    asked = ("update", folder / "site", folder / "plan.json", baseline, "--by", "J. Miller")
    result = run(*asked, "--despite-drift", reason)
    assert (result.exit_code, result.stdout, result.stderr) == (2, "", line)


@pytest.mark.parametrize("command", ["watch", "update"])
def test_cycles_in_which_a_sensor_shows_nothing_are_refused_in_one_line(
    folder: Path, pressures_pa: np.ndarray, command: str
) -> None:
    baseline = write_cycles(folder / "baseline.json", 0.0 * course(pressures_pa, np.ones(8)))
    by_command = {
        "watch": ("--plan", folder / "plan.json", "--baseline", baseline),
        "update": (folder / "plan.json", baseline, "--by", "J. Miller"),
    }
    result = run(command, folder / "site", *by_command[command])
    assert (result.exit_code, result.stdout, result.stderr) == (
        2,
        "",
        "load L1: P1 shows no pressure in first rinse (expected: a pressure above zero in every cycle)\n",
    )


def test_a_drift_of_what_cycles_show_is_flagged_and_what_they_cannot_show_is_said(
    folder: Path, pressures_pa: np.ndarray
) -> None:
    baseline = write_cycles(folder / "baseline.json", course(pressures_pa, WORN))
    asked = ("watch", folder / "site", "--plan", folder / "plan.json", "--baseline", baseline)
    result = run(*asked)
    assert result.exit_code == 1, result.output
    told, scatter, seen, unseen = result.stdout.splitlines()
    assert told.startswith("load L1 in Alpha, P1: 30 cycles, last ")
    assert ": falls since about 2026-03-" in told
    assert scatter.startswith("  one cycle scatters by 0.")
    assert "pump at 80 % of its speed (1)" in seen
    assert unseen.startswith("  cannot be seen in P1 of this load: ")
    assert "lumen blocked (" in unseen
    data = json.loads(run(*asked, "--json").stdout)
    (sensor,) = data["sensors"]
    assert (data["ports"], sensor["rising"]["flagged_on"]) == ([], None)
    assert sensor["falling"]["flagged_on"] is not None
    pump = next(one for one in sensor["faults"] if one["fault"].startswith("pump at 80 %"))
    assert pump["flagged_after_cycles"] == 1


def test_cycles_of_a_load_the_plan_has_not_are_refused_in_one_line(folder: Path, pressures_pa: np.ndarray) -> None:
    other = write_cycles(folder / "other.json", course(pressures_pa, np.ones(6)), NOON_LOAD)
    result = run("update", folder / "site", folder / "plan.json", other, "--by", "J. Miller")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == (
        f"{other}: the plan has no load like it (of Wren, gentle) (expected: a plan with the same lumens on the same"
        " ports)\n"
    )


def test_an_update_nobody_answers_for_is_refused_before_anything_is_read(folder: Path) -> None:
    result = run("update", folder / "site", folder / "missing.json", folder / "none.json", "--by", " ")
    assert (result.exit_code, result.stderr.splitlines()) == (
        2,
        ["by: ' ' (expected: a name of one line, at most 120 signs)"],
    )


@pytest.mark.parametrize(
    ("words", "line"),
    [
        ((), "commission watch: nothing to watch (expected: MEASUREMENTS, or --plan and --baseline)"),
        (("--baseline", "b.json"), "commission watch: one of --plan and --baseline alone (expected: both or neither)"),
        (
            ("bench.yaml", "--plan", "p.json"),
            "commission watch: one of --plan and --baseline alone (expected: both or neither)",
        ),
    ],
)
def test_a_watch_without_what_it_shall_watch_is_refused(folder: Path, words: tuple[str, ...], line: str) -> None:
    result = run("watch", folder / "site", *words)
    assert (result.exit_code, result.stderr) == (2, f"{line}\n")
