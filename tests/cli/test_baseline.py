"""``patency baseline``, and what a kept baseline does to the verdict, the diagnosis and the list of glances."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING

import numpy as np
import pytest
from click.testing import CliRunner, Result

from patency.cli import main
from patency.demo import Mishap, Recorder, larkmere_record, larkmere_texts, sensors_of
from patency.demo.calendar import demo_calendar
from patency.flow import nominal_flow_of_load
from patency.load import Plan, write_plan
from patency.steps import Interlock
from patency.steps.archive_parts import cycles_of, parts_of
from patency.steps.revising import Revision, cycles_again
from tests.demo.larkmere import hand_made_load, larkmere
from tests.evidence.cycles import stamped
from tests.papers.cast import in_holders

if TYPE_CHECKING:
    from pathlib import Path

ON = date(2026, 5, 12)
BEGAN = datetime.combine(ON, time(8), UTC)
END = datetime.combine(ON, time.max).astimezone()
DAY = ("--on", ON.isoformat())


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with the demo's site, a plan, and the records of nine cycles of load L3 run as planned."""
    folder: Path = tmp_path_factory.mktemp("larkmere")
    (folder / "site").mkdir()
    for name, text in larkmere_texts().items():
        (folder / "site" / name).write_text(text, encoding="utf-8")
    department, load = larkmere(), hand_made_load("L3")
    plan = Plan(
        site=department.site,
        day=load.starts.date(),
        loads=tuple(in_holders(hand_made_load(name)) for name in ("L3", "D1")),
        loads_at_least=1,
        proven_fewest=False,
        objective={},
        bound={},
    )
    (folder / "plan.json").write_text(write_plan(plan), encoding="utf-8")
    flow = nominal_flow_of_load(department, load)
    for number in range(9):
        rng = np.random.default_rng(900 + number)
        low = 0.98 if number == 8 else 1.0
        true = {name: low * stage.circulation_pa.nominal for name, stage in flow.stages.items()}
        sensors = sensors_of(
            department.machine_kinds[load.machine_kind], rng, department.machines["Alder"].sensor_offsets
        )
        recorder = Recorder(machine="Alder", programme=load.programme)
        programme = department.programmes[load.programme]
        text, description = larkmere_record(Mishap.NOTHING, programme, true, sensors, rng, recorder=recorder)
        if number == 8:
            text, description = stamped(text, BEGAN), description.replace("unit: s}", "unit: iso8601}")
        (folder / f"{number}.csv").write_text(text, encoding="utf-8")
        (folder / f"{number}.yaml").write_text(description, encoding="utf-8")
    in_date = demo_calendar(department, ON)
    (folder / "overdue.yaml").write_text(in_date.replace("7 d", "1 d"), encoding="utf-8")
    for number in range(6):
        kept = keep(folder, number)
        assert kept.exit_code == 0, kept.output
    return folder


def keep(folder: Path, number: int, load: str = "L3", file: str = "kept.json", *more: str) -> Result:
    record = [str(folder / f"{number}.csv"), "--description", str(folder / f"{number}.yaml")]
    site = ["--site", str(folder / "site"), "--load", load, "--seen-by", "J. Miller", "--file", str(folder / file)]
    return CliRunner().invoke(main, ["baseline", str(folder / "plan.json"), *record, *site, *DAY, *more])


def call(folder: Path, command: list[str], number: int, *more: str) -> Result:
    record = [str(folder / f"{number}.csv"), "--description", str(folder / f"{number}.yaml")]
    return CliRunner().invoke(main, [*command, *record, "--site", str(folder / "site"), "--load", "L3", *DAY, *more])


def judge(folder: Path, number: int, *more: str) -> Result:
    return call(folder, ["evidence", "judge"], number, "--plan", str(folder / "plan.json"), *more)


def alarm(result: Result) -> str:
    (line,) = (line for line in result.stdout.splitlines() if "alarm on the readings of the water" in line)
    return line


def test_it_keeps_what_each_stage_showed_and_says_mean_and_scatter(folder: Path) -> None:
    found = json.loads(keep(folder, 6, "L3", "other.json", "--json").stdout)
    assert found["format"] == "patency-baseline-kept/1"
    assert found["scatter"] is None
    kept = json.loads((folder / "kept.json").read_text(encoding="utf-8"))
    assert (kept["format"], kept["machine"], len(kept["cycles"]), len(kept["columns"])) == (
        "patency-baseline/1",
        "Alder",
        6,
        5,
    )
    again = keep(folder, 6).stdout.splitlines()
    assert again[0].endswith("Alder: 7 cycles of the same load")
    assert "P1, cleaning: mean 2" in again[2]
    assert "scatter" in again[2]
    assert "the alarm can be raised against it" in again


def test_the_verdict_raises_the_alarm_against_it_and_not_without(folder: Path) -> None:
    assert alarm(judge(folder, 7)).startswith("not evaluated")
    assert alarm(judge(folder, 7, "--baseline", str(folder / "kept.json"))).startswith("met")
    assert alarm(judge(folder, 8, "--baseline", str(folder / "kept.json"))).startswith("not met")
    own = alarm(judge(folder, 0, "--baseline", str(folder / "kept.json")))
    assert "this record is itself part of the baseline" in own


def test_a_baseline_that_lost_any_one_of_its_cycles_is_refused(folder: Path, tmp_path: Path) -> None:
    kept = json.loads((folder / "kept.json").read_text(encoding="utf-8"))
    lacking = tmp_path / "lacking.json"
    count = len(kept["cycles"])
    for row in range(count):
        fewer = {**kept, "cycles": kept["cycles"][:row] + kept["cycles"][row + 1 :]}
        lacking.write_text(json.dumps(fewer), encoding="utf-8")
        result = judge(folder, 7, "--baseline", str(lacking))
        assert result.exit_code == 2
        told = f"count says {count} cycles and {count - 1} are there (expected: each cycle that was kept)"
        assert told in result.output


@pytest.mark.parametrize("calendar", [(), ("overdue",)])
def test_the_archive_and_the_watch_judge_against_it_as_a_record_by_itself_is_judged(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, calendar: tuple[str, ...]
) -> None:
    tests = [word for name in calendar for word in ("--calendar", str(folder / f"{name}.yaml"))]
    plan, kept = ["--plan", str(folder / "plan.json")], ["--baseline", str(folder / "kept.json")]
    site, described = ["--site", str(folder / "site")], ["--description", str(folder / "8.yaml")]
    kept += tests
    singly = json.loads(judge(folder, 8, *kept, "--json").stdout)["criteria"]
    states = {one["state"] for one in singly if one["name"] == "test in date"}
    assert states == ({"met", "not met"} if calendar else {"not evaluated"})
    archive = tmp_path / "kept"
    record = [str(archive), str(folder / "8.csv"), *described, *site]
    added = CliRunner().invoke(main, ["evidence", "archive", "add", *record, *plan, "--load", "L3", *DAY, *kept])
    assert added.exit_code == 0, added.output
    (row,) = (row for part in parts_of(archive) for row in cycles_of(part, "evidence"))
    assert json.loads(row["evidence"])["criteria"] == singly
    interlock = Interlock.of(folder / f"{calendar[0]}.yaml", END) if calendar else None
    revision = Revision(ON, everything=True, interlock=interlock)
    (again,) = (again for part in parts_of(archive) for again in cycles_again(part, revision))
    assert again.judged is not None
    assert again.judged.changes == ()
    asked = [one["why"] for one in singly if calendar or one["name"] != "test in date"]  # else it stays as judged
    assert [criterion.why for _, criterion in again.judged.criteria] == asked
    (tmp_path / "inbox").mkdir()
    (tmp_path / "inbox" / "L3.csv").write_bytes((folder / "8.csv").read_bytes())
    monkeypatch.setattr("patency.cli.watch.now", lambda: END)
    inbox = [str(tmp_path / "inbox"), *described, *site, *plan, *kept, "--out", str(tmp_path / "out")]
    CliRunner().invoke(main, ["evidence", "watch", *inbox, "--settle", "0", "--once"])
    (result,) = (tmp_path / "out").glob("L3.csv.*.evidence.json")
    assert json.loads(result.read_text(encoding="utf-8"))["criteria"] == singly
    alone = CliRunner().invoke(main, ["evidence", "archive", "add", *record, *kept[:2]])
    assert alone.exit_code == 2
    assert "no load is named that it is of" in alone.output


def test_a_record_that_is_part_of_it_stays_so_when_judged_again(folder: Path, tmp_path: Path) -> None:
    record = [str(tmp_path / "kept"), str(folder / "0.csv"), "--description", str(folder / "0.yaml")]
    load = ["--site", str(folder / "site"), "--plan", str(folder / "plan.json"), "--load", "L3", *DAY]
    CliRunner().invoke(main, ["evidence", "archive", "add", *record, *load, "--baseline", str(folder / "kept.json")])
    (part,) = parts_of(tmp_path / "kept")
    (again,) = cycles_again(part, Revision(ON, everything=True))
    assert again.judged is not None
    assert again.judged.changes == ()
    assert any("itself part of the baseline" in one.why for _, one in again.judged.criteria)


def test_the_diagnosis_holds_readings_against_it_and_a_hose_off_still_cannot_be_seen(folder: Path) -> None:
    plain = call(folder, ["diagnose", str(folder / "plan.json")], 8)
    kept = call(folder, ["diagnose", str(folder / "plan.json")], 8, "--baseline", str(folder / "kept.json"))
    assert plain.stdout.splitlines()[0].endswith("weighed: 5, against the computed value")
    assert "against a baseline of" in kept.stdout.splitlines()[0]
    assert kept.exit_code in {0, 1}, kept.output
    own = call(folder, ["diagnose", str(folder / "plan.json")], 0, "--baseline", str(folder / "kept.json"))
    assert (own.exit_code, own.stderr.count("\n")) == (2, 1)
    assert "it holds this very record" in own.stderr


def test_the_list_of_glances_names_the_baseline_it_relies_on(folder: Path) -> None:
    words = ["faults", str(folder / "plan.json"), "--site", str(folder / "site"), "--load", "L3", "--json"]
    without, kept = (
        json.loads(CliRunner().invoke(main, [*words, *more]).stdout)["loads"][0]
        for more in ([], ["--baseline", str(folder / "kept.json")])
    )
    assert without["compared"] == "no baseline"
    assert kept["compared"].startswith("against a baseline of")
    assert sum(fault["seen"] for fault in kept["faults"]) > sum(fault["seen"] for fault in without["faults"])


def test_what_does_not_belong_to_it_is_refused_in_one_line(folder: Path) -> None:
    cases = (
        (keep(folder, 0), "it is in the baseline already"),
        (keep(folder, 7, "D1"), "it is of another kind of load"),
        (judge(folder, 7, "--baseline", str(folder / "7.yaml")), "7.yaml"),
    )
    for result, what in cases:
        assert (result.exit_code, result.stdout) == (2, "")
        assert what in result.stderr
    text = (folder / "7.csv").read_text(encoding="utf-8").splitlines()
    place = text[0].split(",").index("P1")
    low = [",".join(f"{float(c) * 0.7:.1f}" if k == place else c for k, c in enumerate(r.split(","))) for r in text[1:]]
    (folder / "70.csv").write_text("\n".join([text[0], *low]) + "\n", encoding="utf-8")
    (folder / "70.yaml").write_text((folder / "7.yaml").read_text(encoding="utf-8"), encoding="utf-8")
    missed = keep(folder, 70)
    assert (missed.exit_code, missed.stdout) == (2, "")
    assert "the cycle missed: circulation pressure" in missed.stderr


def test_counted_rates_take_the_place_of_assumed_ones(folder: Path) -> None:
    rates = folder / "rates.yaml"
    rates.write_text(
        "format: patency-fault-rates/1\nsource: counted in 1800 cycles\nfaults: {cap missing: 0.02}\npump_worn: 0.0\n",
        encoding="utf-8",
    )
    counted = call(folder, ["diagnose", str(folder / "plan.json")], 8, "--rates", str(rates), "--json")
    found = json.loads(counted.stdout)
    assert found["assumed"].startswith("counted in 1800 cycles; hose off at the port, ")
    assert "cap missing" not in found["assumed"]
    assert all("pump worn or slow" not in one["causes"] for one in found["explanations"])
    rates.write_text("format: patency-fault-rates/1\nsource: x\nfaults: {cap lost: 0.02}\n", encoding="utf-8")
    refused = call(folder, ["diagnose", str(folder / "plan.json")], 8, "--rates", str(rates))
    assert (refused.exit_code, refused.stdout) == (2, "")
    assert "rates.yaml:3" in refused.stderr
