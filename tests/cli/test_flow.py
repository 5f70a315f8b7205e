"""``patency flow``: a network file in, flows out."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from patency.cli import main


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
