"""Holds the loads of a plan against the department's validated reference loads, and proposes the next qualification."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from patency.flow import (
    LoadEnvelope,
    ProbeMeasure,
    Requalification,
    Standing,
    envelope_of_load,
    flow_of_load,
    propose_requalification,
)
from patency.steps.cycle_judging import load_of_plan
from patency.steps.load_planning import read_planned
from patency.texts import people_quantity, people_shear

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date
    from pathlib import Path

    from patency.flow import Difference, LumenStanding, PointCompared


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
    loads = read.loads if load_id is None else (load_of_plan(read, load_id, str(plan)),)
    day = on or read.day
    watered = [(load, flow_of_load(department, load)) for load in loads]
    return EnvelopeCheck(
        site=read.site,
        day=day,
        loads=tuple(envelope_of_load(department, load, load_flow, day) for load, load_flow in watered),
        requalifications=tuple(propose_requalification(department, watered)),
    )


def envelope_summary(envelope: LoadEnvelope) -> str:
    """Say in one sentence how a load stands to what was validated.

    Parameters
    ----------
    envelope
        The load's envelope.

    Returns
    -------
    str
        Counts and the nearest reference load.
    """
    counts = ", ".join(f"{envelope.count(standing)} {standing}" for standing in Standing)
    words = f"{envelope.standing} of what was validated, lumens: {counts}"
    nearest = envelope.nearest
    if nearest is None:
        return f"{words}; the department describes no reference load"
    whole = f" ({difference_words(nearest.differences)})" if nearest.differences else ""
    return f"{words}; nearest reference load: {nearest.reference}, which covers {nearest.inside}{whole}"


def lumen_words(lumen: LumenStanding) -> str:
    """Say how one lumen stands, and exactly what differs.

    Parameters
    ----------
    lumen
        The lumen's standing.

    Returns
    -------
    str
        One line.
    """
    line = f"{lumen.port or 'no port'}, {', '.join(lumen.key)}: {lumen.standing}"
    if lumen.nearest is None:
        return f"{line}: no reference load is described"
    validated = f"{', '.join(lumen.nearest.validated)} of {lumen.nearest.reference}, {lumen.nearest.relation}"
    if not lumen.nearest.differences:
        return f"{line}: covered by {validated}"
    return f"{line}: {difference_words(lumen.nearest.differences)} (nearest: {validated})"


def difference_words(differences: Iterable[Difference]) -> str:
    """Say what differs.

    Parameters
    ----------
    differences
        The differences.

    Returns
    -------
    str
        Each with both values where there are two.
    """
    return "; ".join(_difference(one) for one in differences)


def _difference(one: Difference) -> str:
    sides = (("planned", one.planned), ("validated", one.validated))
    told = ", ".join(f"{side} {_value(one.point, value, one.unit)}" for side, value in sides if value is not None)
    why = f"{': ' if told else ' '}{one.why}" if one.why else ""
    return f"{one.point} {told}{why}".replace("  ", " ")


def _value(what: PointCompared | ProbeMeasure, value: float | str, unit: str) -> str:
    if isinstance(value, str):
        return value
    if what.value == ProbeMeasure.SHEAR.value:
        return people_shear(value)
    return f"{value:.3g}" if unit == "1" else people_quantity(value, unit)


def proposal_lines(proposal: Requalification) -> list[str]:
    """Write out what to qualify next.

    Parameters
    ----------
    proposal
        The proposal for one carrier and programme.

    Returns
    -------
    list[str]
        The lumens of the next reference load, where to put the probes, what has no port.
    """
    count = sum(len(lumen.stands_for) for lumen in proposal.lumens)
    head = f"next qualification of {proposal.carrier} with {proposal.programme}, for {', '.join(proposal.loads)}: "
    lines = [f"{head}{len(proposal.lumens)} lumens stand for all" if count else f"{head}{len(proposal.lumens)} lumens"]
    for lumen in proposal.lumens:
        shear = "shear not known over a nozzle" if lumen.shear_pa is None else people_shear(lumen.shear_pa)
        gets = f"at least {people_quantity(lumen.flow_m3_s, 'm3/s')}, {shear}"
        lines.append(
            f"  {lumen.port}: load {', '.join(lumen.place)}: {gets}, "
            f"{lumen.exchanges_per_min:.3g} exchanges a minute; stands for {len(lumen.stands_for)} others"
        )
    for probe in proposal.probes:
        stage = f" in {probe.stage}" if probe.stage else ""
        lines.append(
            f"  probe at {probe.port}, load {', '.join(probe.place)}: lowest {probe.measured}, "
            f"at least {_value(probe.measured, probe.low, probe.unit)}{stage}"
        )
    lines += [f"  not connected, so nothing stands for it: load {', '.join(place)}" for place in proposal.not_connected]
    return lines


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
