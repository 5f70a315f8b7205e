"""Watches a folder for records: each is judged once, when it is complete, and its result lies beside it in a folder.

What has been done is told by the results alone, so a restart goes on where it was. A record is known by the digest of
its bytes: the same record under another name is not judged again.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from patency.errors import InputError, InputErrors
from patency.evidence import SteamAgainst, read_description, read_entered
from patency.steps.archiving import Adding, Belonging, document_of, raw_record
from patency.steps.files import read_text, write_all
from patency.steps.interlocking import Interlock, asked_of_tests
from patency.steps.judging_against import against_load, against_site
from patency.steps.kept_baselines import baseline_for, read_baselines
from patency.steps.load_planning import read_planned
from patency.steps.parquet_files import PARQUET_SUFFIX
from patency.steps.site_reading import read_site
from patency.steps.steam_judging import against_steam, begun

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import date, datetime
    from pathlib import Path

    from patency.catalogue import Department
    from patency.evidence import CycleAgainst, Evidence, SteamEvidence
    from patency.steps.archiving import RawRecord
    from patency.steps.interlocking import RelyingOn

    ByName = Callable[[str], CycleAgainst | SteamAgainst]

RECORD_SUFFIXES = (".csv", ".txt", PARQUET_SUFFIX)
_SHOWN_DIGITS = 16


@dataclass(frozen=True, slots=True)
class RecordTaken:
    """What became of a record that arrived.

    Parameters
    ----------
    name
        Name of its file.
    verdict
        Its verdict; empty where it was refused or is known.
    refused
        Why it cannot be used, one line each.
    same_as
        Name of the result of the same record, where it was judged before; empty otherwise.
    """

    name: str
    verdict: str = ""
    refused: tuple[str, ...] = ()
    same_as: str = ""

    @property
    def line(self) -> str:
        """What became of it, in one line."""
        if self.refused:
            more = f" and {len(self.refused) - 1} more faults" if len(self.refused) > 1 else ""
            return f"{self.name}: refused: {self.refused[0]}{more}"
        return f"{self.name}: {self.verdict or f'the same record as {self.same_as}'}"


@dataclass(slots=True)
class FolderWatch:
    """A folder that is watched.

    Parameters
    ----------
    folder
        Where records arrive; files in it are only read.
    out
        Where results go.
    belonging
        The records' site and description.
    against
        Says, anew at each look, what a record is judged against by the stem of its name.
    interlock
        Reads the calendar of tests, anew at each look; gives None where none was named.
    archive
        Where records are kept too; None keeps none.
    settle_s
        How long a file must have stayed as it is to be complete [s].
    """

    folder: Path
    out: Path
    belonging: Belonging
    against: Callable[[], ByName]
    interlock: Callable[[], RelyingOn | None]
    archive: Path | None = None
    settle_s: float = 2.0
    _seen: dict[str, tuple[int, int]] = field(default_factory=dict)
    _done: dict[str, tuple[int, int]] = field(default_factory=dict)
    _adding: Adding | None = None

    def look(self, now_s: float) -> list[RecordTaken]:
        """Look once, and judge what is complete.

        Parameters
        ----------
        now_s
            The moment, as the times of files are counted [s].

        Returns
        -------
        list
            What became of each record that is complete and was not looked at before.

        Raises
        ------
        InputError
            When the folder cannot be read, or a result not be written.
        InputErrors
            With every fault of the calendar or of what was entered; no record is taken then.
        """
        interlock, against = self.interlock(), self.against()
        return [self._take(path, against, interlock) for path in self._complete(now_s)]

    def _complete(self, now_s: float) -> Iterator[Path]:
        """Find files that are as they were at the look before, have been for a while, and were not taken yet."""
        try:
            files = sorted(path for path in self.folder.iterdir() if _may_be_record(path))
        except OSError as fault:
            raise InputError(str(self.folder), fault.strerror or "cannot be read", "a folder of records") from fault
        for path in files:
            try:
                state = path.stat()
            except OSError:  # taken away between two looks
                continue
            now = (state.st_size, state.st_mtime_ns)
            before, self._seen[path.name] = self._seen.get(path.name), now
            settled = state.st_size > 0 and before == now and now_s - state.st_mtime >= self.settle_s
            if settled and self._done.get(path.name) != now:
                self._done[path.name] = now
                yield path

    def _take(self, path: Path, against: ByName, interlock: RelyingOn | None) -> RecordTaken:
        try:
            raw = raw_record(path)
        except InputError as fault:
            return RecordTaken(path.name, refused=(fault.line,))
        key = raw.sha256[:_SHOWN_DIGITS]
        known = next(self.out.glob(f"*.{key}.*.json"), None)
        if known is not None:
            return RecordTaken(path.name, same_as=known.name)
        try:
            return self._judge(path, raw, key, against(path.stem), interlock)
        except InputErrors as error:
            lines = tuple(fault.line for fault in error.faults)
        except InputError as error:
            lines = (error.line,)
        result = {"format": "patency-refused/1", "record": path.name, "sha256": raw.sha256, "refused": lines}
        self._write(f"{path.name}.{key}.refused.json", result)
        return RecordTaken(path.name, refused=lines)

    def _judge(
        self, path: Path, raw: RawRecord, key: str, against: CycleAgainst | SteamAgainst, interlock: RelyingOn | None
    ) -> RecordTaken:
        """Judge a record, keep it, and write its result last: only then it is done."""
        evidence: Evidence | SteamEvidence | None = None
        if self.archive is not None:
            self._adding = self._adding or Adding(self.archive)
            evidence = self._adding.add(raw, self.belonging, against, interlock)
            self._adding.finish()
        if evidence is None:
            record = raw.read(self.belonging.description, self.belonging.description_name)
            held = begun(against, record) if isinstance(against, SteamAgainst) else against
            evidence = asked_of_tests(held.judge(record), held, interlock)
        self._write(f"{path.name}.{key}.evidence.json", document_of(evidence))
        return RecordTaken(path.name, evidence.verdict.value)

    def _write(self, name: str, document: object) -> None:
        text = json.dumps(document, ensure_ascii=False, indent=2, allow_nan=False)
        write_all(self.out, {name: text.encode("utf-8")})


def _may_be_record(path: Path) -> bool:
    return path.suffix.lower() in RECORD_SUFFIXES and not path.name.startswith(".") and path.is_file()


@dataclass(frozen=True, slots=True)
class ToHoldAgainst:
    """The files that say what arriving records are judged against.

    Parameters
    ----------
    site
        The department's folder; None leaves limits open.
    plan
        The plan: a record named as one of its loads is judged against that load; None where there is none.
    baselines
        Files of earlier cycles: a load is held against that of its kind and machine with most cycles, read once.
    programme
        Key of the programme of a steam sterilizer, which every record is of then; None for washer-disinfectors.
    checks
        The sterilizer's tests as entered, read anew at each look; None where nothing is entered.
    calendar
        The calendar of tests, read anew at each look; None leaves open whether they are in date.
    """

    site: Path | None = None
    plan: Path | None = None
    baselines: tuple[Path, ...] = ()
    programme: str | None = None
    checks: Path | None = None
    calendar: Path | None = None


def watch_folder(
    folder: Path,
    out: Path,
    description: Path,
    named: ToHoldAgainst,
    archive: Path | None,
    settle_s: float,
    now: Callable[[], datetime],
) -> FolderWatch:
    """Make ready to watch a folder; what is wrong with the rest is told before the first look.

    Parameters
    ----------
    folder
        Where records arrive.
    out
        Where results go.
    description
        What the records' columns mean.
    named
        What they are judged against.
    archive
        Where records are kept too; None keeps none.
    settle_s
        How long a file must have stayed as it is to be complete [s].
    now
        Tells the moment of the decision, with its zone.

    Returns
    -------
    FolderWatch
        The watch.

    Raises
    ------
    InputError
        When description, site, plan, programme, checks or calendar cannot be used, or results would go where records
        arrive.
    """
    if out.resolve() == folder.resolve():
        raise InputError("--out", "results would lie among the records", "another folder")
    _check_given(named)
    text = read_text(description)
    read_description(text, str(description))
    department = read_site(named.site).department if named.site else None
    by_load = _by_load(department, named)

    def against() -> ByName:
        on = now().date()
        if department is None or named.programme is None:
            return lambda stem: by_load(stem, on)
        entered = read_entered(read_text(named.checks), str(named.checks)).of_no_one_cycle() if named.checks else None
        steam = against_steam(department, named.programme, on, entered)
        return lambda _: steam

    def interlock() -> RelyingOn | None:
        return None if named.calendar is None else Interlock.of(named.calendar, now())

    belonging = Belonging(department.site if department else None, text, str(description))
    against()
    interlock()
    return FolderWatch(folder, out, belonging, against, interlock, archive, settle_s)


def _by_load(department: Department | None, named: ToHoldAgainst) -> Callable[[str, date], CycleAgainst]:
    """Say what a record of a washer-disinfector is judged against by the stem of its name and the day."""
    planned_for, planned = read_planned(named.plan, named.site) if named.plan and named.site else (None, None)
    loads = {load.id: load for load in planned.loads} if planned else {}
    kept = read_baselines(named.baselines)

    def against(stem: str, on: date) -> CycleAgainst:
        if planned_for is None or stem not in loads:
            return against_site(department, on)
        return against_load(planned_for, loads[stem], on, baseline_for(loads[stem], kept))

    return against


def _check_given(named: ToHoldAgainst) -> None:
    if named.plan is not None and named.site is None:
        raise InputError("--plan", "no site is named", "--plan and --site together")
    if named.programme is not None and (named.site is None or named.plan is not None or named.baselines):
        raise InputError("--programme", "is that of a steam sterilizer", "--programme with --site alone")
    if named.checks is not None and named.programme is None:
        raise InputError("--checks", "are those of a steam sterilizer", "--checks with --programme")
    if named.calendar is not None and named.plan is None and named.programme is None:
        what = "--calendar with --plan or --programme: it says what a load relies on"
        raise InputError("--calendar", "neither plan nor programme is named", what)
