"""Checks an export of a ledger: ``python verify_export.py FOLDER [NUMBER:DIGEST]``. Needs Python 3.8 or newer, no more.

events.jsonl holds one event on each line. The SHA-256 of a line's bytes, without the line end, is the event's digest;
each event names the digest of the one before as "previous", the first one 64 zeros. events.csv shows the same events as
a table, with every digest. head.json names the number of events and the last digest. Whoever knows the number and the
digest of an event from elsewhere, such as a printed sheet, gives them too: then a ledger that was cut off or written
anew shows as well. Prints one line for each fault and ends with 1; ends with 0 where there is none.
"""

from __future__ import annotations

import csv
import hashlib
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator

COLUMNS = (
    ("seq", "seq"), ("event", "event"), ("at", "at"), ("clock", "clock"), ("recorded", "recorded"),
    ("person", "who.person"), ("confirmed", "who.confirmed"), ("second", "second.person"), ("station", "station"),
    ("plan", "relies_on.plan"), ("catalogue", "relies_on.catalogue"), ("limits", "relies_on.limits"),
    ("command", "command"), ("part", "part"), ("what", "what"), ("previous", "previous"),
)  # fmt: skip


def value(event: dict[str, Any], path: str) -> str:
    """Return what stands in an event under a path, as the table writes it.

    Parameters
    ----------
    event
        The event.
    path
        Keys, parted by points.

    Returns
    -------
    str
        Empty where nothing stands there.
    """
    found: Any = event
    for key in path.split("."):
        found = found.get(key, "") if isinstance(found, dict) else ""
    if isinstance(found, dict):
        return json.dumps(found, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return str(found)


def row(event: dict[str, Any], digest: str) -> list[str]:
    """Return an event as a row of the table.

    Parameters
    ----------
    event
        The event.
    digest
        Its digest.

    Returns
    -------
    list[str]
        The cells.
    """
    return [*(value(event, path) for _, path in COLUMNS), digest]


def read_event(body: bytes) -> dict[str, Any]:
    """Read an event from a line.

    Parameters
    ----------
    body
        The line without its end.

    Returns
    -------
    dict[str, Any]
        Empty where it is none.
    """
    try:
        event = json.loads(body.decode("utf-8"))
    except ValueError:
        return {}
    return event if isinstance(event, dict) else {}


def check_lines(path: Path) -> Iterator[tuple[str, dict[str, Any], list[str]]]:
    """Follow the chain through the lines of events.jsonl.

    Parameters
    ----------
    path
        The file.

    Yields
    ------
    tuple[str, dict[str, Any], list[str]]
        Of each line the digest, the event, and what is wrong with it.
    """
    previous, expected = "0" * 64, 1
    with path.open("rb") as lines:
        for line in lines:
            faults = [] if line.endswith(b"\n") else ["has no line end"]
            body = line[:-1] if line.endswith(b"\n") else line
            digest = hashlib.sha256(body).hexdigest()
            event = read_event(body)
            if event.get("seq") != expected:
                faults.append(f"says that it is event {event.get('seq')!r}, here belongs event {expected}")
            if event.get("previous") != previous:
                faults.append("does not follow the line before it: one of the two was altered, moved or left out")
            yield digest, event, faults
            previous, expected = digest, expected + 1


def check(folder: Path, known: tuple[int, str] | None = None) -> list[str]:
    """Find every fault of an export.

    Parameters
    ----------
    folder
        Where it lies.
    known
        Number and digest of an event known from elsewhere.

    Returns
    -------
    list[str]
        One line for each fault.
    """
    try:
        with (folder / "events.csv").open(encoding="utf-8", newline="") as table:
            return _check(folder, csv.reader(table), known)
    except (OSError, ValueError, csv.Error) as fault:
        return [f"{folder}: {fault}"]


def _check(folder: Path, rows: Iterator[list[str]], known: tuple[int, str] | None) -> list[str]:
    faults, last, count = [], "0" * 64, 0
    if next(rows, None) != [*(name for name, _ in COLUMNS), "digest"]:
        faults.append("events.csv line 1: is not the head of the table")
    for count, (digest, event, wrong) in enumerate(check_lines(folder / "events.jsonl"), 1):
        faults += [f"events.jsonl line {count}: {one}" for one in wrong]
        if next(rows, None) != row(event, digest):
            faults.append(f"events.csv: the row of event {count} is not that of events.jsonl line {count}")
        if known and known[0] == count and known[1] != digest:
            faults.append(f"events.jsonl line {count}: has another digest than the one known from elsewhere")
        last = digest
    if next(rows, None) is not None:
        faults.append("events.csv: has more rows than there are events")
    head = json.loads((folder / "head.json").read_text(encoding="utf-8"))
    if head != {"format": "patency-ledger-export/1", "events": count, "head": last}:
        faults.append(f"head.json: does not name the {count} events and the last digest {last}")
    if known and known[0] > count:
        faults.append(f"events.jsonl: event {known[0]} is known from elsewhere and not there")
    return faults


def main(arguments: list[str]) -> int:
    """Check the export that the command line names.

    Parameters
    ----------
    arguments
        Folder, and number and digest of a known event if there is one.

    Returns
    -------
    int
        The exit status.
    """
    csv.field_size_limit(2**31 - 1)
    if len(arguments) not in (1, 2):
        print(__doc__)
        return 2
    number, _, digest = arguments[1].partition(":") if len(arguments) == 2 else ("", "", "")
    if number and not number.isdigit():
        print(f"{arguments[1]}: is no number and digest of an event (expected: 120:3f5a...)")
        return 2
    found = check(Path(arguments[0]), (int(number), digest) if number else None)
    print("\n".join(found) or "the chain of events holds")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
