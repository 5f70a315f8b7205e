"""``patency envelope``: lines for people, one object for programs, and the exit status."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner, Result

from patency.cli import main
from patency.load import write_plan
from tests.small_plan import PLAN_OF_TWO, SMALL_PLAN
from tests.small_site import SMALL_SITE


def shown(instrument: str, piece: str, lumen: str, shear: bool = True) -> dict[str, object]:
    little = {"flow": "1 mL/min", "shear": "0.01 Pa"} if shear else {"flow": "1 mL/min"}
    limits = {name: {"value": value, "source": "invented"} for name, value in little.items()}
    return {"instrument": instrument, "piece": piece, "lumen": lumen, **limits}


REFERENCE: dict[str, Any] = {
    "source": "validation report 7, invented",
    "valid_from": "2026-01-01",
    "valid_until": "2026-12-31",
    "carrier": "Wren",
    "programme": "gentle",
    "lumens": [
        shown("sleeve11", "sleeve", "bore", shear=False),
        shown("mod5", "tube", "bore"),
        shown("fix5", "whole", "shaft"),
    ],
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, text in SMALL_SITE.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    (tmp_path / "plan.json").write_text(write_plan(SMALL_PLAN), encoding="utf-8")
    return tmp_path


def with_reference(folder: Path, **changes: object) -> Path:
    text = yaml.safe_dump({"reference_loads": {"PQ 2026": {**REFERENCE, **changes}}}, sort_keys=False)
    (folder / "reference.yaml").write_text(text, encoding="utf-8")
    return folder


def envelope(folder: Path, *more: str) -> Result:
    return CliRunner().invoke(main, ["envelope", str(folder / "plan.json"), "--site", str(folder), *more])


def test_a_plan_inside_ends_with_zero_and_names_what_covers_each_lumen(folder: Path) -> None:
    result = envelope(with_reference(folder))
    assert result.exit_code == 0, result.output
    lines = result.stdout.splitlines()
    counts = "5 inside, 0 outside, 0 unknown"
    assert lines[0] == (
        f"load L1: inside of what was validated, lumens: {counts}; nearest reference load: PQ 2026, which covers 5"
    )
    assert lines[2] == (
        "load L1: H1, Morning, mod5/1/tube, bore: inside: covered by mod5, tube, bore of PQ 2026, the same lumen"
    )
    assert "next qualification of Wren with gentle, for L1: " in result.stdout
    assert "  probe at " in result.stdout
    assert lines[-1].startswith("Predictions are calculations, not measurements.")


def test_without_reference_loads_every_lumen_is_unknown_and_the_status_one(folder: Path) -> None:
    result = envelope(folder)
    assert result.exit_code == 1
    lines = result.stdout.splitlines()
    assert lines[0].endswith("0 inside, 0 outside, 5 unknown; the department describes no reference load")
    assert lines[1] == "load L1: N1, Morning, sleeve11/1/sleeve, bore: unknown: no reference load is described"


def test_what_differs_is_told_with_both_values(folder: Path) -> None:
    more = {**shown("fix5", "whole", "shaft"), "flow": {"value": "9 L/min", "source": "invented"}}
    lumens = [*REFERENCE["lumens"][:2], more]
    result = envelope(with_reference(folder, lumens=lumens))
    assert result.exit_code == 1
    lines = result.stdout.splitlines()
    assert lines[0].endswith("3 inside, 2 outside, 0 unknown; nearest reference load: PQ 2026, which covers 3")
    line = lines[1]
    assert "flow planned " in line
    assert " mL/min, validated 9000 mL/min" in line
    assert "exchanges per minute planned " in line
    assert line.endswith("(nearest: fix5, whole, shaft of PQ 2026, the same lumen)")


def test_the_day_asked_for_counts_and_what_lapsed_is_said(folder: Path) -> None:
    result = envelope(with_reference(folder), "--on", "2027-01-01")
    assert result.exit_code == 1
    words = "validity of the reference load planned 2027-01-01, validated until 2026-12-31: it has expired"
    assert words in result.stdout.splitlines()[0]


def test_programs_get_the_same_as_one_object(folder: Path) -> None:
    result = envelope(with_reference(folder), "--json")
    data = json.loads(result.stdout)
    assert (data["format"], data["day"]) == ("patency-envelope/1", "2026-03-02")
    (load,) = data["loads"]
    assert (load["standing"], load["counts"]) == ("inside", {"inside": 5, "outside": 0, "unknown": 0})
    assert {lumen["nearest"]["reference"] for lumen in load["lumens"]} == {"PQ 2026"}
    (proposal,) = data["requalification"]
    assert {probe["measured"] for probe in proposal["probes"]} >= {"flow", "wall shear stress"}


def test_one_load_can_be_asked_about_alone(folder: Path) -> None:
    (folder / "plan.json").write_text(write_plan(PLAN_OF_TWO), encoding="utf-8")
    data = json.loads(envelope(with_reference(folder), "--load", "L2", "--json").stdout)
    assert [load["id"] for load in data["loads"]] == ["L2"]
    refused = envelope(folder, "--load", "L9")
    assert (refused.exit_code, refused.stdout) == (2, "")
    assert "no load 'L9' in this plan" in refused.stderr
