"""Which loads a machine, a water sample or a load puts in doubt, and why these."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from patency.ledger.fields import LoadKind

if TYPE_CHECKING:
    from patency.ledger.tracing.reading import Ran, Reader


@dataclass(frozen=True)
class Suspects:
    """Loads in doubt.

    Parameters
    ----------
    runs
        The loads, in order of their start.
    why
        Why the first and the last of them are the limits, one statement each.
    """

    runs: tuple[Ran, ...]
    why: tuple[str, ...]


def of_machine(reader: Reader, machine: str) -> Suspects:
    """Name the loads of a machine that ran between the last test passed before a failed one and the next one passed.

    Parameters
    ----------
    reader
        Reads what happened.
    machine
        Its key.

    Returns
    -------
    Suspects
        Every load in the time looked at, where no test failed.
    """
    tests = reader.story("machine", machine, ("machine tested",))
    low, high, why = reader.since - 1, reader.until + 1, [f"looked at from event {reader.since} to {reader.until}"]
    failed = [event for event in tests if not event["what"]["passed"] and reader.since <= event["seq"] <= reader.until]
    if failed:
        windows = [_window(tests, event) for event in failed]
        low, high = min(window[0] for window in windows), max(window[1] or reader.until + 1 for window in windows)
        why = [f"test {event['what']['test']} failed in event {event['seq']}" for event in failed]
        why += [_limits(low, None if high > reader.until else high, "passed test")]
    return Suspects(tuple(reader.runs([machine], low, high)), tuple(why))


def _window(tests: list[dict[str, Any]], failed: dict[str, Any]) -> tuple[int, int | None]:
    same = [event for event in tests if event["what"]["test"] == failed["what"]["test"] and event["what"]["passed"]]
    before = [event["seq"] for event in same if event["seq"] < failed["seq"]]
    after = [event["seq"] for event in same if event["seq"] > failed["seq"]]
    return (before[-1] if before else 0), (after[0] if after else None)


def _limits(low: int, high: int | None, what: str) -> str:
    begin = f"the last {what} before is event {low}" if low else f"there is no {what} before"
    end = f"the next after is event {high}" if high else "there is none after"
    return f"{begin}; {end}"


def of_sample(reader: Reader, sample: str, point: str) -> Suspects:
    """Name the wash loads on machines fed by a water point between the last good sample before and the next one after.

    Parameters
    ----------
    reader
        Reads what happened.
    sample
        Its key.
    point
        Where it was taken.

    Returns
    -------
    Suspects
        Loads that ran in between.
    """
    story = reader.story("water", point, ("water sampled", "sample judged", "machine enrolled"))
    taken = {event["what"]["sample"]: event["seq"] for event in story if event["event"] == "water sampled"}
    within: dict[str, bool] = {}
    for event in story:
        if event["event"] == "sample judged":
            within[event["what"]["sample"]] = event["what"]["within"]
    good = sorted(taken[key] for key, was in within.items() if was and key != sample)
    at = taken[sample]
    low = max((seq for seq in good if seq < at), default=0)
    high = min((seq for seq in good if seq > at), default=None)
    fed = {event["what"]["machine"] for event in story if event["event"] == "machine enrolled"}
    runs = [run for run in reader.runs(fed, low, high) if run.kind == LoadKind.WASH.value]
    why = f"sample {sample} was taken at {point} in event {at}; {_limits(low, high, 'sample within its limits')}"
    return Suspects(tuple(runs), (why,))
