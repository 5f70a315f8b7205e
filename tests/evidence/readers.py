"""The ways in which a record comes in beside plain text, for records that are damaged: each either judges or refuses.

The record is that of a cycle whose load stayed too cold, so that whatever was done to it, it must not be met.
"""

from __future__ import annotations

import io
import os
import re
from dataclasses import dataclass
from datetime import UTC, datetime, time
from functools import partial
from typing import TYPE_CHECKING

import polars as pl

from patency.errors import InputError, InputErrors
from patency.evidence import CriterionState, judge, read_columns, read_record
from patency.steps import cut_cycles, watch_folder
from patency.steps.parquet_files import read_parquet_columns
from patency.steps.second_source import judged_with_logger
from tests.evidence.cycles import ALL_SEEN, LIMITS, MACHINE, PREDICTION, PROGRAMME, TODAY
from tests.evidence.cycles import DESCRIPTION as DESCRIPTION_OF_CYCLES
from tests.evidence.test_damage import DESCRIPTION, GOOD

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from patency.evidence import CycleRecord, Evidence


NOON = datetime.combine(TODAY, time(12), UTC)
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


def _judged(record: CycleRecord) -> Evidence:
    return judge(record, PROGRAMME, LIMITS, PREDICTION, on=TODAY, eye_check=ALL_SEEN, machine=MACHINE)


def _read_and_judged(text: str) -> Evidence:
    return _judged(read_record(text, DESCRIPTION, "r.csv"))


def _refusing(read: Callable[[], Evidence]) -> CameIn:
    try:
        return CameIn((read().verdict.value,))
    except InputErrors as refused:
        return CameIn(refused=tuple(fault.line for fault in refused.faults))
    except InputError as refused:
        return CameIn(refused=(refused.line,))


def _as_parquet(text: str) -> bytes:
    """Write what is left of a table's columns as text, short rows filled up; as it is where no table is left."""
    header, *rows = [line.split(",") for line in text.splitlines()] or [[""]]
    if len(set(header)) < len(header):
        return text.encode("utf-8", "surrogatepass")
    cells = {name: [row[place] if place < len(row) else None for row in rows] for place, name in enumerate(header)}
    out = io.BytesIO()
    pl.DataFrame(cells, schema=dict.fromkeys(header, pl.String)).write_parquet(out)
    return out.getvalue()


def by_parquet(text: str, folder: Path, flips: tuple[float, ...] = ()) -> CameIn:
    """Read it as a Parquet file, bytes turned at some places, each a share of the file's length."""
    whole = bytearray(_as_parquet(text))
    for share in flips:
        whole[int(share * len(whole))] ^= 0x41
    path = folder / "r.parquet"
    path.write_bytes(bytes(whole))
    return _refusing(lambda: _judged(read_columns(read_parquet_columns(path), DESCRIPTION, "0" * 64, str(path))))


def by_cutting(text: str, folder: Path) -> CameIn:
    """Cut it out of a file that names its cycles, and judge what is cut out."""
    header, *rows = text.splitlines() or [""]
    path, description, out = folder / "week.csv", folder / "r.yaml", folder / "cut"
    marked = [f"{header},run", *(f"{row},17" for row in rows)]
    path.write_bytes("\n".join(marked).encode("utf-8", "surrogatepass"))
    description.write_text(DESCRIPTION_OF_CYCLES, encoding="utf-8")
    try:
        done = cut_cycles(path, description, "run", out)
    except InputErrors as refused:
        return CameIn(refused=tuple(fault.line for fault in refused.faults))
    except InputError as refused:
        return CameIn(refused=(refused.line,))
    found = []
    for one in done.records:
        record = (out / one.name).read_text(encoding="utf-8")
        found.append(_refusing(partial(_read_and_judged, record)))
        (out / one.name).unlink()
    verdicts = tuple(verdict for one in found for verdict in one.verdicts)
    return CameIn(verdicts, (*done.faults, *(line for one in found for line in one.refused)))


def by_watching(text: str, folder: Path) -> CameIn:
    """Let it arrive in a watched folder; it is judged by itself, so it is never met."""
    inbox, out, description = folder / "in", folder / "out", folder / "r.yaml"
    inbox.mkdir(exist_ok=True)
    description.write_text(DESCRIPTION_OF_CYCLES, encoding="utf-8")
    path = inbox / "r.csv"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    os.utime(path, (1e9, 1e9))
    watch = watch_folder(inbox, out, description, None, None, None, 2.0, lambda: NOON)
    taken = [one for now in (1e9 + 2, 1e9 + 5, 1e9 + 8) for one in watch.look(now)]
    results = sorted(out.iterdir()) if out.is_dir() else []
    verdicts = tuple(one.line.partition(": ")[2] for one in taken if one.line.startswith("r.csv: "))
    refused = tuple(one.read_text(encoding="utf-8") for one in results if one.name.endswith(".refused.json"))
    for one in results:
        one.unlink()
    return CameIn(() if refused else verdicts, refused)


def beside_a_good_one(text: str, _: Path) -> CameIn:
    """Take it for the machine's record, with the logger's of a good cycle beside it."""
    logger = read_record(GOOD, DESCRIPTION, "logger.csv")
    return _refusing(lambda: judged_with_logger(read_record(text, DESCRIPTION, "r.csv"), logger, _judged)[1])


def as_the_logger(text: str, _: Path) -> CameIn:
    """Take it for the logger's record beside that of a good cycle."""
    machine = read_record(GOOD, DESCRIPTION, "r.csv")
    return _refusing(lambda: judged_with_logger(machine, read_record(text, DESCRIPTION, "logger.csv"), _judged)[1])


READERS: dict[str, Callable[[str, Path], CameIn]] = {
    "Parquet": by_parquet,
    "cut": by_cutting,
    "watch": by_watching,
    "two sources": beside_a_good_one,
    "as the logger": as_the_logger,
}
