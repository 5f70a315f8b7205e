"""``patency faults``."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner, Result

from patency.cli import main
from patency.load import write_plan
from tests.small_plan import NOON_LOAD, SMALL_PLAN
from tests.small_site import SMALL_SITE, changed

if TYPE_CHECKING:
    from pathlib import Path


def call(folder: Path, *words: str, site: dict[str, str] | None = None) -> Result:
    (folder / "site").mkdir(exist_ok=True)
    for name, text in (site or dict(SMALL_SITE)).items():
        (folder / "site" / name).write_text(text, encoding="utf-8")
    plan = SMALL_PLAN.model_copy(update={"loads": (NOON_LOAD,)})
    (folder / "plan.json").write_text(write_plan(plan), encoding="utf-8")
    return CliRunner().invoke(main, ["faults", str(folder / "plan.json"), "--site", str(folder / "site"), *words])


def test_it_tells_each_kind_of_fault_the_glances_and_what_nobody_sees_and_ends_with_one(tmp_path: Path) -> None:
    result = call(tmp_path, "--out", str(tmp_path / "out"))
    assert result.exit_code == 1, result.output
    lines = result.stdout.splitlines()
    assert lines[0].startswith("load L2: 17 single faults")
    assert lines[0].endswith("glances show 13 of the others, nobody sees 3")
    (kind,) = (line for line in lines if line.startswith("hose off at the port"))
    assert kind.split()[5:8] == ["1", "0", "1"]  # faults, seen, most lumens short
    table = (tmp_path / "out" / "load-L2-faults.txt").read_text(encoding="utf-8").splitlines()
    assert sum(line.startswith("hose off at the port, H3") for line in table) == 1
    assert len(table) == 17 + 4
    assert any("glances show what no sensor sees (no list is shorter)" in line for line in lines)
    assert "load L2: seen by no sensor and by no glance: insert rod lying on the wall: H3" in lines
    picture = (tmp_path / "out" / "load-L2-faults.svg").read_text(encoding="utf-8")
    assert picture.count("<rect") == 17 * 2  # a cell for each fault and lumen


def test_programs_get_the_same_and_advice_where_they_ask_for_it(tmp_path: Path) -> None:
    plain = json.loads(call(tmp_path, "--json").stdout)
    assert plain["loads"][0]["advice"] is None
    assert plain["loads"][0]["compared"] == "no baseline"
    assert "seen by no sensor and by no glance: pump at 90 % of its speed" in call(tmp_path).stdout
    advised = json.loads(call(tmp_path, "--json", "--sensors", "--assume", "same-load", "--least", "0.9").stdout)
    assert advised["loads"][0]["compared"] == "against earlier cycles of the same load"
    assert advised["loads"][0]["advice"]["orifice_bores_m"].keys() == {"riser", "hoses"}
    words = call(tmp_path, "--sensors").stdout
    assert "best two further:" in words
    assert "they cost a lumen up to" in words


def test_lumens_that_are_not_judged_are_counted_and_named(tmp_path: Path) -> None:
    row = "            segments:\n              - {shape: annulus"
    site = changed(SMALL_SITE, f"            need: {{maximum_pressure: none}}\n{row}", row)
    why = "whether there is a highest pressure for it is not stated"
    assert f"load L2: not judged: 1 lumen, {why}" in call(tmp_path, site=site).stdout.splitlines()
    (load,) = json.loads(call(tmp_path, "--json", site=site).stdout)["loads"]
    assert load["not_judged"] == [{"why": why, "lumens": [["Noon", "fix5/1/whole", "shaft"]]}]
    (whole,) = json.loads(call(tmp_path, "--json").stdout)["loads"]
    assert whole["not_judged"] == []


def test_a_load_of_which_everything_can_be_seen_ends_with_none(tmp_path: Path) -> None:
    bore = "{shape: annulus, outer: 3.6 mm, inner: 2.6 mm, length: 330 mm}"
    site = changed(SMALL_SITE, bore, "{shape: bore, bore: 2.4 mm, length: 330 mm}")
    result = call(tmp_path, site=site)
    assert result.exit_code == 1, result.output  # without a baseline nobody raises an alarm on a slow pump
    assumed = call(tmp_path, "--assume", "model", site=site)
    assert assumed.exit_code == 0, assumed.output


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--load", "L7"), "load: no load 'L7' in this plan (expected: L2)"),
        (("--false-alarms", "0"), "false alarms: 0 (expected: a share between 0 and 1, such as 0.01)"),
        (("--least", "1.5"), "least probability: 1.5 (expected: a share between 0 and 1, such as 0.01)"),
    ],
)
def test_what_cannot_be_used_is_refused_in_one_line(tmp_path: Path, words: tuple[str, ...], told: str) -> None:
    result = call(tmp_path, *words)
    assert (result.exit_code, result.stderr.strip()) == (2, told)
