"""Says in words how loads stand to what was validated, and what to qualify next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.flow import ProbeMeasure, Standing
from patency.texts import people_count, people_quantity, people_shear

if TYPE_CHECKING:
    from collections.abc import Iterable

    from patency.flow import Difference, LoadEnvelope, LumenStanding, PointCompared, Requalification


# From here on three digits would be written with an exponent.
_WHOLE_FROM = 999.5


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
    return _plain(value) if unit == "1" else people_quantity(value, unit)


def _plain(value: float) -> str:
    return f"{value:.0f}" if value >= _WHOLE_FROM else f"{value:.3g}"


def _stands_for(others: int) -> str:
    return {0: "stands for itself alone", 1: "stands for 1 other"}.get(others, f"stands for {others} others")


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
    lumens = people_count(len(proposal.lumens), "lumen")
    stand = "stands" if len(proposal.lumens) == 1 else "stand"
    lines = [f"{head}{lumens} {stand} for all" if count else f"{head}{lumens}"]
    for lumen in proposal.lumens:
        shear = "shear not known over a nozzle" if lumen.shear_pa is None else people_shear(lumen.shear_pa)
        gets = f"at least {people_quantity(lumen.flow_m3_s, 'm3/s')}, {shear}"
        lines.append(
            f"  {lumen.port}: load {', '.join(lumen.place)}: {gets}, "
            f"{_plain(lumen.exchanges_per_min)} exchanges a minute; {_stands_for(len(lumen.stands_for))}"
        )
    for probe in proposal.probes:
        stage = f" in {probe.stage}" if probe.stage else ""
        lines.append(
            f"  probe at {probe.port}, load {', '.join(probe.place)}: lowest {probe.measured}, "
            f"at least {_value(probe.measured, probe.low, probe.unit)}{stage}"
        )
    lines += [f"  not connected, so nothing stands for it: load {', '.join(place)}" for place in proposal.not_connected]
    return lines
