"""``patency margin``: lines for people, one object for programs, and the exit status."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner, Result

from patency.cli import main
from patency.load import write_plan
from tests.small_plan import SMALL_PLAN
from tests.small_site import SMALL_SITE, changed

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, text in SMALL_SITE.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    (tmp_path / "plan.json").write_text(write_plan(SMALL_PLAN), encoding="utf-8")
    return tmp_path


def margin(folder: Path, *more: str) -> Result:
    call = ["margin", str(folder / "plan.json"), "--site", str(folder), "--samples", "200", *more]
    return CliRunner().invoke(main, call)


def test_every_lumen_is_told_weakest_first(folder: Path) -> None:
    result = margin(folder)
    assert result.exit_code in {0, 1}, result.output
    lines = result.stdout.splitlines()
    assert lines[0] == "load L1: 200 samples, seed 1; ranges hold 95 % of them"
    assert len(lines) == 1 + 5 + 1
    assert "falls short in " in lines[1]
    assert "limited by " in lines[1]
    assert lines[-1] == "Predictions are calculations, not measurements."
    shares = [float(line.split("falls short in ")[1].split(" %")[0]) for line in lines[1:-1] if "falls short" in line]
    assert shares == sorted(shares, reverse=True)


def test_programs_get_the_same_as_one_object_and_the_seed_repeats_it(folder: Path) -> None:
    result = margin(folder, "--json", "--seed", "4")
    data = json.loads(result.stdout)
    assert (data["format"], data["seed"], data["day"]) == ("patency-margin/1", 4, "2026-03-02")
    (load,) = data["loads"]
    assert (load["id"], load["samples"], len(load["lumens"])) == ("L1", 200, 5)
    assert {"set", "piece", "lumen", "short_share", "limiting", "margin", "flow_m3_s", "shear_pa"} <= set(
        load["lumens"][0]
    )
    assert margin(folder, "--json", "--seed", "4").stdout == result.stdout
    assert margin(folder, "--json", "--seed", "5").stdout != result.stdout


def test_a_share_above_one_is_refused(folder: Path) -> None:
    result = margin(folder, "--accept", "5")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "'--accept': 5.0 is not in the range 0<=x<=1" in result.stderr


def test_the_share_that_may_fall_short_decides_the_status(folder: Path) -> None:
    """With the site's 1 Pa nothing comes near its limit; 12 Pa is about what the modular tube gets."""
    assert margin(folder).exit_code == 0
    asked = changed(SMALL_SITE, "least_shear: {value: 1 Pa", "least_shear: {value: 12 Pa")
    (folder / "site.yaml").write_text(asked["site.yaml"], encoding="utf-8")
    lumens = json.loads(margin(folder, "--json").stdout)["loads"][0]["lumens"]
    shares = {(lumen["set"], lumen["piece"]): lumen["short_share"] for lumen in lumens}
    assert 0.2 < shares["Morning", "mod5/1/tube"] < 0.8
    assert [key for key, share in shares.items() if share] == [("Morning", "mod5/1/tube")]
    assert margin(folder).exit_code == 1
    assert margin(folder, "--accept", "0.1").exit_code == 1
    assert margin(folder, "--accept", "0.9").exit_code == 0


def test_what_leaves_fed_open_leaves_the_margin_open(folder: Path) -> None:
    easy = ("--accept", "1")
    whole = json.loads(margin(folder, "--json", *easy).stdout)["loads"][0]["lumens"]
    assert all(lumen["left_open"] == [] for lumen in whole)
    described = SMALL_SITE["instruments.yaml"]
    (folder / "instruments.yaml").write_text(described.replace("            need: {maximum_pressure: none}\n", ""))
    result = margin(folder, *easy)
    assert result.exit_code == 1
    assert "left open: whether there is a highest pressure for it is not stated" in result.stdout


def test_too_few_samples_and_another_load_are_refused_in_one_line(folder: Path) -> None:
    few = margin(folder, "--samples", "5")
    assert (few.exit_code, few.stderr.strip()) == (2, "samples: 5 (expected: 100 or more)")
    other = margin(folder, "--load", "L9")
    assert other.exit_code == 2
    assert other.stderr.strip() == "load: no load 'L9' in this plan (expected: L1)"
