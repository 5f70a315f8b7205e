"""What of a load was used since it was released, as a ledger tells, and which loads a drifted sensor concerns there."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

from patency.evidence import Use
from patency.ledger import InstrumentSet, Kind, LoadRecord, SetState

if TYPE_CHECKING:
    from patency.evidence import SensorCorrection
    from patency.ledger import Ledger


@dataclass(frozen=True, slots=True)
class Since:
    """What became of the released sets of a load.

    Parameters
    ----------
    used
        Each use in a case or issue to one, in order: what of it, and when.
    not_used
        Each released set without, and the state it is in now.
    """

    used: tuple[Use, ...]
    not_used: tuple[tuple[str, str], ...]


def used_since(ledger: Ledger, load: LoadRecord) -> Since:
    """Tell what of a load was used until its pieces went through the next released load of the same kind.

    Parameters
    ----------
    ledger
        What happened.
    load
        A load that ran.

    Returns
    -------
    Since
        Pieces are followed into whatever set they came to, as the trace of a load does. A set that was issued and of
        whose use nobody has written is listed with those used: it may be in use now.
    """
    traced = ledger.trace(Kind.LOAD, load.load).items
    followed = {item.key for item in traced if item.kind is Kind.SET}
    used: list[tuple[str, Use]] = []
    for item in traced:
        if item.kind is Kind.CASE:
            used += _in_case(ledger, item.key, followed, load.started or 0)
    gone = {name for name, _ in used}
    released = [name for name, inside in load.inside.items() if inside.released is not None and name not in gone]
    found = (ledger.find(InstrumentSet, name) for name in released)
    return Since(
        tuple(use for _, use in sorted(used, key=lambda one: one[1].at)),
        tuple((one.set_key, one.state.value) for one in found if one is not None),
    )


def _in_case(ledger: Ledger, case: str, followed: set[str], since: int) -> list[tuple[str, Use]]:
    """List the sets that were issued to a case or used in it after an event."""
    uses: dict[int, tuple[str, Use]] = {}  # by the event of the issue: a set may come to a case twice
    issued: dict[str, int] = {}
    for event in ledger.story(Kind.CASE, case):
        what, seq = event["what"], event["seq"]
        name = what["set_key"]
        if seq < since or name not in followed:
            continue
        if event["event"] == "move corrected":
            uses.pop(what["corrects"], None)
            continue
        in_use = what["to"] == SetState.IN_USE
        issue = issued.get(name, seq) if in_use else seq
        issued[name] = issue
        done = "used in" if in_use else "issued to"
        uses[issue] = name, Use(what=f"{name}, {done} case {case}", at=datetime.fromisoformat(event["at"]))
    return list(uses.values())


def loads_of_sensor(ledger: Ledger, sensor: SensorCorrection) -> list[LoadRecord]:
    """List the loads with a released set that ran in the sensor's machine on the days it concerns.

    Parameters
    ----------
    ledger
        What happened.
    sensor
        What was found of the sensor, since when and until when.

    Returns
    -------
    list
        In order of their start.
    """

    def first_event_of(day: date) -> int:
        return ledger.first_since(datetime.combine(day, time.min).astimezone())

    begins = 1 if sensor.first_day is None else first_event_of(sensor.first_day)
    ends = None if sensor.last_day is None else first_event_of(sensor.last_day + timedelta(days=1))
    ran = [
        (one.started, one)
        for one in ledger.all_of(LoadRecord)
        if one.machine == sensor.machine and one.started is not None and begins <= one.started
        if ends is None or one.started < ends
        if any(inside.released is not None for inside in one.inside.values())
    ]
    return [one for _, one in sorted(ran, key=lambda pair: pair[0])]
