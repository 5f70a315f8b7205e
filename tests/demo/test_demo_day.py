"""The demo day from end to end, and the folder in which the bench shows it, both on one plan.

What the records prove agrees with what truly happened, as far as sensors can see.
"""

from __future__ import annotations

import json
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from patency.demo import DemoDay, Mishap, larkmere_texts, prepare_bench, run_demo_day, summary_data, summary_text
from patency.demo.truth import TRUTHS
from patency.errors import InputError
from patency.evidence import ALARM_CRITERION, CriterionState
from patency.ledger import InstrumentSet, Kind, SetState, open_ledger
from patency.load import Question, read_plan
from patency.quantities import Answer
from patency.steps import RecordFiles, baseline_for, judge_cycle, judge_steam_cycle, read_baselines, read_site
from tests.demo.planned_once import share_plans

pytestmark = pytest.mark.slow
NOW = datetime(2026, 5, 12, 20, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> DemoDay:
    folder = tmp_path_factory.mktemp("demo") / "larkmere"
    with pytest.MonkeyPatch.context() as patch:
        share_plans(patch)
        return run_demo_day(folder, larkmere_texts(), np.random.default_rng(1), NOW, lambda _: None)


def happened(day: DemoDay, load_id: str) -> Mishap:
    truth = json.loads((day.folder / "truth" / f"load-{load_id}.json").read_text(encoding="utf-8"))
    return Mishap(truth["mishap"])


def test_ten_sets_go_into_four_loads_proven_fewest_and_the_held_set_into_none(day: DemoDay) -> None:
    assert len(day.plan.loads) == 4
    assert day.plan.proven_fewest
    assert sum(len(load.sets) for load in day.plan.loads) == 10
    assert [one.set for one in day.plan.left_out] == ["Visiting Wrist"]
    assert "hold" in day.plan.left_out[0].why


def test_all_122_lumens_are_connected_once(day: DemoDay) -> None:
    # the scenario's sums: 82 hoses, 37 nozzles, 3 tapers
    connected = [connection for load in day.plan.loads for piece in load.pieces for connection in piece.lumens]
    assert len(connected) == 82 + 37 + 3


def test_the_second_check_finds_nothing(day: DemoDay) -> None:
    assert day.check.findings == ()


def test_each_mishap_of_the_day_befell_one_load(day: DemoDay) -> None:
    assert sorted(happened(day, load.id) for load in day.plan.loads) == sorted(Mishap)


def test_every_cycle_misses_exactly_what_truly_went_wrong(day: DemoDay) -> None:
    for load in day.plan.loads:
        criteria = day.cycles[load.id].evidence.criteria
        missed = {one.name for one in criteria if one.state is CriterionState.NOT_MET} - {ALARM_CRITERION}
        assert missed == TRUTHS[happened(day, load.id)].must_miss, load.id


def test_the_cycle_that_ran_as_planned_is_met_and_the_hose_that_came_off_asks_for_the_eye_check(day: DemoDay) -> None:
    by_mishap = {happened(day, load.id): day.cycles[load.id] for load in day.plan.loads}
    assert by_mishap[Mishap.NOTHING].evidence.verdict is CriterionState.MET
    hose_off = by_mishap[Mishap.HOSE_OFF]
    assert hose_off.evidence.verdict is CriterionState.NOT_EVALUATED
    (look,) = [one for one in hose_off.file.criteria if one.state == "not evaluated"]
    assert look.name == "every hose and sleeve seen at unloading"


def test_held_against_earlier_cycles_of_the_same_load_the_forgotten_taper_cap_shows_as_well(day: DemoDay) -> None:
    states = {
        happened(day, load.id): one.state
        for load in day.plan.loads
        for one in day.cycles[load.id].evidence.criteria
        if one.name == ALARM_CRITERION
    }
    assert states[Mishap.TAPER_CAP_FORGOTTEN] is CriterionState.NOT_MET
    assert states[Mishap.NOTHING] is CriterionState.MET
    assert {path.stem for path in (day.folder / "baselines").iterdir()} == {
        f"load-{load.id}" for load in day.plan.loads
    }


def test_a_fixed_window_would_not_have_noticed_the_forgotten_taper_cap(day: DemoDay) -> None:
    by_mishap = {happened(day, load.id): day.cycles[load.id] for load in day.plan.loads}
    windows = by_mishap[Mishap.TAPER_CAP_FORGOTTEN].evidence.fixed_pressure_windows
    assert windows
    assert all(window.state is CriterionState.MET for window in windows)


def test_the_summary_fits_one_screen_and_says_where_things_are(day: DemoDay) -> None:
    lines = summary_text(day).splitlines()
    assert len(lines) <= 40
    assert "4 loads, proven fewest" in lines[0]
    assert str(day.folder) in summary_text(day)
    assert "which jets strike it is not computed" not in summary_text(day)
    # Shapes and nozzles of the demo are stated, and every piece finds a place in which it is struck. Which way the
    # blind pocket of a shaver looks nobody has said.
    replies = [(piece.piece, piece.replies[Question.REACHED].answer) for load in day.answers.values() for piece in load]
    assert [one for one in replies if one[1] is not Answer.YES] == [("shaver/1/handpiece", Answer.UNKNOWN)] * 2
    assert len(replies) == 412
    assert "0 rules broken of 75, 2 places left open by missing data" in summary_text(day)
    assert [load["verdict"] for load in summary_data(day)["loads"]].count("met") == 1


def test_papers_data_and_records_of_every_load_are_there(day: DemoDay) -> None:
    for load in day.plan.loads:
        for name in (
            f"sheets/load-{load.id}-sheet.pdf",
            f"sheets/load-{load.id}-sheet.html",
            f"files/load-{load.id}-file.pdf",
            f"files/load-{load.id}-file.html",
            f"files/load-{load.id}-file.json",
            f"records/load-{load.id}.csv",
            f"records/load-{load.id}.yaml",
        ):
            assert (day.folder / name).stat().st_size > 100, name
        assert len(PdfReader(day.folder / f"files/load-{load.id}-file.pdf").pages) <= 4, load.id


def test_a_folder_with_something_else_in_it_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="holds something else"):
        run_demo_day(tmp_path, larkmere_texts(), np.random.default_rng(1), NOW, lambda _: None)
    assert (tmp_path / "mine.txt").read_text(encoding="utf-8") == "mine"


@pytest.fixture(scope="module")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, datetime]:
    folder = tmp_path_factory.mktemp("bench") / "department"
    with pytest.MonkeyPatch.context() as patch:
        share_plans(patch)
        return folder, prepare_bench(folder, larkmere_texts(), np.random.default_rng(3), lambda _: None)


def record(folder: Path, name: str) -> RecordFiles:
    text, description = [(folder / "records" / f"{name}.{end}").read_text(encoding="utf-8") for end in ("csv", "yaml")]
    return RecordFiles(text, description, f"{name}.csv", f"{name}.yaml")


def test_every_wash_load_has_a_record_and_a_baseline_of_its_own(prepared: tuple[Path, datetime]) -> None:
    folder, now = prepared
    department = read_site(folder / "site").department
    plan = read_plan((folder / "plan.json").read_text(encoding="utf-8"), "plan.json")
    kept = read_baselines(sorted((folder / "baselines").iterdir()))
    verdicts = []
    for load in plan.loads:
        baseline = baseline_for(load, kept)
        assert baseline is not None, load.id
        files = record(folder, f"load-{load.id}")
        cycle = judge_cycle(files, department, load, now.date(), None, baseline=baseline)
        verdicts.append(cycle.evidence.verdict)
    # Nobody has looked at unloading yet: without that nothing is met; two mishaps of the day show in the record.
    assert verdicts.count(CriterionState.NOT_EVALUATED) == 2
    assert verdicts.count(CriterionState.NOT_MET) == 2


def test_every_sterilizer_has_records_for_the_day_of_its_own_name(prepared: tuple[Path, datetime]) -> None:
    folder, now = prepared
    department = read_site(folder / "site").department
    names = sorted(path.stem for path in (folder / "records").glob("load-steam-*.csv"))
    assert {name.split("-")[2] for name in names} == {"North", "South"}
    for name in names:
        assert f"{now:%Y%m%d}" in name
        files = record(folder, name)
        assert files.read().description.machine == name.split("-")[2]
        judged = judge_steam_cycle(files, department, "wrapped_134", now.date(), name=name)
        missed = [one.name for one in judged.evidence.criteria if one.state is CriterionState.NOT_MET]
        assert missed == []


def test_the_ledger_holds_the_sets_that_are_back_and_the_loan_on_hold(prepared: tuple[Path, datetime]) -> None:
    folder, _ = prepared
    with closing(open_ledger(str(folder / "ledger.sqlite"))) as ledger:
        assert ledger.verify() == []
        states = {one.set_key: one.state for one in ledger.all_of(InstrumentSet)}
        assert states["Gallbladder One"] is SetState.USED
        assert [hold.key for hold in ledger.holds(Kind.SET, "Visiting Wrist")] == ["Visiting Wrist"]


def test_a_folder_with_something_in_it_is_left_alone_by_the_bench_too(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="is not empty"):
        prepare_bench(tmp_path, larkmere_texts(), np.random.default_rng(3), lambda _: None)
