"""``patency evidence judge``: by itself and against a load."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from patency.cli import main
from patency.demo import larkmere_texts
from patency.load import write_plan
from tests.evidence.steam_cycles import CHECKS, good_steam, leaking
from tests.small_plan import SMALL_PLAN
from tests.small_site import SMALL_SITE

DESCRIPTION = """\
format: patency-record/1
time: {column: time, unit: s}
columns:
  T1: {quantity: temperature, unit: degC, place: chamber, uncertainty: 0.5}
"""


@pytest.fixture
def held(tmp_path: Path) -> list[str]:
    """A record of 90 °C for five minutes, as the first words of a command."""
    rows = "".join(f"{second},90.0\n" for second in range(301))
    (tmp_path / "r.csv").write_text("time,T1\n" + rows, encoding="utf-8")
    (tmp_path / "r.yaml").write_text(DESCRIPTION, encoding="utf-8")
    return ["evidence", "judge", str(tmp_path / "r.csv"), "--description", str(tmp_path / "r.yaml")]


@pytest.fixture
def planned(tmp_path: Path) -> list[str]:
    """The small department and its plan, as options."""
    for name, text in SMALL_SITE.items():
        (tmp_path / "site").mkdir(exist_ok=True)
        (tmp_path / "site" / name).write_text(text, encoding="utf-8")
    (tmp_path / "plan.json").write_text(write_plan(SMALL_PLAN), encoding="utf-8")
    return ["--site", str(tmp_path / "site"), "--plan", str(tmp_path / "plan.json"), "--load", SMALL_PLAN.loads[0].id]


def call(words: list[str]) -> Result:
    return CliRunner().invoke(main, words)


def test_a_record_by_itself_gives_a0_as_published_and_no_verdict(held: list[str]) -> None:
    result = call([*held, "--json"])
    answer = json.loads(result.stdout)
    # 90 °C for 5 min is 3000 s: German Society for Hospital Hygiene (DGKH), Hygiene-Tipp, June 2012
    assert answer["a0_s"]["T1"] == pytest.approx(3000, rel=1e-9)
    assert answer["a0_guarded_s"]["T1"] < 3000
    assert answer["verdict"] == "not evaluated"
    assert result.exit_code == 1


def test_people_are_told_that_the_verdict_is_no_release(held: list[str]) -> None:
    result = call(held)
    assert "A0 (T1): 3000 s" in result.stdout
    assert "Release is the decision of a qualified person" in result.stdout


def test_without_a_site_no_limit_is_blamed_on_it(held: list[str], planned: list[str]) -> None:
    alone = call(held).stdout
    assert "A0 (T1): - no site was given, so there is no limit (--site)" in alone
    assert "the site states no limit" not in alone
    with_site = call([*held, *planned[:2]]).stdout
    assert "no site was given" not in with_site
    assert "longest gap in the record: 1 s - 1 s, at most 5 s" in with_site
    assert "patency diagnose" not in alone


def test_against_a_load_every_criterion_is_judged_and_the_load_file_is_written(
    held: list[str], planned: list[str], tmp_path: Path
) -> None:
    out = tmp_path / "out"
    result = call([*held, *planned, "--on", "2026-03-02", "--out", str(out), "--json"])
    answer = json.loads(result.stdout)
    assert {criterion["state"] for criterion in answer["criteria"]} <= {"met", "not met", "not evaluated"}
    assert answer["verdict"] != "met"
    assert sorted(path.suffix for path in out.iterdir()) == [".html", ".json", ".pdf"]
    assert json.loads(next(out.glob("*.json")).read_text(encoding="utf-8")) == answer


def test_against_a_load_without_a_folder_the_same_is_answered_and_nothing_is_written(
    held: list[str], planned: list[str], tmp_path: Path
) -> None:
    words = [*held, *planned, "--on", "2026-03-02", "--json"]
    written = call([*words, "--out", str(tmp_path / "out")])
    before = sorted(tmp_path.rglob("*"))
    assert call(words).stdout == written.stdout
    assert sorted(tmp_path.rglob("*")) == before


def test_the_site_s_limits_alone_decide_a0(held: list[str], planned: list[str]) -> None:
    answer = json.loads(call([*held, *planned[:2], "--on", "2026-03-02", "--json"]).stdout)
    a0 = [criterion for criterion in answer["criteria"] if criterion["name"] == "A0"]
    assert [criterion["limit"] for criterion in a0] == [3000.0]


@pytest.mark.parametrize(
    ("left_out", "said"),
    [(slice(0, 2), "belong together"), (slice(2, 4), "belong together"), (slice(4, 6), "belong together")],
)
def test_site_plan_and_load_belong_together(held: list[str], planned: list[str], left_out: slice, said: str) -> None:
    options = list(planned)
    del options[left_out]
    result = call([*held, *options])
    assert result.exit_code == 2
    assert said in result.stderr


def test_a_load_file_without_a_load_is_refused_and_nothing_is_written(held: list[str], tmp_path: Path) -> None:
    result = call([*held, "--out", str(tmp_path / "out")])
    assert result.exit_code == 2
    assert not (tmp_path / "out").exists()


def test_a_load_the_plan_does_not_have_is_refused_with_those_it_has(held: list[str], planned: list[str]) -> None:
    result = call([*held, *planned[:-1], "no such"])
    assert result.exit_code == 2
    assert f"load: no load 'no such' in this plan (expected: {SMALL_PLAN.loads[0].id})" in result.stderr


def test_a_broken_record_is_refused_with_file_and_line(held: list[str]) -> None:
    record = Path(held[2])
    record.write_text(record.read_text(encoding="utf-8").replace("100,90.0", "100,hot"), encoding="utf-8")
    result = call([*held, "--json"])
    assert (result.exit_code, result.stdout) == (2, "")
    assert "r.csv" in result.stderr
    assert "102" in result.stderr


@pytest.fixture
def steam(tmp_path: Path) -> list[str]:
    """A steam record and the department of the demo, as the first words of a command."""
    for name, text in larkmere_texts().items():
        (tmp_path / "larkmere").mkdir(exist_ok=True)
        (tmp_path / "larkmere" / name).write_text(text, encoding="utf-8")
    cycle = good_steam()
    (tmp_path / "s.csv").write_text(cycle.text(), encoding="utf-8")
    described = cycle.description.replace("programme: wrapped", "programme: wrapped_134")
    (tmp_path / "s.yaml").write_text(described, encoding="utf-8")
    words = ["evidence", "steam", str(tmp_path / "s.csv"), "--description", str(tmp_path / "s.yaml")]
    return [*words, "--site", str(tmp_path / "larkmere"), "--on", "2026-03-31"]


def test_a_steam_cycle_is_judged_and_its_load_file_written(steam: list[str], tmp_path: Path) -> None:
    result = CliRunner().invoke(main, [*steam, "--programme", "wrapped_134", "--out", str(tmp_path / "out"), "--json"])
    document = json.loads(result.stdout)
    assert result.exit_code == 1  # three pulses for four, and nobody has entered the tests
    assert (document["format"], document["verdict"]) == ("patency-steam-evidence/1", "not met")
    names = sorted(path.name for path in (tmp_path / "out").iterdir())
    assert names == ["steam-s-file.html", "steam-s-file.json", "steam-s-file.pdf"]
    assert "F0 (TD)" in (tmp_path / "out" / "steam-s-file.html").read_text(encoding="utf-8")


def test_a_steam_cycle_in_words_tells_f0_and_leaves_the_decision_to_a_person(steam: list[str], tmp_path: Path) -> None:
    (tmp_path / "c.yaml").write_text(CHECKS.replace("2026-06-01", "2026-03-31"), encoding="utf-8")
    told = ["--programme", "wrapped_134", "--checks", str(tmp_path / "c.yaml")]
    result = CliRunner().invoke(main, [*steam, *told])
    assert "F0 (TD): " in result.stdout
    assert "met           steam-penetration test" in result.stdout
    assert result.stdout.rstrip().endswith("Release is the decision of a qualified person.")


def test_a_leakage_test_is_judged_by_itself(steam: list[str], tmp_path: Path) -> None:
    (tmp_path / "s.csv").write_text(leaking(0.5).text(), encoding="utf-8")
    result = CliRunner().invoke(main, [*steam, "--leakage", "--json"])
    assert (result.exit_code, json.loads(result.stdout)["verdict"]) == (1, "not met")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "give either --programme"),
        (["--leakage", "--programme", "wrapped_134"], "give either --programme"),
        (["--leakage", "--out", "x"], "give either --programme"),
        (["--programme", "gentle"], "no steam programme 'gentle' (expected: one of: wrapped_134)"),
    ],
)
def test_a_steam_command_that_cannot_be_meant_is_refused(steam: list[str], words: list[str], says: str) -> None:
    result = CliRunner().invoke(main, [*steam, *words])
    assert result.exit_code == 2
    assert says in result.stderr
