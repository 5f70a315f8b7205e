"""The ways in which a record comes in, for records that are damaged: each either judges or refuses."""

from __future__ import annotations

import io
import os
import re
from dataclasses import dataclass
from datetime import UTC, datetime, time
from functools import partial
from typing import TYPE_CHECKING, Any

import polars as pl

from patency.errors import InputError, InputErrors
from patency.evidence import CriterionState, read_calendar, read_columns
from patency.steps import Interlock, cut_cycles
from patency.steps.archiving import Belonging
from patency.steps.folder_watching import FolderWatch
from patency.steps.parquet_files import read_parquet_columns
from patency.steps.second_source import judged_with_logger
from tests.evidence.cycles import TODAY

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from patency.evidence import CycleRecord, Evidence, SteamEvidence
    from tests.evidence.damageable import Damageable


CALENDAR = """\
format: patency-calendar/1
tests:
  year: {of: machine, name: both, interval: 365 d, blocks: {machines: [Alder, Yew]}, source: invented}
done:
  - {test: year, at: 2026-01-12T06:30Z, by: M. Hollis, result: passed}
"""
RAN, DECIDED = (datetime.combine(TODAY, time(hour), UTC) for hour in (9, 12))
IN_DATE = Interlock(read_calendar(CALENDAR), DECIDED, RAN)
_PLACE = re.compile(r"line \d+|row \d+|column|cycle|Parquet|key|empty|no ")


@dataclass(frozen=True)
class CameIn:
    """What became of a record: the verdicts on what was read of it, and why the rest was refused."""

    verdicts: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()

    @property
    def outcome(self) -> str:
        """One word for counting; ``met`` and ``refused without a place`` must not come."""
        if CriterionState.MET.value in self.verdicts:
            return "met"
        if any(not _PLACE.search(line) for line in self.refused):
            return "refused without a place"
        if not (self.verdicts or self.refused):
            return "lost"
        return "judged, not met" if self.verdicts else "refused"


def _refusing(read: Callable[[], Evidence | SteamEvidence]) -> CameIn:
    try:
        return CameIn((read().verdict.value,))
    except InputErrors as refused:
        return CameIn(refused=tuple(fault.line for fault in refused.faults))
    except InputError as refused:
        return CameIn(refused=(refused.line,))


def _read_and_judged(kind: Damageable, text: str) -> Evidence | SteamEvidence:
    return kind.against.judge(kind.read(text))


def by_text(kind: Damageable, text: str, _: Path) -> CameIn:
    """Read it as text."""
    return _refusing(lambda: _read_and_judged(kind, text))


def _as_parquet(text: str) -> bytes:
    """Write what is left of a table's columns as text, short rows filled up; as it is where no table is left."""
    header, *rows = [line.split(",") for line in text.splitlines()] or [[""]]
    if len(set(header)) < len(header):
        return text.encode("utf-8", "surrogatepass")
    cells = {name: [row[place] if place < len(row) else None for row in rows] for place, name in enumerate(header)}
    out = io.BytesIO()
    pl.DataFrame(cells, schema=dict.fromkeys(header, pl.String)).write_parquet(out)
    return out.getvalue()


def by_parquet(kind: Damageable, text: str, folder: Path, flips: tuple[float, ...] = ()) -> CameIn:
    """Read it as a Parquet file, bytes turned at some places, each a share of the file's length."""
    whole = bytearray(_as_parquet(text))
    for share in flips:
        whole[int(share * len(whole))] ^= 0x41
    path = folder / "r.parquet"
    path.write_bytes(bytes(whole))

    def judged() -> Evidence | SteamEvidence:
        columns = read_parquet_columns(path)
        return kind.against.judge(read_columns(columns, kind.described, "f" * 64, str(path)))

    return _refusing(judged)


def by_cutting(kind: Damageable, text: str, folder: Path) -> CameIn:
    """Cut it out of a file that names its cycles, and judge what is cut out."""
    header, *rows = text.splitlines() or [""]
    path, description, out = folder / "week.csv", folder / "r.yaml", folder / "cut"
    marked = [f"{header},run", *(f"{row},17" for row in rows)]
    path.write_bytes("\n".join(marked).encode("utf-8", "surrogatepass"))
    description.write_text(kind.description, encoding="utf-8")
    try:
        done = cut_cycles(path, description, "run", out)
    except InputErrors as refused:
        return CameIn(refused=tuple(fault.line for fault in refused.faults))
    except InputError as refused:
        return CameIn(refused=(refused.line,))
    found = []
    for one in done.records:
        record = (out / one.name).read_text(encoding="utf-8")
        found.append(_refusing(partial(_read_and_judged, kind, record)))
        (out / one.name).unlink()
    verdicts = tuple(verdict for one in found for verdict in one.verdicts)
    return CameIn(verdicts, (*done.faults, *(line for one in found for line in one.refused)))


def by_watching(kind: Damageable, text: str, folder: Path) -> CameIn:
    """Let it arrive in a watched folder, every test of its machine in date."""
    inbox, out = folder / "in", folder / "out"
    inbox.mkdir(exist_ok=True)
    path = inbox / "r.csv"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    os.utime(path, (1e9, 1e9))
    belonging = Belonging(None, kind.description, "r.yaml")
    watch = FolderWatch(inbox, out, belonging, lambda: lambda _: kind.against, lambda: IN_DATE)
    taken = [one for now in (1e9 + 2, 1e9 + 5, 1e9 + 8) for one in watch.look(now)]
    results = sorted(out.iterdir()) if out.is_dir() else []
    verdicts = tuple(one.line.partition(": ")[2] for one in taken if one.line.startswith("r.csv: "))
    refused = tuple(one.read_text(encoding="utf-8") for one in results if one.name.endswith(".refused.json"))
    for one in results:
        one.unlink()
    return CameIn(() if refused else verdicts, refused)


def _with_logger(kind: Damageable, machine: str, logger: str) -> CameIn:
    judging: Callable[[CycleRecord], Any] = kind.against.judge
    return _refusing(lambda: judged_with_logger(kind.read(machine), kind.read(logger, "logger.csv"), judging)[1])


def beside_a_good_one(kind: Damageable, text: str, _: Path) -> CameIn:
    """Take it for the machine's record, with the logger's of a good cycle beside it."""
    return _with_logger(kind, text, kind.good)


def as_the_logger(kind: Damageable, text: str, _: Path) -> CameIn:
    """Take it for the logger's record beside that of a good cycle."""
    return _with_logger(kind, kind.good, text)


READERS: dict[str, Callable[[Damageable, str, Path], CameIn]] = {
    "text": by_text,
    "Parquet": by_parquet,
    "cut": by_cutting,
    "watch": by_watching,
    "two sources": beside_a_good_one,
    "as the logger": as_the_logger,
}
