"""Holds the loads of a plan against the department's validated reference loads, and proposes the next qualification."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from patency.flow import (
    LoadEnvelope,
    Requalification,
    Standing,
    envelope_of_load,
    flow_of_load,
    propose_requalification,
)
from patency.steps.load_planning import read_planned
from patency.steps.plan_loads import load_of_plan

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from patency.flow import LumenStanding


@dataclass(frozen=True, slots=True)
class EnvelopeCheck:
    """How the loads of a plan stand to what was validated.

    Parameters
    ----------
    site
        Name of the place.
    day
        Day on which the reference loads have to be in date.
    loads
        Each load asked about.
    requalifications
        What to qualify next, for each carrier and programme.
    """

    site: str
    day: date
    loads: tuple[LoadEnvelope, ...]
    requalifications: tuple[Requalification, ...]

    @property
    def all_inside(self) -> bool:
        """Whether every load is inside."""
        return all(load.standing is Standing.INSIDE for load in self.loads)

    @property
    def data(self) -> dict[str, Any]:
        """The same for programs, in SI units."""
        return {
            "format": "patency-envelope/1",
            "site": self.site,
            "day": self.day.isoformat(),
            "loads": [_load_data(load) for load in self.loads],
            "requalification": [asdict(proposal) for proposal in self.requalifications],
        }


def check_envelope(plan: Path, folder: Path, load_id: str | None = None, on: date | None = None) -> EnvelopeCheck:
    """Hold the loads of a plan file against the validated reference loads.

    Parameters
    ----------
    plan
        A file of format ``patency-plan/1``.
    folder
        Holds the YAML files of the department the plan is for.
    load_id
        Which load alone; None for all.
    on
        Day on which the reference loads have to be in date; None for the plan's own day.

    Returns
    -------
    EnvelopeCheck
        Every lumen's standing and the proposal for the next qualification.

    Raises
    ------
    InputError
        When the plan cannot be read, is for another site or has no such load.
    InputErrors
        With every fault of the plan or the department.
    """
    department, read = read_planned(plan, folder)
    loads = read.loads if load_id is None else (load_of_plan(read, load_id),)
    day = on or read.day
    watered = [(load, flow_of_load(department, load)) for load in loads]
    return EnvelopeCheck(
        site=read.site,
        day=day,
        loads=tuple(envelope_of_load(department, load, load_flow, day) for load, load_flow in watered),
        requalifications=tuple(propose_requalification(department, watered)),
    )


def _load_data(load: LoadEnvelope) -> dict[str, Any]:
    return {
        "id": load.load_id,
        "standing": load.standing.value,
        "counts": {standing.value: load.count(standing) for standing in Standing},
        "references": [
            {
                "reference": one.reference,
                "source": one.source,
                "covers": one.inside,
                "differences": [asdict(difference) for difference in one.differences],
            }
            for one in load.references
        ],
        "lumens": [_lumen_data(lumen) for lumen in load.lumens],
    }


def _lumen_data(lumen: LumenStanding) -> dict[str, Any]:
    set_name, piece, key = lumen.key
    return {
        "set": set_name,
        "piece": piece,
        "lumen": key,
        "port": lumen.port or None,
        "standing": lumen.standing.value,
        "nearest": None if lumen.nearest is None else asdict(lumen.nearest),
    }
