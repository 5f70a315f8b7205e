"""``patency monitor``: drift over cycles, status and JSON of each command."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner, Result

from patency.cli import main
from patency.evidence import evidence_document
from tests.evidence.cycles import good_cycle

if TYPE_CHECKING:
    from pathlib import Path

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)


def run(*words: object) -> Result:
    return CliRunner().invoke(main, ["monitor", *map(str, words)])


def cycles(folder: Path, doses_ml: list[float]) -> list[Path]:
    """Write the evidence of one cycle over and over, each time with another dose and in a shuffled order of names."""
    document = evidence_document(good_cycle().judged())
    files = []
    for number, dose in enumerate(doses_ml):
        changed = json.loads(json.dumps(document))
        changed |= {"started": (START + timedelta(hours=number)).isoformat(), "record_sha256": f"{number:064}"}
        for criterion in changed["criteria"]:
            if criterion["name"] == "volume of mild detergent":
                criterion["value"] = dose * 1e-6
        files.append(folder / f"{(number * 7) % len(doses_ml):03}-{number:03}.json")
        files[-1].write_text(json.dumps(changed), encoding="utf-8")
    return sorted(files)


def test_a_dose_that_creeps_is_told_with_its_beginning(tmp_path: Path) -> None:
    wobble = [0.3, -0.2, 0.1, -0.3, 0.2, 0.0, -0.1, 0.25, -0.25, 0.05]
    doses = [120.0 + wobble[number % 10] - max(0, number - 29) * 0.1 for number in range(50)]
    answer = run("drift", *cycles(tmp_path, doses), "--out", tmp_path / "out")
    assert answer.exit_code == 1, answer.output
    signal, *again = [line for line in answer.stdout.splitlines() if line.startswith("signal")]
    assert "volume of mild detergent (cleaning, dose), Alder, short: fall since 2026-03-02T" in signal
    assert all("volume of mild detergent" in line for line in again)
    assert "charts of 50 cycles, 1 with a signal" in answer.stdout
    assert [path.suffix for path in (tmp_path / "out").iterdir()] == [".svg"]


def test_a_machine_that_stays_as_it_is_gives_no_signal(tmp_path: Path) -> None:
    answer = run("drift", *cycles(tmp_path, [120.0, 120.2, 119.9, 120.1, 120.0, 119.8]), "--json")
    assert answer.exit_code == 0, answer.output
    charts = {chart["result"]: chart for chart in json.loads(answer.stdout)["charts"]}
    assert {"length of cleaning", "A0 (T2)", "lowest speed of upper arm (arm)"} <= set(charts)
    assert "speed of upper arm for this load (cleaning, arm), against its prediction" in charts
    assert not any("calibration" in name for name in charts)  # grows by itself from day to day
    pressure = charts["circulation pressure (cleaning, P1), against its prediction"]
    assert pressure["points"][0]["value"] == pytest.approx(0.0, abs=0.01)
    assert all(chart["group"] == "Alder, short" for chart in charts.values())


def test_too_few_cycles_are_not_charted(tmp_path: Path) -> None:
    answer = run("drift", *cycles(tmp_path, [120.0] * 3))
    assert answer.stdout.startswith("0 charts of 3 cycles")


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"started": None}, ": started: "),
        ({"started": "2026-03-01T08:00"}, ": started: a moment without offset"),
        ({"machine": None}, ": machine: "),
        ({"format": "patency-evidence/9"}, ": format: "),
    ],
)
def test_evidence_that_cannot_be_placed_is_refused(tmp_path: Path, change: dict[str, object], says: str) -> None:
    (file,) = cycles(tmp_path, [120.0])
    file.write_text(json.dumps(json.loads(file.read_text(encoding="utf-8")) | change), encoding="utf-8")
    answer = run("drift", file, tmp_path / "missing.json")
    assert (answer.exit_code, answer.stdout) == (2, "")
    first, second = answer.stderr.splitlines()
    assert f"{file}{says}" in first
    assert "missing.json" in second


def test_no_json_and_a_cycle_given_twice_are_refused(tmp_path: Path) -> None:
    (file,) = cycles(tmp_path, [120.0])
    assert "the same record a second time" in run("drift", file, file).stderr
    file.write_text("[", encoding="utf-8")
    assert run("drift", file).exit_code == 2


def test_a_floor_beyond_the_budget_falls_short_and_a_place_that_stands_out_too(tmp_path: Path) -> None:
    waiting = tmp_path / "w.yaml"
    waiting.write_text(
        "format: patency-inspection/1\nfloor: {share: 1, least: 0, source: policy}\nbudget: 0\nsensitivity: 1\n"
        "weak_lumen: {factor: 1, source: none}\nblind_spot: {factor: 1, source: none}\n"
        "pieces: [{piece: a, family: f}]\n",
        encoding="utf-8",
    )
    answer = run("inspection", waiting)
    assert (answer.exit_code, answer.stdout.splitlines()[-1]) == (
        1,
        "the floor asks for 1 more than can be inspected today",
    )
    packs = tmp_path / "p.csv"
    rows = [f"{load},{'yes' if place == 'drain' else 'no'},{place}" for load in range(9) for place in ("drain", "top")]
    packs.write_text("\n".join(["load,wet,position", *rows]), encoding="utf-8")
    answer = run("wet-packs", packs)
    assert (answer.exit_code, answer.stdout.splitlines()[0][:40]) == (1, "stands out    position drain: 9 of 9 wet")
