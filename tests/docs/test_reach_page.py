"""The page on reach keeps its word: its command runs, its keys are read, the defaults it states are those used."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from patency.catalogue import Body, Carrier, CoilPlace, FlushingSleeve, LoadLimits, SprayArm
from patency.catalogue.fields import written_name
from patency.cli import main
from patency.load import write_plan
from patency.reach import JetSampling, Rule, Wetting
from patency.reach.solids.pieces import PATCH_M
from tests.small_plan import SMALL_PLAN
from tests.small_site import SMALL_SITE

PAGE = (Path(__file__).parents[2] / "docs" / "reach.md").read_text(encoding="utf-8")


def test_the_command_of_the_page_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    for folder in ("mine", "out"):
        Path(folder).mkdir()
    for name, text in SMALL_SITE.items():
        Path("mine", name).write_text(text, encoding="utf-8")
    Path("out", "plan.json").write_text(write_plan(SMALL_PLAN), encoding="utf-8")
    (line,) = re.findall(r"^\$ patency (.*)$", PAGE, re.MULTILINE)
    result = CliRunner().invoke(main, line.split())
    assert result.exit_code == 1, result.output  # the small site states no shapes and no nozzles
    assert "place and direction of the nozzles" in result.output
    assert "says nothing of what is left on a surface" in result.output
    told = re.findall(r"^load .+ \(.+\): \w+: ", result.output, re.MULTILINE)
    assert len(told) == len({*told}) > 1  # each names its place, so that no two are alike


def test_the_keys_the_page_names_are_read() -> None:
    named = set(re.findall(r"`(\w+)`", PAGE))
    for kind, keys in (
        (Body, {"thickness", "opening", "end_width", "turns", "name"}),
        (Carrier, {"frame", "mesh"}),
        (CoilPlace, {"bars", "bar_width"}),
        (FlushingSleeve, {"outer"}),
        (LoadLimits, {"arm_clearance", "contact_area", "kept_water", "push_share", "struck_share"}),
    ):
        assert keys <= named
        assert keys <= {written_name(field) for field in kind.model_fields}
    assert {"nozzles", "rotation_rpm", "turns"} <= set(SprayArm.model_fields)


def test_the_page_states_the_defaults_and_every_class_and_rule() -> None:
    assert f"Patches are at most {1000 * PATCH_M:g} mm" in PAGE
    sampling = JetSampling()
    assert f"At {sampling.all_steps} angles of the arm ({sampling.angle_steps} for a first look" in PAGE
    rows = re.findall(r"^\| (\w+) \|", PAGE, re.MULTILINE)
    assert [each.name.lower() for each in Wetting] == [row for row in rows if row.upper() in Wetting.__members__]
    assert len(Rule) == 9
    assert len(re.findall(r"^\| (?:nothing|water that|what the jets can)", PAGE, re.MULTILINE)) == 7  # three hold two
