"""The folder in which the bench shows the demo: its records are judged, washing and steam alike."""

from __future__ import annotations

from contextlib import closing
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest

from patency.demo import larkmere_texts, prepare_bench
from patency.errors import InputError
from patency.evidence import CriterionState
from patency.ledger import InstrumentSet, Kind, SetState, open_ledger
from patency.load import read_plan
from patency.steps import RecordFiles, baseline_for, judge_cycle, judge_steam_cycle, read_baselines, read_site
from tests.demo.planned_once import share_plans

pytestmark = [pytest.mark.slow, pytest.mark.xdist_group("the demo's plan")]


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


def test_a_folder_with_something_in_it_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="is not empty"):
        prepare_bench(tmp_path, larkmere_texts(), np.random.default_rng(3), lambda _: None)
