"""An archive: raw records bit for bit, each once; judging it again gives what judging each record alone gives."""

from __future__ import annotations

import signal
import subprocess
import sys
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from pathlib import Path

import duckdb
import pytest

from patency.demo import FAULTS
from patency.errors import InputError
from patency.evidence import (
    CriterionState,
    CycleAgainst,
    CycleRecord,
    Evidence,
    SensorCorrection,
    SteamEvidence,
    against_of_texts,
    corrected,
    read_calendar,
)
from patency.quantities import Limit
from patency.steps import (
    Interlock,
    Revision,
    add_to_archive,
    archive_pieces,
    pack_archive,
    rejudge_archive,
    rejudging,
    verify_archive,
)
from patency.steps.archive_parts import CYCLES, SAMPLES, cycles_of, parts_of
from patency.steps.archiving import Adding, Belonging, RawRecord
from patency.steps.interlocking import asked_of_tests
from patency.steps.rejudging import rejudge_part
from patency.steps.revising import cycles_again
from tests.demo.fleet import drawn, larkmere
from tests.evidence.cycles import ALL_SEEN, LIMITS, MACHINE, PREDICTION, PROGRAMME, TODAY, good_cycle

AGAINST = CycleAgainst(
    limits=LIMITS,
    on=TODAY,
    programme=PROGRAMME,
    programme_key="short",
    prediction=PREDICTION,
    machine=MACHINE,
    eye_check=ALL_SEEN,
)
GOOD = good_cycle()
CALENDAR = """\
format: patency-calendar/1
tests:
  soil: {of: machine, name: Alder, interval: 365 d, blocks: {machines: [Alder, Birch]}, source: invented}
done:
  - {test: soil, at: 2026-01-08T06:30Z, by: M. Hollis, result: passed}
"""
DECIDED = datetime(2026, 6, 1, 18, tzinfo=UTC)
IN_DATE = Interlock(read_calendar(CALENDAR), DECIDED, ran=datetime(2026, 6, 1, 11, tzinfo=UTC))
AGED = Interlock(read_calendar(CALENDAR.replace("365 d", "28 d")), DECIDED)
BELONGS = Belonging("Quay", GOOD.description, "r.yaml")
OTHER = "another source, invented"


def records(folder: Path, many: int = 3) -> list[Path]:
    """Write small cycles that differ in their last reading."""
    paths = []
    for number in range(many):
        path = folder / f"c{number}.csv"
        path.write_text(GOOD.text().replace("1599,", f"1599.{number},"), encoding="utf-8")
        paths.append(path)
    return paths


@pytest.fixture
def archive(tmp_path: Path) -> Path:
    add_to_archive(tmp_path / "kept", records(tmp_path), "Quay", (GOOD.description, "r.yaml"), AGAINST, IN_DATE)
    return tmp_path / "kept"


def content(archive: Path) -> dict[str, bytes]:
    return {str(path.relative_to(archive)): path.read_bytes() for path in archive.rglob("*") if path.is_file()}


def test_the_raw_record_lies_bit_for_bit_beside_its_verdict_by_site_machine_and_month(
    archive: Path, tmp_path: Path
) -> None:
    (part,) = parts_of(archive)
    assert part.parent.relative_to(archive).as_posix() == "site=Quay/machine=Alder/month=2026-06"
    rows = cycles_of(part)
    assert [row["record"] for row in rows] == [path.read_bytes() for path in records(tmp_path)]
    assert {row["verdict"] for row in rows} == {"met"}
    check = verify_archive(archive)
    assert (check.parts, check.cycles, check.samples, check.faults) == (1, 3, 4800, ())


def test_adding_again_changes_nothing(archive: Path, tmp_path: Path) -> None:
    before = content(archive)
    added = add_to_archive(archive, records(tmp_path), "Quay", (GOOD.description, "r.yaml"), AGAINST, IN_DATE)
    assert [one.verdict for one in added.kept] == ["", "", ""]
    assert content(archive) == before


def test_a_record_that_cannot_be_used_is_told_and_the_others_are_kept(tmp_path: Path) -> None:
    paths = records(tmp_path, 2)
    damaged = tmp_path / "damaged.csv"
    damaged.write_text(GOOD.text().replace("\n700,", "\nseven,"), encoding="utf-8")
    paths = [paths[0], damaged, tmp_path / "none.csv", paths[1]]
    added = add_to_archive(tmp_path / "kept", paths, None, (GOOD.description, "r.yaml"), AGAINST, IN_DATE)
    assert [one.name for one in added.kept] == ["c0.csv", "c1.csv"]
    assert added.refused[0].startswith("damaged.csv, line 702, column time: 'seven' cannot be read")
    assert added.refused[1].endswith("none.csv: No such file or directory (expected: a readable file)")
    assert [part.parents[2].name for part in parts_of(tmp_path / "kept")] == ["site=no%20site"]


def test_a_parquet_record_is_kept_and_verified_like_any_other(tmp_path: Path) -> None:
    (path,) = records(tmp_path, 1)
    with duckdb.connect(":memory:") as opened:
        opened.execute(f"COPY (SELECT * FROM read_csv('{path}')) TO '{tmp_path}/c.parquet' (FORMAT parquet)")
    add_to_archive(tmp_path / "kept", [tmp_path / "c.parquet"], "Quay", (GOOD.description, "r.yaml"), AGAINST, IN_DATE)
    (row,) = cycles_of(parts_of(tmp_path / "kept")[0])
    assert row["record"] == (tmp_path / "c.parquet").read_bytes()
    assert verify_archive(tmp_path / "kept").faults == ()


def swapped(archive: Path, ending: str, change: str) -> None:
    """Write a file of an archive anew with one thing changed."""
    path = next(archive.rglob(f"*{ending}"))
    with duckdb.connect(":memory:") as opened:
        opened.execute(f"CREATE TABLE t AS SELECT * FROM read_parquet('{path}', hive_partitioning=false)")
        opened.execute(change)
        opened.execute(f"COPY t TO '{path}' (FORMAT parquet)")


@pytest.mark.parametrize(
    ("ending", "change", "said"),
    [
        (
            CYCLES,
            "UPDATE t SET record = 'x'::BLOB WHERE name = 'c1.csv'",
            "the raw record of 'c1.csv' is not what it was",
        ),
        (
            CYCLES,
            "UPDATE t SET verdict = 'met ' WHERE name = 'c2.csv'",
            "what is kept beside record 'c2.csv' is not what",
        ),
        (
            SAMPLES,
            'UPDATE t SET "2 T2" = 91.5 WHERE elapsed_s = 700',
            "the samples of 'c0.csv' are not those of its record",
        ),
        (SAMPLES, "UPDATE t SET elapsed_s = 9 WHERE cycle = 2 AND elapsed_s = 10", "the samples of 'c2.csv' are not"),
    ],
)
def test_whatever_was_changed_is_found(archive: Path, ending: str, change: str, said: str) -> None:
    swapped(archive, ending, change)
    faults = verify_archive(archive).faults
    assert faults
    assert said in faults[0]


def test_a_damaged_file_is_named_and_the_others_are_still_checked(archive: Path, tmp_path: Path) -> None:
    add_to_archive(
        archive, records(tmp_path, 1), "Quay", (GOOD.description.replace("Alder", "Birch"), "b"), AGAINST, IN_DATE
    )
    assert verify_archive(archive).faults == ()
    part = parts_of(archive)[0]
    part.write_bytes(part.read_bytes()[:100])
    check = verify_archive(archive)
    assert [str(part) in fault for fault in check.faults] == [True]
    with pytest.raises(InputError, match="a file of cycles of an archive"):
        rejudge_archive(archive, Revision(TODAY))
    with pytest.raises(InputError, match="no such folder"):
        verify_archive(tmp_path / "nowhere")


KILLED = """
import os, signal, sys
from pathlib import Path
from patency.steps import archive_parts
from tests.steps.test_archive import AGAINST, GOOD, IN_DATE, records
from patency.steps import add_to_archive
count = 0
def dying(file):
    global count
    count += 1
    if count == int(sys.argv[2]):
        os.kill(os.getpid(), signal.SIGKILL)
archive_parts.os.fsync = dying
folder = Path(sys.argv[1])
add_to_archive(folder / "kept", records(folder), "Quay", (GOOD.description, "r.yaml"), AGAINST, IN_DATE)
"""


@pytest.mark.slow
@pytest.mark.parametrize("moment", [1, 2])
def test_who_is_killed_while_adding_leaves_nothing_half_and_adding_again_mends(tmp_path: Path, moment: int) -> None:
    killed = subprocess.run(
        [sys.executable, "-c", KILLED, str(tmp_path), str(moment)], check=False, cwd=Path(__file__).parents[2]
    )
    assert killed.returncode == -signal.SIGKILL
    archive = tmp_path / "kept"
    assert parts_of(archive) == []
    assert len(verify_archive(archive).faults) == moment - 1  # the samples of the part lie there and count as nothing
    add_to_archive(archive, records(tmp_path), "Quay", (GOOD.description, "r.yaml"), AGAINST, IN_DATE)
    check = verify_archive(archive)
    assert (check.cycles, check.faults) == (3, ())


def test_packing_keeps_every_cycle_and_removes_what_lies_there_twice(tmp_path: Path) -> None:
    archive = tmp_path / "kept"
    for path in records(tmp_path, 3):
        add_to_archive(archive, [path], "Quay", (GOOD.description, "r.yaml"), AGAINST, IN_DATE)
    alone = verify_archive(archive)
    assert (alone.parts, alone.cycles) == (3, 3)
    part = parts_of(archive)[0]
    twins = [part, part.with_name(part.name.replace(CYCLES, SAMPLES))]
    copies = {path: path.read_bytes() for path in twins}
    assert pack_archive(archive) == (3, 1)
    packed = verify_archive(archive)
    assert (packed.parts, packed.cycles, packed.samples, packed.faults) == (1, 3, alone.samples, ())
    assert pack_archive(archive) == (1, 1)
    for path, old in copies.items():  # as after a power cut between putting the new part in place and removing this one
        path.write_bytes(old)
    assert "is kept twice" in verify_archive(archive).faults[0]
    pack_archive(archive)
    mended = verify_archive(archive)
    assert (mended.cycles, mended.faults) == (3, ())


def test_what_a_cycle_was_judged_against_is_read_back_as_it_was() -> None:
    assert against_of_texts(AGAINST.texts()) == AGAINST
    bare = CycleAgainst(limits=LIMITS, on=TODAY)
    assert against_of_texts(bare.texts()) == bare
    _, one = drawn(0, None)
    assert against_of_texts(one.texts()) == one


# --- judging again ----------------------------------------------------------------------------------------------------

SITE = larkmere().limits.cycle
LATER = date(2026, 4, 2)


def limits(**changes: Limit | None) -> Revision:
    return Revision(LATER, SITE.model_copy(update=changes))


REVISIONS = {
    "nothing": limits(),
    "A0": limits(a0_target=Limit(20000.0, "s", OTHER)),
    "band": limits(disinfection_band=Limit(1.5, "K", OTHER)),
    "gap": limits(longest_gap=Limit(400.0, "s", OTHER)),
    "cleaning and drying": limits(
        cleaning_temperature_tolerance=Limit(2.0, "K", OTHER), drying_temperature_tolerance=Limit(9.0, "K", OTHER)
    ),
    "doses": limits(dose_tolerance=Limit(0.01, "1", OTHER), final_rinse_conductivity=Limit(6.0, "uS/cm", OTHER)),
    "arms": limits(arm_rotation_least=Limit(33.0, "rpm", OTHER), arm_readings_aside=Limit(0.2, "1", OTHER)),
    "water": limits(
        unsteady_share=Limit(0.3, "1", OTHER),
        pressure_swing=Limit(0.006, "1", OTHER),
        running_share=Limit(0.9, "1", OTHER),
    ),
    "out of date": limits(disinfection_band=Limit(5.0, "K", OTHER, None, date(2026, 4, 1))),
    "taken away": limits(first_rinse_highest=None),
    "all criteria": replace(limits(a0_target=Limit(9000.0, "s", OTHER)), everything=True),
    "many limits": limits(
        a0_target=Limit(9000.0, "s", OTHER),
        disinfection_band=Limit(3.0, "K", OTHER),
        longest_gap=Limit(40.0, "s", OTHER),
        cleaning_temperature_tolerance=Limit(4.0, "K", OTHER),
        drying_temperature_tolerance=Limit(4.0, "K", OTHER),
        unsteady_share=Limit(0.2, "1", OTHER),
        running_share=Limit(0.4, "1", OTHER),
        arm_rotation_least=Limit(25.0, "rpm", OTHER),
    ),
    "a thermometer": Revision(
        LATER,
        None,
        (SensorCorrection(machine="Alder", column="T2", shows_too_much=0.7, uncertainty=0.5, source="C 1"),),
    ),
    "another calendar": Revision(LATER, interlock=AGED),
    "limits and another calendar": replace(limits(a0_target=Limit(20000.0, "s", OTHER)), interlock=AGED),
    "a pressure sensor": Revision(
        LATER, SITE, (SensorCorrection(machine="Alder", column="P1", shows_too_much=-20.0, source="C 2"),)
    ),
}
MANY = 100
EACH = {"many limits": 1}  # of the others every tenth cycle is judged alone too


@dataclass(frozen=True, eq=False)
class Fleet:
    """Simulated cycles with and without faults and stage columns, kept in an archive and at hand."""

    archive: Path
    records: dict[str, tuple[CycleRecord, CycleAgainst, Evidence | SteamEvidence]] = field(default_factory=dict)


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Fleet:
    kept = Fleet(tmp_path_factory.mktemp("fleet") / "kept")
    adding = Adding(kept.archive)
    for number in range(MANY):
        fault = None if number % 2 else FAULTS[number // 2 % len(FAULTS)]
        cycle, against = drawn(number // 2, fault, stage_column="step" if number % 4 < 2 else None)
        raw = RawRecord(f"{number}.csv", cycle.record.encode())
        evidence = adding.add(raw, Belonging("Larkmere", cycle.description, "d"), against, IN_DATE)
        assert evidence is not None
        kept.records[raw.sha256] = (raw.read(cycle.description, "d"), against, evidence)
    adding.finish()
    assert verify_archive(kept.archive).faults == ()
    return kept


def alone(record: CycleRecord, against: CycleAgainst, revision: Revision) -> Evidence:
    """Judge a record by itself, as read from its text."""
    record = corrected(record, revision.corrections, record.started.date() if record.started else against.on)
    if revision.limits is not None:
        against = against.model_copy(update={"limits": revision.limits, "on": revision.on})
    return asked_of_tests(against.judge(record), against, revision.interlock or IN_DATE)


@pytest.mark.slow
@pytest.mark.parametrize("kind", REVISIONS)
def test_judging_again_gives_bit_for_bit_what_judging_each_record_gives(fleet: Fleet, kind: str) -> None:
    revision = REVISIONS[kind]
    touched = 0
    for number, one in enumerate(again for part in parts_of(fleet.archive) for again in cycles_again(part, revision)):
        if number % EACH.get(kind, 10):
            continue
        record, against, before = fleet.records[one.row["sha256"]]
        evidence = alone(record, against, revision)
        if one.judged is None:
            assert evidence.criteria == before.criteria
            continue
        again = [criterion for _, criterion in one.judged.criteria]
        rest = iter(evidence.criteria)
        assert all(any(criterion == other for other in rest) for criterion in again)  # the same ones in the same order
        assert [one for one in evidence.criteria if one not in again and one not in before.criteria] == []
        assert (one.judged.before, one.judged.after) == (before.verdict, evidence.verdict)
        touched += len(one.judged.changes)
    assert bool(touched) == (kind != "nothing")


@pytest.mark.slow
def test_two_processes_find_what_one_finds(fleet: Fleet, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rejudging, "_WORTH_STARTING", 0)
    archive = fleet.archive
    assert len(parts_of(archive)) > 1
    one, two = (rejudge_archive(archive, REVISIONS["A0"], processes=processes) for processes in (1, 2))
    assert one.changed
    assert one == two
    assert one.cycles == MANY
    assert rejudge_archive(archive, REVISIONS["A0"], site="Elsewhere").cycles == 0


@pytest.mark.parametrize("readings", [1, 40_000])
def test_cycles_read_a_few_at_a_time_give_what_all_of_a_part_give(
    archive: Path, monkeypatch: pytest.MonkeyPatch, readings: int
) -> None:
    revision = Revision(TODAY, LIMITS.model_copy(update={"a0_target": Limit(1e6, "s", OTHER)}), everything=True)
    part = parts_of(archive)[0]
    whole = [(one.row, one.judged and one.judged.criteria) for one in cycles_again(part, revision)]
    assert [row["name"] for row, _ in whole] == ["c0.csv", "c1.csv", "c2.csv"]
    monkeypatch.setattr(archive_pieces, "_MOST_READINGS", readings)  # one or two cycles at a time
    again = [(one.row, one.judged and one.judged.criteria) for one in cycles_again(part, revision)]
    assert again == whole
    assert rejudge_archive(archive, revision).changed == rejudge_part(part, revision).changed


def test_a_correction_concerns_its_machine_and_its_days_alone(archive: Path) -> None:
    def changed(**words: object) -> int:
        correction = SensorCorrection.model_validate(
            {"machine": "Alder", "column": "T2", "shows_too_much": 3.0, "source": "C 3", **words}
        )
        return len(rejudge_archive(archive, Revision(TODAY, None, (correction,))).changed)

    assert changed() == 3
    assert changed(machine="Birch") == 0
    assert changed(column="T7") == 0
    assert changed(first_day=date(2026, 6, 2)) == 0
    assert changed(last_day=date(2026, 5, 31)) == 0


def test_what_was_judged_without_a_programme_is_judged_again_without_one(tmp_path: Path) -> None:
    archive = tmp_path / "kept"
    bare = CycleAgainst(limits=LIMITS.model_copy(update={"longest_gap": None}), on=TODAY)
    add_to_archive(archive, records(tmp_path, 1), "Quay", (GOOD.description, "r.yaml"), bare)
    (one,) = cycles_again(parts_of(archive)[0], Revision(TODAY, LIMITS))
    assert one.judged
    assert [change.after.name for change in one.judged.changes if change.after] == ["longest gap in the record"]
    expected = CycleAgainst(limits=LIMITS, on=TODAY).judge(GOOD.record())
    assert [criterion.value for _, criterion in one.judged.criteria][1:] == [c.value for c in expected.criteria][1:]


def test_without_a_calendar_a_cycle_is_not_met_and_a_calendar_given_later_is_asked_of_the_moment_it_ran(
    tmp_path: Path,
) -> None:
    archive = tmp_path / "kept"
    cycle, against = drawn(1, None)
    raw = RawRecord("1.csv", cycle.record.encode())
    adding = Adding(archive)
    evidence = adding.add(raw, Belonging("Larkmere", cycle.description, "d"), against)
    adding.finish()
    assert evidence is not None
    assert evidence.verdict is CriterionState.NOT_EVALUATED
    assert rejudge_archive(archive, Revision(LATER, everything=True)).changed == ()
    (found,) = rejudge_archive(archive, Revision(LATER, interlock=IN_DATE)).changed
    assert (found.judged.after.value, [one.after.state for one in found.judged.changes if one.after]) == (
        "met",
        ["met"],
    )
    done_after = IN_DATE.calendar.model_copy(
        update={"done": tuple(one.model_copy(update={"at": DECIDED}) for one in IN_DATE.calendar.done)}
    )
    (found,) = rejudge_archive(archive, Revision(LATER, interlock=replace(IN_DATE, calendar=done_after))).changed
    assert found.judged.after is CriterionState.NOT_MET


def test_what_an_earlier_edition_kept_without_its_tests_is_open_when_judged_again(archive: Path) -> None:
    swapped(archive, CYCLES, "UPDATE t SET outline = regexp_replace(outline, ',\\[-1,[^\\]]*\\]', ''), version = 'old'")
    found = rejudge_archive(archive, Revision(TODAY, LIMITS))
    assert [(one.judged.before.value, one.judged.after.value) for one in found.changed] == [
        ("met", "not evaluated")
    ] * 3


def test_another_version_of_the_package_judges_everything_again(archive: Path) -> None:
    found = rejudge_archive(archive, Revision(TODAY, LIMITS, version="99"))
    assert (found.judged, found.changed) == (3, ())
