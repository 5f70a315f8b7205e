"""``patency ledger``: what happened."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from patency.cli.answers import Answer, Outcome, PatencyGroup

if TYPE_CHECKING:
    from patency.ledger import Item, Trace
    from patency.steps import LedgerCheck

_KINDS = ("piece", "set", "load", "machine", "sample", "case")


@click.group("ledger", cls=PatencyGroup, short_help="Verify, export and trace a ledger.")
def ledger() -> None:
    """Look into a ledger: the path of its file, or postgresql://user@host/database."""


@ledger.command("verify", short_help="Follow the chain of events.")
@click.argument("place", metavar="LEDGER")
@click.option(
    "--head", help="Number and digest of an event known from elsewhere, as 120:3f5a..., to see a cut-off end."
)
def ledger_verify(place: str, head: str | None) -> Answer:
    """Follow the chain of the events in LEDGER and name every one that was altered, removed or put elsewhere.

    Prints the end of the chain; keep it on paper, and hand it to --head later. Ends with 0 when the chain holds, with 1
    when it does not.
    """
    from patency.steps import verify_ledger

    check = verify_ledger(place, head)
    return Answer("\n".join(_chain(check)), _chain_data(check), _outcome(short=bool(check.breaks)))


def _chain(check: LedgerCheck) -> list[str]:
    lines = [one.line for one in check.breaks]
    lines.append(f"{len(check.breaks)} places where the chain does not hold" if lines else "the chain holds")
    return [*lines, f"end of the chain: {check.head.seq}:{check.head.digest}"]


def _chain_data(check: LedgerCheck) -> dict[str, object]:
    return {
        "events": check.head.seq,
        "head": check.head.digest,
        "breaks": [{"event": one.seq, "what": one.what} for one in check.breaks],
    }


def _outcome(*, short: bool) -> Outcome:
    return Outcome.FALLS_SHORT if short else Outcome.ACCEPTABLE


@ledger.command("rebuild", short_help="Make again what follows from events.")
@click.argument("place", metavar="LEDGER")
def ledger_rebuild(place: str) -> Answer:
    """Make all that follows from the events of LEDGER again, compare it, and put right what was kept otherwise.

    Ends with 0 when all was equal, with 1 when something was not or the chain does not hold; then nothing is made.
    """
    from patency.steps import rebuild_ledger

    check, differences = rebuild_ledger(place)
    lines = [one.line for one in differences]
    if check.breaks:
        lines += [*_chain(check), "nothing was made again from a chain that does not hold"]
    elif differences:
        lines.append(f"{len(differences)} rows were kept otherwise and are put right")
    else:
        lines.append(f"all that follows from {check.head.seq} events is kept as it follows")
    data = {**_chain_data(check), "differences": lines[: len(differences)]}
    return Answer("\n".join(lines), data, _outcome(short=bool(check.breaks or differences)))


@ledger.command("export", short_help="Write events out with a check of them.")
@click.argument("place", metavar="LEDGER")
@click.option("--out", required=True, type=click.Path(file_okay=False, path_type=Path), help="Write the files there.")
def ledger_export(place: str, out: Path) -> Answer:
    """Write the events of LEDGER as a table and as lines of JSON, and a script that checks both by itself."""
    from patency.steps import export_events

    count = export_events(place, out)
    check = f"python {out / 'verify_export.py'} {out}"
    return Answer(f"{count} events in {out}; to check them: {check}", {"events": count, "folder": str(out)})


@ledger.command("trace", short_help="List what a piece or load touched.")
@click.argument("place", metavar="LEDGER")
@click.argument("kind", type=click.Choice(_KINDS))
@click.argument("key", metavar="KEY")
@click.option("--backward", is_flag=True, help="Where it came from, instead of where it went.")
@click.option("--since", help="From which event or day on, as 120 or 2026-05-12.")
@click.option("--shared", type=click.Choice(["none", "first", "all"]), help="Which shared wash loads carry it on.")
def ledger_trace(place: str, kind: str, key: str, *, backward: bool, since: str | None, shared: str | None) -> Answer:
    """List what a piece, set, load, machine, water sample or case of LEDGER touched, each with the reason.

    T3 marked and scanned, T2 marked and inferred from its set, T1 unmarked member of a tagged set, T0 unknown.
    """
    from patency.ledger import Direction
    from patency.steps import trace_thing

    way = Direction.BACKWARD if backward else Direction.FORWARD
    found = trace_thing(place, kind, key, way, since=since, shared=shared)
    return Answer("\n".join(_trace(found)), _trace_data(found))


def _trace(found: Trace) -> list[str]:
    lines = [_item(item) for item in found.items]
    counts = {kind: sum(item.kind == kind for item in found.items) for kind in _KINDS}
    told = ", ".join(f"{count} {kind}{'s' if count > 1 else ''}" for kind, count in counts.items() if count)
    head = (
        f"{found.direction} from {found.kind} {found.key}, events {found.since} to {found.until}: {told or 'nothing'}"
    )
    return [head, *lines, *(f"bounded by: {line}" for line in found.scope)]


def _item(item: Item) -> str:
    shared = f", {item.distance} shared load between" if item.distance else ""
    return f"{item.kind} {item.key} ({item.strength.words}{shared}): {'; '.join(item.why)}"


def _trace_data(found: Trace) -> dict[str, object]:
    return {
        "kind": found.kind.value,
        "key": found.key,
        "direction": found.direction.value,
        "since": found.since,
        "until": found.until,
        "scope": list(found.scope),
        "items": [
            {
                "kind": item.kind.value,
                "key": item.key,
                "event": item.seq,
                "identity": f"T{int(item.strength)}",
                "shared_loads_between": item.distance,
                "why": list(item.why),
            }
            for item in found.items
        ],
    }
