"""Files broken in a hundred ways, on the command line: status 2, a line that names the place, nothing written."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import yaml
from click.testing import CliRunner, Result

from patency.cli import main
from patency.load import write_plan
from tests.evidence.test_broken import DESCRIPTION, RECORD
from tests.small_plan import PLANNED_SITE, SMALL_PLAN
from tests.small_site import SMALL_SITE, changed

TESTS = Path(__file__).parents[1]
CATALOGUES = yaml.safe_load((TESTS / "broken" / "catalogues.yaml").read_text(encoding="utf-8"))
DESCRIPTIONS = yaml.safe_load((TESTS / "evidence" / "broken" / "descriptions.yaml").read_text(encoding="utf-8"))
RECORDS = yaml.safe_load((TESTS / "evidence" / "broken" / "records.yaml").read_text(encoding="utf-8"))

PLAN = write_plan(SMALL_PLAN)
# What stood in the plan, what stands there now, and the place the refusal has to name.
PLANS = [
    ('"patency-plan/1"', '"patency-plan/9"', "format"),
    ('"site":', '"sight":', "sight"),
    ('"loads":', '"load":', "loads"),
    ('"starts": "2026', '"starts": "yesterday 2026', "loads[0].starts"),
    ('"loads_at_least": 1', '"loads_at_least": "one"', "loads_at_least"),
    ('"proven_fewest": true', '"proven_fewest": "perhaps"', "proven_fewest"),
    ('"way_up": "coiled"', '"way_up": "sideways"', "way_up"),
    ('"placing": "coil rack"', '"placing": "floor"', "placing"),
    ('"nozzle_depth_m": 0.02', '"nozzle_depth_m": "20 mm"', "nozzle_depth_m"),
    ('"day": "2026-03-02"', '"day": "2026-13-02"', "day"),
    ('"port": "T1"', '"prot": "T1"', "capped_ports[0]"),
    ("{", "", "plan.json:"),
    ('"objective":', '"objective" ', "plan.json:"),
]
SEGMENT = {"shape": "bore", "diameter_m": 0.003, "length_m": 0.3, "roughness_m": 0.0, "minor_loss": 0.5}
NETWORK = {
    "format": "patency-network/1",
    "water": {"temperature_c": 45.0},
    "pump": {"shutoff_head_m": 7.0, "coefficient": 3.0e4, "exponent": 2.0},
    "links": [{"id": "L0", "from": "SUMP", "to": "N0", "segments": [{**SEGMENT, "diameter_m": 0.05}]}],
    "outlets": [{"id": "P0", "node": "N0", "state": "open", "elevation_m": 0.2, "segments": [SEGMENT]}],
}
NETWORKS = [
    ('"temperature_c": 45.0', '"temperature_c": 450.0', "water.temperature_c"),
    ('"temperature_c": 45.0', '"temperature_c": NaN', "water.temperature_c"),
    ('"shutoff_head_m": 7.0', '"shutoff_head_m": -7.0', "pump.shutoff_head_m"),
    ('"exponent": 2.0', '"exponent": 0.1', "pump.exponent"),
    ('"coefficient": 30000.0', '"coefficient": "steep"', "pump.coefficient"),
    ('"from": "SUMP"', '"from": "CELLAR"', "links"),
    ('"to": "N0"', '"to": "N9"', "outlets[0].node"),
    ('"state": "open"', '"state": "ajar"', "outlets[0].state"),
    ('"diameter_m": 0.003', '"diameter_m": 0', "outlets[0].segments[0].diameter_m"),
    ('"diameter_m": 0.003', '"diameter_mm": 3', "outlets[0].segments[0]"),
    ('"shape": "bore", "diameter_m": 0.003', '"shape": "slit", "diameter_m": 0.003', "outlets[0].segments[0]"),
    ('"length_m": 0.3, "roughness_m": 0.0, "minor_loss": 0.5}]}]}', '"length_m": 0.3}]}]}', "outlets[0].segments[0]"),
    ('"id": "P0"', '"id": "L0"', "L0"),
    ('"elevation_m": 0.2', '"elevation_m": Infinity', "outlets[0].elevation_m"),
    ('"outlets": [', '"outlets": [[', "network:1:"),
    ('"format": "patency-network/1", ', "", "format"),
]


def call(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def assert_refused(result: Result, place: str, out: Path) -> None:
    """Status 2, nothing on standard output, nothing written, and a line that names the place."""
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert not out.exists()
    lines = result.stderr.splitlines()
    assert any(place in line for line in lines), lines
    assert "Traceback" not in result.stderr


def test_there_are_more_than_a_hundred() -> None:
    assert len(CATALOGUES) + len(DESCRIPTIONS) + len(RECORDS) + len(PLANS) + len(NETWORKS) > 100
    assert min(len(CATALOGUES), len(DESCRIPTIONS) + len(RECORDS), len(PLANS), len(NETWORKS)) >= 12


@pytest.mark.parametrize("one", CATALOGUES[::2], ids=lambda one: one["what"])
def test_a_broken_catalogue_plans_nothing(one: dict[str, str], tmp_path: Path) -> None:
    folder, out = tmp_path / "site", tmp_path / "out"
    folder.mkdir()
    for name, text in changed(SMALL_SITE, one["was"], one["now"]).items():
        (folder / name).write_text(text, encoding="utf-8")
    assert_refused(call("plan", folder, "--out", out, "--json"), one["says"].removesuffix("…"), out)


@pytest.mark.parametrize(("was", "now", "place"), PLANS)
def test_a_broken_plan_prints_nothing(was: str, now: str, place: str, tmp_path: Path) -> None:
    folder, out = tmp_path / "site", tmp_path / "out"
    folder.mkdir()
    for name, text in PLANNED_SITE.items():
        (folder / name).write_text(text, encoding="utf-8")
    assert was in PLAN
    (tmp_path / "plan.json").write_text(PLAN.replace(was, now, 1), encoding="utf-8")
    assert_refused(call("sheet", tmp_path / "plan.json", "--site", folder, "--out", out, "--json"), place, out)
    assert_refused(call("check", tmp_path / "plan.json", "--site", folder, "--json"), "plan.json", out)


@pytest.mark.parametrize(("was", "now", "place"), NETWORKS)
def test_a_broken_network_is_not_solved(was: str, now: str, place: str, tmp_path: Path) -> None:
    text = json.dumps(NETWORK)
    assert was in text
    (tmp_path / "n.json").write_text(text.replace(was, now, 1), encoding="utf-8")
    assert_refused(call("flow", tmp_path / "n.json", "--json"), place, tmp_path / "out")


@pytest.mark.parametrize("one", DESCRIPTIONS, ids=lambda one: one["what"])
def test_a_broken_description_judges_nothing(one: dict[str, str], tmp_path: Path) -> None:
    (tmp_path / "r.csv").write_text(RECORD, encoding="utf-8")
    (tmp_path / "d.yaml").write_text(DESCRIPTION.replace(one["was"], one["now"], 1), encoding="utf-8")
    result = call("evidence", "judge", tmp_path / "r.csv", "--description", tmp_path / "d.yaml", "--json")
    assert_refused(result, "d.yaml", tmp_path / "out")


@pytest.mark.parametrize("one", RECORDS, ids=lambda one: one["what"])
def test_a_broken_record_is_not_judged(one: dict[str, str], tmp_path: Path) -> None:
    (tmp_path / "r.csv").write_text(RECORD.replace(one["was"], one["now"], 1), encoding="utf-8")
    (tmp_path / "d.yaml").write_text(DESCRIPTION, encoding="utf-8")
    result = call("evidence", "judge", tmp_path / "r.csv", "--description", tmp_path / "d.yaml", "--json")
    assert_refused(result, "r.csv", tmp_path / "out")
