"""Which column counts the doses of an agent."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from patency.evidence.record import CycleRecord, Trace


def meter_of(record: CycleRecord, agent: str) -> Trace | None:
    """Find the meter of an agent: its place is the agent's name or words of it, the most words first.

    Parameters
    ----------
    record
        The record.
    agent
        The agent as prescribed.

    Returns
    -------
    Trace or None
        None where no column counts it.
    """
    name = set(agent.casefold().split())
    words = [(set(meter.place.casefold().split()), meter) for meter in record.of("dosed volume")]
    fitting = [(len(place), meter) for place, meter in words if place <= name]
    return max(fitting, key=lambda item: item[0])[1] if fitting else None
