"""Cycles of steam sterilizers in an archive: kept bit for bit, judged again as each record by itself is judged."""

from __future__ import annotations

import json
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

import numpy as np
import pytest
from click.testing import CliRunner

from patency.cli import main
from patency.demo import STEAM_FAULTS, larkmere_texts, simulate_steam
from patency.evidence import (
    CriterionState,
    SensorCorrection,
    SteamAgainst,
    SteamEvidence,
    against_of_texts,
    axis_of_text,
    corrected,
    layout_of,
    read_calendar,
    read_description,
    record_of_samples,
)
from patency.quantities import Limit
from patency.steps import Interlock, Revision, add_to_archive, rejudge_archive, verify_archive
from patency.steps.archive_parts import cycles_of, part_sensors, parts_of, samples_of
from patency.steps.archiving import Adding, Belonging, RawRecord
from patency.steps.interlocking import judged_with_tests
from patency.steps.revising import cycles_again
from tests.demo.fleet import ENTERED, ENTERED_TEXT, larkmere
from tests.evidence.cycles import stamped
from tests.evidence.steam_cycles import good_steam

if TYPE_CHECKING:
    from pathlib import Path

    from patency.evidence import CycleRecord

ON, LATER = date(2026, 3, 31), date(2026, 4, 2)
KEY, OTHER = "wrapped_134", "another source, invented"
PROGRAMME, LIMITS = larkmere().steam_programmes[KEY], larkmere().limits.steam
AGAINST = SteamAgainst(limits=LIMITS, on=ON, programme=PROGRAMME, programme_key=KEY, entered=ENTERED)
CALENDAR = """\
format: patency-calendar/1
tests:
  leak: {of: machine, name: Yew, interval: 7 d, blocks: {machines: [Yew]}, source: invented}
done:
  - {test: leak, at: 2026-03-27T06:30Z, by: M. Hollis, result: passed}
"""
DECIDED = datetime(2026, 3, 31, 18, tzinfo=UTC)
IN_DATE = Interlock(read_calendar(CALENDAR), DECIDED, ran=datetime(2026, 3, 31, 11, tzinfo=UTC))
MANY = 28


@dataclass(frozen=True, eq=False)
class Sterilized:
    """Simulated cycles, every second with a fault, kept in an archive and at hand."""

    archive: Path
    records: dict[str, tuple[RawRecord, CycleRecord, SteamEvidence]] = field(default_factory=dict)


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Sterilized:
    kept = Sterilized(tmp_path_factory.mktemp("steam") / "kept")
    adding = Adding(kept.archive)
    for number in range(MANY):
        fault = None if number % 2 else STEAM_FAULTS[number // 2 % len(STEAM_FAULTS)]
        cycle = simulate_steam(PROGRAMME, np.random.default_rng([2026, number]), fault)
        raw = RawRecord(f"{number}.csv", cycle.record.encode())
        evidence = adding.add(raw, Belonging("Larkmere", cycle.description, "d"), AGAINST, IN_DATE)
        assert isinstance(evidence, SteamEvidence)
        kept.records[raw.sha256] = raw, raw.read(cycle.description, "d"), evidence
    adding.finish()
    return kept


def limits(**changes: Limit | None) -> Revision:
    return Revision(LATER, steam_limits=LIMITS.model_copy(update=changes))


def sensor(column: str, too_much: float, **words: object) -> SensorCorrection:
    told = {"machine": "Yew", "column": column, "shows_too_much": too_much, "source": "C 1", **words}
    return SensorCorrection.model_validate(told)


REVISIONS = {
    "nothing": Revision(LATER),
    "band": limits(temperature_band=Limit(1.0, "K", OTHER)),
    "spread": limits(spread=Limit(0.4, "K", OTHER)),
    "saturation and equilibration": limits(off_saturation=Limit(0.9, "K", OTHER), equilibration=Limit(4.0, "s", OTHER)),
    "vacuum": limits(pulse_vacuum=Limit(4_000.0, "Pa", OTHER), drying_vacuum=Limit(4_000.0, "Pa", OTHER)),
    "out of date": limits(temperature_band=Limit(3.0, "K", OTHER, None, date(2026, 4, 1))),
    "taken away": limits(spread=None),
    "reference of F0": replace(limits(f0_reference=Limit(121.0, "degC", OTHER)), on=ON),
    "a thermometer": Revision(LATER, corrections=(sensor("T2", 0.9, uncertainty=0.3),)),
    "a pressure sensor and limits": Revision(
        LATER, corrections=(sensor("P1", -40.0),), steam_limits=LIMITS.model_copy(update={"spread": None})
    ),
    "another calendar": Revision(
        LATER, interlock=Interlock(read_calendar(CALENDAR.replace("7 d", "2 d")), DECIDED, ran=IN_DATE.ran)
    ),
}


def alone(record: CycleRecord, revision: Revision) -> SteamEvidence:
    """Judge a record by itself, as read from its text."""
    against = AGAINST
    if revision.steam_limits is not None:
        against = against.model_copy(update={"limits": revision.steam_limits, "on": revision.on})
    evidence = against.judge(corrected(record, revision.corrections, ON))
    return judged_with_tests(evidence, revision.interlock or IN_DATE, KEY)


def test_the_raw_record_lies_bit_for_bit_beside_its_verdict_and_all_is_verified(kept: Sterilized) -> None:
    rows = [row for part in parts_of(kept.archive) for row in cycles_of(part)]
    assert len(rows) == MANY
    for row in rows:
        raw, _, evidence = kept.records[row["sha256"]]
        assert (row["record"], row["verdict"], row["machine"]) == (raw.content, evidence.verdict.value, "Yew")
        assert json.loads(row["evidence"]) == evidence.model_dump(mode="json")
        assert against_of_texts(json.loads(row["against"])) == AGAINST
    assert {row["verdict"] for row in rows} > {"met", "not met"}
    assert verify_archive(kept.archive).faults == ()


@pytest.mark.parametrize("kind", REVISIONS)
def test_judging_again_gives_bit_for_bit_what_judging_each_record_gives(kept: Sterilized, kind: str) -> None:
    revision = REVISIONS[kind]
    touched = 0
    for one in (again for part in parts_of(kept.archive) for again in cycles_again(part, revision)):
        _, record, before = kept.records[one.row["sha256"]]
        evidence = alone(record, revision)
        if one.judged is None:
            assert evidence.criteria == before.criteria
            continue
        again = [criterion for _, criterion in one.judged.criteria]
        left = [criterion for criterion in evidence.criteria if criterion not in again]
        assert left == [criterion for criterion in before.criteria if criterion in left]
        assert len(again) + len(left) == len(evidence.criteria)
        assert (one.judged.before, one.judged.after) == (before.verdict, evidence.verdict)
        touched += len(one.judged.changes)
    assert bool(touched) == (kind not in {"nothing", "reference of F0"})


def test_f0_from_the_samples_of_an_archive_is_that_from_the_record_to_the_last_bit(kept: Sterilized) -> None:
    (part,) = parts_of(kept.archive)
    rows = cycles_of(part)
    names = part_sensors(rows[0]["description"])
    samples = samples_of(part, ["cycle", "elapsed_s", *names.values()])
    for place, row in enumerate(rows):
        mine = samples["cycle"] == place
        values = {name: samples[column][mine] for name, column in names.items()}
        described = read_description(row["description"])
        again = record_of_samples(layout_of(described), axis_of_text(row["axis"]), samples["elapsed_s"][mine], values)
        evidence, before = AGAINST.judge(again), kept.records[row["sha256"]][2]
        assert (evidence.f0_s, evidence.f0_guarded_s) == (before.f0_s, before.f0_guarded_s)
        assert evidence.stages == before.stages


def test_a_test_entered_for_after_the_cycle_began_does_not_count_in_the_archive_either(tmp_path: Path) -> None:
    cycle = good_steam()
    path = tmp_path / "c.csv"
    path.write_text(stamped(cycle.text(), datetime(2026, 3, 31, 4, tzinfo=UTC)), encoding="utf-8")
    description = cycle.description.replace("unit: s}", "unit: iso8601}")
    add_to_archive(tmp_path / "kept", [path], "Larkmere", (description, "d"), AGAINST, IN_DATE)
    (row,) = cycles_of(parts_of(tmp_path / "kept")[0])
    why = {one["name"]: one["why"] for one in json.loads(row["evidence"])["criteria"]}
    assert "after the cycle began" in why["steam-penetration test"]


def test_the_commands_keep_and_judge_again_what_evidence_steam_judges(tmp_path: Path) -> None:
    (tmp_path / "site").mkdir()
    for name, text in larkmere_texts().items():
        (tmp_path / "site" / name).write_text(text, encoding="utf-8")
    cycle = simulate_steam(PROGRAMME, np.random.default_rng(5))
    texts = {"c.csv": cycle.record, "c.yaml": cycle.description, "calendar.yaml": CALENDAR}
    texts["checks.yaml"] = """\
format: patency-steam-checks/1
machine: Yew
steam_penetration: {result: passed, at: 2026-03-31T06:30, by: M. Hollis}
cycle_began: 2026-03-31T11:15
"""
    for name, text in texts.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    words = [str(tmp_path / "c.csv"), "--description", str(tmp_path / "c.yaml"), "--site", str(tmp_path / "site")]
    words += ["--programme", KEY, "--checks", str(tmp_path / "checks.yaml"), "--on", ON.isoformat()]
    words += ["--calendar", str(tmp_path / "calendar.yaml")]
    archive = str(tmp_path / "kept")
    added = CliRunner().invoke(main, ["evidence", "archive", "add", archive, *words])
    assert (added.exit_code, added.stdout) == (0, "c.csv: not evaluated\n")
    (row,) = cycles_of(parts_of(tmp_path / "kept")[0])
    judged = CliRunner().invoke(main, ["evidence", "steam", *words, "--json"])
    assert json.loads(row["evidence"])["criteria"] == json.loads(judged.stdout)["criteria"]
    again = ["evidence", "rejudge", archive, "--site", str(tmp_path / "site"), "--on", ON.isoformat()]
    assert CliRunner().invoke(main, again).stdout.startswith("1 cycles, 0 judged again")
    for extra in (["--checks", "c.yaml"], ["--programme", KEY], ["--programme", KEY, "--plan", "p", "--site", "s"]):
        refused = CliRunner().invoke(main, ["evidence", "archive", "add", archive, *words[:3], *extra])
        assert (refused.exit_code, refused.output.count("\n")) == (2, 1)
    assert rejudge_archive(tmp_path / "kept", Revision(ON, everything=True)).judged == 1
    assert CriterionState(row["verdict"]) is CriterionState.NOT_EVALUATED


@dataclass(frozen=True)
class Sterilizer:
    """A site, a folder in which records of its sterilizer arrive, and what was entered."""

    root: Path

    @property
    def words(self) -> list[str]:
        named = {"--description": "c.yaml", "--site": "site", "--checks": "checks.yaml", "--calendar": "calendar.yaml"}
        files = [word for option, name in named.items() for word in (option, str(self.root / name))]
        return [*files, "--programme", KEY]

    def arrives(self, name: str, seed: int) -> Path:
        """Write a record that began at 11:15 UTC."""
        cycle = simulate_steam(PROGRAMME, np.random.default_rng(seed))
        path = self.root / "inbox" / name
        path.write_text(stamped(cycle.record, datetime(2026, 3, 31, 11, 15, tzinfo=UTC)), encoding="utf-8")
        (self.root / "c.yaml").write_text(cycle.description.replace("unit: s}", "unit: iso8601}"), encoding="utf-8")
        return path

    def enters(self, text: str) -> None:
        (self.root / "checks.yaml").write_text(text, encoding="utf-8")

    def watches(self) -> list[dict[str, dict[str, str]]]:
        """Look once; return the criteria of each new result by name."""
        out = self.root / "out"
        before = set(out.glob("*.evidence.json"))
        words = [str(self.root / "inbox"), *self.words, "--out", str(out), "--settle", "0", "--once"]
        CliRunner().invoke(main, ["evidence", "watch", *words, "--archive", str(self.root / "kept")])
        new = sorted(set(out.glob("*.evidence.json")) - before)
        told = [json.loads(path.read_text(encoding="utf-8"))["criteria"] for path in new]
        return [{f"{one['name']} {one['sensor'] or ''}".strip(): one for one in criteria} for criteria in told]


@pytest.fixture
def sterilizer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Sterilizer:
    for folder in ("site", "inbox"):
        (tmp_path / folder).mkdir()
    for name, text in larkmere_texts().items():
        (tmp_path / "site" / name).write_text(text, encoding="utf-8")
    (tmp_path / "calendar.yaml").write_text(CALENDAR, encoding="utf-8")
    monkeypatch.setattr("patency.cli.watch.now", lambda: DECIDED)
    sterilizer = Sterilizer(tmp_path)
    sterilizer.enters(ENTERED_TEXT)
    return sterilizer


def test_a_watched_folder_judges_steam_as_the_command_does_but_no_look_stands_for_every_load(
    sterilizer: Sterilizer,
) -> None:
    record = sterilizer.arrives("c.csv", 5)
    (watched,) = sterilizer.watches()
    words = ["evidence", "steam", str(record), *sterilizer.words, "--on", ON.isoformat(), "--json"]
    alone = json.loads(CliRunner().invoke(main, words).stdout)["criteria"]
    told = [one for one in alone if one["name"] != "load seen to be dry"]
    assert [one for name, one in watched.items() if name != "load seen to be dry"] == told
    assert {one["state"] for one in told} == {"met"}
    assert watched["load seen to be dry"]["state"] == "not evaluated"
    (row,) = cycles_of(parts_of(sterilizer.root / "kept")[0])
    assert json.loads(row["evidence"])["criteria"] == list(watched.values())


def test_what_is_entered_is_read_anew_at_each_look_and_a_broken_entry_takes_no_record(sterilizer: Sterilizer) -> None:
    sterilizer.arrives("a.csv", 5)
    sterilizer.watches()
    sterilizer.arrives("b.csv", 6)
    sterilizer.enters("format: patency-steam-checks/1\nmachine: 3\n")
    assert sterilizer.watches() == []
    sterilizer.enters(ENTERED_TEXT.replace("load_dryness: {result: passed", "load_dryness: {result: failed"))
    (wet,) = sterilizer.watches()
    assert wet["load seen to be dry"]["state"] == "not met"
    sterilizer.arrives("c.csv", 7)
    sterilizer.enters(ENTERED_TEXT.replace("hollow_load: {result: passed", "hollow_load: {result: failed"))
    (failed,) = sterilizer.watches()
    assert (failed["hollow-load test"]["state"], failed["steam-penetration test"]["state"]) == ("not met", "met")


def test_one_look_at_a_load_stands_for_one_of_several_records_in_the_archive(sterilizer: Sterilizer) -> None:
    paths = [sterilizer.arrives(f"{seed}.csv", seed) for seed in (5, 6)]
    description = ((sterilizer.root / "c.yaml").read_text(encoding="utf-8"), "d")
    for number, (records, state) in enumerate(((paths[:1], "met"), (paths, "not evaluated"))):
        folder = sterilizer.root / str(number)
        add_to_archive(folder, records, "Larkmere", description, AGAINST, IN_DATE)
        rows = cycles_of(parts_of(folder)[0])
        assert [row["verdict"] for row in rows] == [state] * len(records)
