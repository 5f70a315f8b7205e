"""``patency flow``: a network file or a plan in, flows out."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from patency.cli import main
from patency.load import write_plan
from patency.texts import people_shear
from tests.small_plan import SMALL_PLAN
from tests.small_site import SMALL_SITE, changed


def network(**changes: object) -> dict[str, object]:
    lumen = {"shape": "bore", "diameter_m": 0.001, "length_m": 0.3, "roughness_m": 0.0, "minor_loss": 0.0}
    wide = {"shape": "bore", "diameter_m": 0.5, "length_m": 0.001, "roughness_m": 0.0, "minor_loss": 0.0}
    outlet = {"id": "P0", "node": "N0", "state": "open", "elevation_m": 0.0, "exit_loss": 0.0, "segments": [lumen]}
    return {
        "format": "patency-network/1",
        "water": {"temperature_c": 20.0},
        "pump": {"shutoff_head_m": 0.5, "coefficient": 0.0, "exponent": 2.0},
        "links": [{"id": "L0", "from": "SUMP", "to": "N0", "segments": [wide]}],
        "outlets": [outlet],
    } | changes


def call(folder: Path, text: str, *options: str) -> Result:
    (folder / "net.json").write_text(text, encoding="utf-8")
    return CliRunner().invoke(main, ["flow", str(folder / "net.json"), *options])


def test_one_object_on_standard_output_agrees_with_hagen_and_poiseuille(tmp_path: Path) -> None:
    result = call(tmp_path, json.dumps(network()), "--json")
    answer = json.loads(result.stdout)
    # 0.5 m of water at 20 °C over 0.3 m of 1 mm bore; the viscosity is that of IAPWS, 1.0034 mm²/s
    expected = math.pi * 0.001**4 * 9.80665 * 0.5 / (128 * 1.0034e-6 * 0.3)
    assert answer["format"] == "patency-flow/1"
    assert answer["flows_m3_s"]["P0"] == pytest.approx(expected, rel=1e-4)
    assert result.exit_code == 0


def test_people_see_millilitres_per_minute(tmp_path: Path) -> None:
    result = call(tmp_path, json.dumps(network()))
    assert "mL/min" in result.stdout
    assert "P0" in result.stdout


def test_an_outlet_above_the_pump_s_head_stays_dry_and_that_falls_short(tmp_path: Path) -> None:
    document = network()
    document["outlets"][0]["elevation_m"] = 0.9  # type: ignore[index]
    result = call(tmp_path, json.dumps(document))
    assert "P0 is open and stays dry" in result.stdout
    assert result.exit_code == 1


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("", "net.json"),
        ("{", "net.json"),
        ("[]", "net.json"),
        (json.dumps(network(outlets=[])), "outlets"),
        (json.dumps(network(water={"temperature_c": 140.0})), "water"),
        (json.dumps(network(format="other/1")), "format"),
    ],
)
def test_a_broken_file_is_refused_with_its_place_and_status_two(tmp_path: Path, text: str, place: str) -> None:
    result = call(tmp_path, text, "--json")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert place in result.stderr
    assert len(result.stderr.splitlines()) >= 1


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["flow", str(tmp_path / "none.json")])
    assert (result.exit_code, result.stdout) == (2, "")
    assert "none.json" in result.stderr


def of_plan(folder: Path, *options: str, site: dict[str, str] | None = None) -> Result:
    (folder / "site").mkdir(exist_ok=True)
    for name, text in (site or dict(SMALL_SITE)).items():
        (folder / "site" / name).write_text(text, encoding="utf-8")
    (folder / "plan.json").write_text(write_plan(SMALL_PLAN), encoding="utf-8")
    return CliRunner().invoke(main, ["flow", str(folder / "plan.json"), "--site", str(folder / "site"), *options])


def test_of_a_plan_it_tells_every_lumen_with_its_limit_and_draws_two_charts(tmp_path: Path) -> None:
    result = of_plan(tmp_path, "--out", str(tmp_path / "out"))
    assert result.exit_code == 0, result.output
    lines = result.stdout.splitlines()
    ports = [line.partition(": flow ")[0].rpartition(" ")[2] for line in lines if ": flow " in line]
    assert ports == ["N1", "N2", "H1", "H2", "H3"]
    assert sum("limit 50 mL/min; shear not known over a nozzle" in line for line in lines) == 2
    assert sum(line.endswith(f", limit {people_shear(1.0)}") for line in lines) == 3
    assert "Predictions are calculations, not measurements." in lines
    charts = [tmp_path / "out" / f"load-L1-{name}.svg" for name in ("lumens", "manifold")]
    assert lines[-2:] == [str(path) for path in charts]
    assert all("<svg" in path.read_text(encoding="utf-8") for path in charts)


def test_programs_get_the_loads_in_si_units(tmp_path: Path) -> None:
    data = json.loads(of_plan(tmp_path, "--json", "--load", "L1").stdout)
    assert data["format"] == "patency-load-flow/1"
    (load,) = data["loads"]
    assert [lumen["least_flow_m3_s"]["value"] * 6e7 for lumen in load["lumens"]] == pytest.approx([50.0] * 5)
    assert all(lumen["flow_m3_s"]["low"] < lumen["flow_m3_s"]["high"] for lumen in load["lumens"])
    assert [lumen["shear_pa"] is None for lumen in load["lumens"]] == [True, True, False, False, False]
    assert {reply["answer"] for reply in load["fed"]} == {"yes"}
    on_circuits = [
        port for places in load["manifold"]["circuits"].values() for place in places for port in place["ports"]
    ]
    assert sorted(on_circuits) == ["H1", "H2", "H3", "N1", "N2", "T1"]


def test_a_lumen_that_falls_short_and_a_limit_out_of_date_are_told_and_end_with_one(tmp_path: Path) -> None:
    short = of_plan(tmp_path, site=changed(SMALL_SITE, "value: 50 mL/min", "value: 800 mL/min"))
    assert short.exit_code == 1
    assert "fed: no: flow at least" in short.stdout
    dated = "least_flow: {value: 50 mL/min, source: no source, valid_until: 2026-01-31}"
    late = of_plan(tmp_path, site=changed(SMALL_SITE, "least_flow: {value: 50 mL/min, source: no source}", dated))
    assert late.exit_code == 1
    assert "limit 50 mL/min (out of date)" in late.stdout


@pytest.mark.parametrize("options", [("--out", "charts"), ("--load", "L1")])
def test_what_only_a_plan_has_is_refused_without_its_department(tmp_path: Path, options: tuple[str, str]) -> None:
    result = call(tmp_path, json.dumps(network()), *options)
    told = "patency flow: --load and --out need --site, the folder of the plan's department"
    assert (result.exit_code, result.stderr.strip()) == (2, told)


def test_a_load_that_the_plan_has_not_is_refused(tmp_path: Path) -> None:
    result = of_plan(tmp_path, "--load", "L7")
    assert (result.exit_code, result.stderr.strip()) == (2, "load: no load 'L7' in this plan (expected: L1)")
