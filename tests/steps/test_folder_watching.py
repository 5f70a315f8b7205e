"""A watched folder: complete records are judged once, whatever comes in between; damaged ones are refused."""

from __future__ import annotations

import json
import os
import time
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner

from patency.cli import main
from patency.errors import InputError
from patency.steps import ToHoldAgainst, verify_archive, watch_folder
from patency.steps.folder_watching import FolderWatch

DESCRIPTION = """\
format: patency-record/1
time: {column: time, unit: s}
columns:
  T1: {quantity: temperature, unit: degC, place: chamber, uncertainty: 0.5}
"""
ROWS = "time,T1\n" + "".join(f"{second},90.0\n" for second in range(301))
NOTHING = ToHoldAgainst()
NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)


@dataclass
class Desk:
    """A folder in which records arrive, and where their results go."""

    root: Path
    now_s: float = 1e9

    @property
    def inbox(self) -> Path:
        return self.root / "in"

    def watch(self, archive: Path | None = None) -> FolderWatch:
        (self.root / "r.yaml").write_text(DESCRIPTION, encoding="utf-8")
        return watch_folder(self.inbox, self.root / "out", self.root / "r.yaml", NOTHING, archive, 2.0, lambda: NOW)

    def arrives(self, name: str, text: str) -> Path:
        """Write a file as of now."""
        path = self.inbox / name
        path.write_text(text, encoding="utf-8")
        os.utime(path, (self.now_s, self.now_s))
        return path

    def looks(self, watch: FolderWatch, times: int = 3) -> list[str]:
        """Look every two seconds; say what was taken."""
        lines = []
        for _ in range(times):
            self.now_s += 2.0
            lines += [one.line for one in watch.look(self.now_s)]
        return lines

    def results(self) -> list[str]:
        out = self.root / "out"
        return sorted(path.name.split(".", 1)[0] + path.name[-14:] for path in out.iterdir()) if out.is_dir() else []


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    (tmp_path / "in").mkdir()
    return Desk(tmp_path)


def test_a_record_is_judged_once_and_its_result_is_that_of_the_command(desk: Desk) -> None:
    watch = desk.watch()
    path = desk.arrives("a.csv", ROWS)
    assert desk.looks(watch, 1) == []  # seen for the first time
    assert desk.looks(watch, 5) == ["a.csv: not evaluated"]
    (result,) = (desk.root / "out").iterdir()
    judge = ["evidence", "judge", str(path), "--description", str(desk.root / "r.yaml"), "--on", "2026-03-02", "--json"]
    told, expected = json.loads(result.read_text(encoding="utf-8")), json.loads(CliRunner().invoke(main, judge).stdout)
    assert (told["a0_s"], told["record_sha256"]) == (expected["a0_s"], expected["record_sha256"])


def test_a_file_that_still_grows_is_left_until_it_rests(desk: Desk) -> None:
    watch = desk.watch()
    for rows in (50, 100, 200):
        desk.arrives("a.csv", "".join(ROWS.splitlines(keepends=True)[:rows]))
        assert desk.looks(watch, 1) == []
    desk.arrives("a.csv", ROWS)
    desk.arrives("empty.csv", "")
    assert desk.looks(watch) == ["a.csv: not evaluated"]
    assert desk.results() == ["a.evidence.json"]


def test_files_of_other_kinds_and_drafts_are_left_alone(desk: Desk) -> None:
    watch = desk.watch()
    for name in (".a.csv", "a.csv.part", "notes.pdf", "a.csv.tmp"):
        desk.arrives(name, ROWS)
    (desk.inbox / "folder.csv").mkdir()
    assert desk.looks(watch) == []
    (desk.inbox / "a.csv.part").rename(desk.inbox / "a.csv")
    assert desk.looks(watch) == ["a.csv: not evaluated"]


def test_a_restart_judges_nothing_twice_and_misses_nothing(desk: Desk) -> None:
    desk.arrives("a.csv", ROWS)
    desk.looks(desk.watch())
    desk.arrives("b.csv", ROWS.replace("300,90.0", "300,89.0"))
    lines = desk.looks(desk.watch())
    assert lines[0].startswith("a.csv: the same record as a.csv.")
    assert lines[1:] == ["b.csv: not evaluated"]
    assert desk.results() == ["a.evidence.json", "b.evidence.json"]


def test_the_same_record_under_another_name_is_not_judged_again_and_a_new_one_under_an_old_name_is(desk: Desk) -> None:
    watch = desk.watch()
    desk.arrives("a.csv", ROWS)
    desk.looks(watch)
    desk.arrives("copy.csv", ROWS)
    (line,) = desk.looks(watch)
    assert line.startswith("copy.csv: the same record as a.csv.")
    desk.arrives("a.csv", ROWS.replace("90.0", "91.0"))
    assert desk.looks(watch) == ["a.csv: not evaluated"]
    assert desk.results() == ["a.evidence.json", "a.evidence.json"]


def test_a_damaged_record_is_refused_with_its_place_and_the_next_is_taken(desk: Desk) -> None:
    watch = desk.watch()
    desk.arrives("a.csv", ROWS.replace("\n7,90.0", "\n7,warm").replace("\n9,90.0", "\n9,hot"))
    desk.arrives("b.csv", ROWS)
    desk.arrives("c.csv", ROWS).write_bytes(b"time,T1\n\xff\n")
    desk.arrives("d.parquet", "no such thing")
    os.utime(desk.inbox / "c.csv", (desk.now_s, desk.now_s))
    lines = desk.looks(watch)
    assert [line.partition(" (expected")[0] for line in lines] == [
        "a.csv: refused: a.csv, line 9, column T1: 'warm' cannot be read",
        "b.csv: not evaluated",
        "c.csv: refused: c.csv: byte 9 is not UTF-8",
        lines[3].partition(" (expected")[0],
    ]
    assert lines[0].endswith("and 1 more faults")
    assert lines[3].startswith("d.parquet: refused: d.parquet: ")
    told = json.loads(next((desk.root / "out").glob("a.csv.*.refused.json")).read_text(encoding="utf-8"))
    assert len(told["refused"]) == 2
    assert all("the same record" in line for line in desk.looks(desk.watch()))


def test_a_record_too_large_for_a_cycle_is_refused(desk: Desk) -> None:
    with (desk.inbox / "huge.csv").open("wb") as file:
        file.truncate(65 * 2**20)
    os.utime(desk.inbox / "huge.csv", (desk.now_s, desk.now_s))
    (line,) = desk.looks(desk.watch())
    assert "65 MiB, which is more than one cycle or plan can hold" in line


def test_who_was_stopped_between_keeping_and_telling_mends_it_without_keeping_twice(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    archive = desk.root / "kept"
    desk.arrives("a.csv", ROWS)

    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as stopping:
        stopping.setattr(FolderWatch, "_write", stopped)
        with pytest.raises(KeyboardInterrupt):
            desk.looks(desk.watch(archive))
    assert desk.results() == []
    assert verify_archive(archive).cycles == 1
    assert desk.looks(desk.watch(archive)) == ["a.csv: not evaluated"]
    check = verify_archive(archive)
    assert (check.cycles, check.faults) == (1, ())


def test_what_makes_no_sense_is_told_before_the_first_look(desk: Desk) -> None:
    (desk.root / "r.yaml").write_text(DESCRIPTION, encoding="utf-8")
    beside = desk.root / "r.yaml"
    with pytest.raises(InputError, match="results would lie among the records"):
        watch_folder(desk.inbox, desk.inbox, beside, NOTHING, None, 2.0, lambda: NOW)
    here = desk.root
    for named, what in (
        (ToHoldAgainst(plan=here), "--plan: no site is named"),
        (ToHoldAgainst(programme="wrapped_134"), "--programme: is that of a steam sterilizer"),
        (ToHoldAgainst(site=here, plan=here, programme="wrapped_134"), "--programme: is that of a steam sterilizer"),
        (ToHoldAgainst(checks=here), "--checks: are those of a steam sterilizer"),
        (ToHoldAgainst(site=here, calendar=here), "--calendar: neither plan nor programme is named"),
    ):
        with pytest.raises(InputError, match=what):
            watch_folder(desk.inbox, desk.root / "out", beside, named, None, 2.0, lambda: NOW)
    nowhere = watch_folder(desk.root / "no", desk.root / "out", beside, NOTHING, None, 2.0, lambda: NOW)
    with pytest.raises(InputError, match="No such file"):
        nowhere.look(0.0)


def test_the_command_looks_once_and_answers(desk: Desk) -> None:
    desk.now_s = time.time() - 60
    desk.arrives("a.csv", ROWS)
    desk.watch()
    words = ["evidence", "watch", str(desk.inbox), "--description", str(desk.root / "r.yaml"), "--out"]
    words += [str(desk.root / "out"), "--settle", "0.05", "--once", "--json"]
    result = CliRunner().invoke(main, words)
    assert (result.exit_code, result.stderr) == (1, "a.csv: not evaluated\n")
    assert json.loads(result.stdout)["arrived"][0]["verdict"] == "not evaluated"
    again = CliRunner().invoke(main, words)
    assert again.exit_code == 0
    assert "the same record" in again.stderr


def test_the_command_goes_on_until_it_is_stopped(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    desk.watch()
    looks = []

    def rest(_: float) -> None:
        looks.append(1)
        if len(looks) == 3:
            raise KeyboardInterrupt

    monkeypatch.setattr("patency.cli.watch.time.sleep", rest)
    words = ["evidence", "watch", str(desk.inbox), "--description", str(desk.root / "r.yaml"), "--out"]
    result = CliRunner().invoke(main, [*words, str(desk.root / "out")])
    assert (result.exit_code, result.stdout, len(looks)) == (0, "0 records\n", 3)
