"""The rule on water: computed anew for every load, nothing of it is taken from the plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.errors import InputError, PhysicsError
from patency.flow import fed, flow_of_load
from patency.plan.checking.finding import Observation
from patency.quantities import Answer

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.load import Load
    from patency.plan.checking.case import Case


def fed_lumens(case: Case) -> Iterator[Observation]:
    """Find pieces whose lumens do not get the water they are held against."""
    for load in case.plan.loads:
        programme = case.programme(load)
        if programme is not None and not programme.for_lumens:
            continue  # a rule of its own
        try:
            yield from _of_load(case, load)
        except PhysicsError as impossible:
            yield Observation(f"no flow is possible: {impossible.line}", load.id)
        except InputError as fault:
            # What makes the load impossible to compute breaks a rule of its own; what is left is that nobody knows.
            yield Observation(f"its flow cannot be computed: {fault.line}", load.id, answer=Answer.UNKNOWN)


def _of_load(case: Case, load: Load) -> Iterator[Observation]:
    flow = flow_of_load(case.department, load)
    unconnected = {
        (place.placed.set, place.placed.piece)
        for place in case.places()
        if place.type.lumens.keys() - {connection.lumen for connection in place.placed.lumens}
    }
    for (name, key), reply in fed(case.department, load, flow, case.day.date).items():
        if reply.answer is not Answer.YES and (name, key) not in unconnected:
            yield Observation(reply.why, load.id, name, key, answer=reply.answer)
