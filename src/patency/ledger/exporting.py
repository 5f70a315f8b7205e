"""The events as plain files that need nothing of ours to be read and checked."""

from __future__ import annotations

import csv
import json
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from patency.errors import InputError
from patency.ledger.chain import START, canonical

if TYPE_CHECKING:
    from pathlib import Path

    from patency.ledger.keeping import Ledger

EXPORT_FORMAT = "patency-ledger-export/1"
_COLUMNS = {
    "seq": ("seq",),
    "event": ("event",),
    "at": ("at",),
    "clock": ("clock",),
    "recorded": ("recorded",),
    "person": ("who", "person"),
    "confirmed": ("who", "confirmed"),
    "second": ("second", "person"),
    "station": ("station",),
    "plan": ("relies_on", "plan"),
    "catalogue": ("relies_on", "catalogue"),
    "limits": ("relies_on", "limits"),
    "command": ("command",),
    "part": ("part",),
    "what": ("what",),
    "previous": ("previous",),
}
"""What the table shows of an event, and where in its text it stands."""


def export_ledger(ledger: Ledger, folder: Path) -> int:
    """Write every event as a line of JSON and as a row of a table, and the script that checks both.

    Parameters
    ----------
    ledger
        The ledger.
    folder
        Made where it does not exist; files of an earlier export in it are replaced.

    Returns
    -------
    int
        How many events were written.

    Raises
    ------
    InputError
        When the folder cannot be written to.
    """
    names = ("events.jsonl", "events.csv", "head.json", "verify_export.py")
    script = files("patency.ledger").joinpath("shipped", "verify_export.py").read_bytes()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        drafts = [folder / f"{name}.part" for name in names]
        count, head = _events(ledger, *drafts[:2])
        end = {"format": EXPORT_FORMAT, "events": count, "head": head}
        drafts[2].write_text(json.dumps(end, indent=1) + "\n", encoding="utf-8")
        drafts[3].write_bytes(script)
        for draft, name in zip(drafts, names, strict=True):
            draft.replace(folder / name)
    except OSError as fault:
        raise InputError(
            str(folder), fault.strerror or "cannot be written", "a folder that can be written to"
        ) from fault
    return count


def _events(ledger: Ledger, lines: Path, table: Path) -> tuple[int, str]:
    count, head = 0, START
    with (
        lines.open("w", encoding="utf-8", newline="\n") as text,
        table.open("w", encoding="utf-8", newline="") as cells,
    ):
        rows = csv.writer(cells, lineterminator="\n")
        rows.writerow([*_COLUMNS, "digest"])
        for entry in ledger.entries():
            text.write(entry.body + "\n")
            event = json.loads(entry.body)
            rows.writerow([*(_cell(event, path) for path in _COLUMNS.values()), entry.digest])
            count, head = count + 1, entry.digest
    return count, head


def _cell(event: dict[str, Any], path: tuple[str, ...]) -> str:
    found: Any = event
    for key in path:
        found = found.get(key, "") if isinstance(found, dict) else ""
    return canonical(found) if isinstance(found, dict) else str(found)
