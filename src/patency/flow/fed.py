"""The answer to *fed*: whether the water in every lumen of a piece reaches what it is held against."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.errors import InputError
from patency.flow.needs import Basis, Measure, demand_on
from patency.load import Figure, Question, Reply, pieces_of_set
from patency.quantities import Answer, Interval, worst

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from patency.catalogue import Department
    from patency.flow.load_flow import LoadFlow, LumenFlow
    from patency.flow.needs import Demand
    from patency.load import Load, PieceToPlace
    from patency.quantities import Limit

# Unit inside, factor and unit for people.
_SHOWN = {
    Measure.FLOW: ("m3/s", 6e7, "mL/min"),
    Measure.VELOCITY: ("m/s", 1.0, "m/s"),
    Measure.SHEAR: ("Pa", 1.0, "Pa"),
    Measure.PRESSURE: ("Pa", 0.01, "mbar"),
    Measure.HIGHEST_PRESSURE: ("Pa", 0.01, "mbar"),
    Measure.EXCHANGES: ("1", 1.0, "per minute"),
}


@dataclass(frozen=True, slots=True)
class _Case:
    """What all answers about one load share."""

    department: Department
    load: Load
    load_flow: LoadFlow
    day: date
    gaps: str


@dataclass(frozen=True, slots=True)
class _Judged:
    """An answer about one lumen and why."""

    answer: Answer
    why: str
    figures: tuple[Figure, ...] = ()


def fed(department: Department, load: Load, load_flow: LoadFlow, day: date) -> dict[tuple[str, str], Reply]:
    """Answer for every piece of a load whether its lumens are fed.

    A lumen's flow is held against its stated needs; where it has none, against the newest validated reference load in
    date for this carrier and programme; where none covers it, against the site's defaults, marked as without source.
    The lower end of each interval decides. A lumen that is not connected or through which nothing flows is not fed.
    Where a limit is missing or out of date, a default of the calculation is missing or out of date, or the number
    itself is not known, the answer is ``unknown``.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    load_flow
        The water in this load.
    day
        Day of the decision.

    Returns
    -------
    dict[tuple[str, str], Reply]
        Set and piece to the reply, for every placed piece; a piece without lumen has nothing to feed and is answered
        yes.

    Raises
    ------
    InputError
        If a placed piece belongs to none of the load's sets.
    """
    pieces = {
        (piece.set, piece.key): piece
        for name in load.sets
        if name in department.sets
        for piece in pieces_of_set(department, name)
    }
    case = _Case(department, load, load_flow, day, _gaps(load_flow, day))
    replies = {}
    for placed in load.pieces:
        key = (placed.set, placed.piece)
        if key not in pieces:
            raise InputError(
                f"load {load.id}", f"no piece {placed.piece} of {placed.set}", "a piece of the load's sets"
            )
        replies[key] = _reply(case, pieces[key])
    return replies


def _gaps(load_flow: LoadFlow, day: date) -> str:
    """Say what the calculation lacks as a whole; empty where it lacks nothing."""
    if not load_flow.with_intervals:
        return "intervals were not computed"
    for name, limit in load_flow.defaults.items():
        if limit is None:
            return f"the site states no {name.replace('_', ' ')}"
        if not limit.holds_on(day):
            return f"the site's {name.replace('_', ' ')} is out of date"
    return ""


def _reply(case: _Case, piece: PieceToPlace) -> Reply:
    """Put the answers about all lumens of a piece together; the worst decides and gives the reason."""
    judged = []
    for lumen in piece.lumens:
        flow = case.load_flow.lumens.get((piece.set, piece.key, lumen))
        if flow is None:
            judged.append(_Judged(Answer.NO, f"{lumen}: not connected"))
            continue
        demand = demand_on(case.department, case.load, piece, lumen, case.day)
        prefix = f"{lumen}: " if len(piece.lumens) > 1 else ""
        judged.append(_judge(case, flow, demand, prefix))
    if not judged:
        return Reply(Question.FED, Answer.YES, "has no lumen")
    answer = worst(one.answer for one in judged)
    why = "; ".join(one.why for one in judged if one.answer is answer)
    return Reply(Question.FED, answer, why, tuple(figure for one in judged for figure in one.figures))


def _judge(case: _Case, flow: LumenFlow, demand: Demand, prefix: str) -> _Judged:
    """Hold one lumen's water against what it has to reach."""
    values = _values(flow)
    figures = tuple(_figures(flow, values, demand, prefix))
    if flow.dry:
        return _Judged(Answer.NO, f"{prefix}nothing flows in stage {flow.worst_stages['flow']}", figures)
    if flow.jet is not None and not flow.jet.reaches_the_far_end:
        rise, climb = flow.jet.rise_m * 1000.0, flow.jet.climb_m * 1000.0
        why = f"{prefix}the jet rises {rise:.0f} mm, to the far end are {climb:.0f} mm"
        return _Judged(Answer.NO, why, figures)
    checks = [
        _held(measure, limit, values.get(measure), demand, case.day)
        for limits in (demand.least, demand.most)
        for measure, limit in limits.items()
    ]
    if demand.basis is None:
        checks.append((Answer.UNKNOWN, "nothing is stated that its flow could be held against"))
    if case.gaps:
        checks.append((Answer.UNKNOWN, case.gaps))
    answer = worst(check for check, _ in checks)
    why = "; ".join(reason for check, reason in checks if check is answer)
    return _Judged(answer, prefix + why, figures)


def _values(flow: LumenFlow) -> dict[Measure, Interval]:
    """List what is known of a lumen's water; in a bore over a nozzle neither its mean velocity nor its shear is."""
    per_min = 60.0 / flow.volume_m3
    rate = flow.flow_m3_s
    values = {
        Measure.FLOW: rate,
        Measure.PRESSURE: flow.pressure_pa,
        Measure.HIGHEST_PRESSURE: Interval(
            flow.highest_pressure_pa, flow.highest_pressure_pa, flow.highest_pressure_pa
        ),
        Measure.EXCHANGES: Interval(rate.low * per_min, rate.nominal * per_min, rate.high * per_min),
    }
    if flow.jet is None:
        values[Measure.VELOCITY] = flow.velocity_m_s
    if flow.shear_pa is not None:
        values[Measure.SHEAR] = flow.shear_pa
    return values


def _held(measure: Measure, limit: Limit, value: Interval | None, demand: Demand, day: date) -> tuple[Answer, str]:
    """Hold one number against one limit."""
    if value is None:
        return Answer.UNKNOWN, f"{measure} in a bore over a nozzle is not known"
    basis = Basis.STATED if measure in demand.most else demand.basis
    if not limit.holds_on(day):
        return Answer.UNKNOWN, f"the limit of {measure} ({basis}) is out of date"
    _, factor, unit = _SHOWN[measure]
    if measure in demand.most:
        enough, word, deciding = value.high <= limit.value, "at most", value.high
    else:
        enough, word, deciding = value.low >= limit.value, "at least", value.low
    why = f"{measure} {word} {deciding * factor:.3g} {unit} against {limit.value * factor:.3g} {unit} ({basis})"
    return (Answer.YES if enough else Answer.NO), why


def _figures(flow: LumenFlow, values: dict[Measure, Interval], demand: Demand, prefix: str) -> Iterator[Figure]:
    """List the numbers behind the answer, each with what it was held against."""
    for measure in (Measure.FLOW, Measure.VELOCITY, Measure.SHEAR, Measure.PRESSURE, Measure.EXCHANGES):
        if measure in values:
            value, unit = values[measure], _SHOWN[measure][0]
            limit = demand.least.get(measure)
            yield Figure(f"{prefix}{measure}", value.nominal, unit, value.low, value.high, limit)
    if flow.jet is not None:
        jet = flow.velocity_m_s
        yield Figure(f"{prefix}velocity of the jet", jet.nominal, "m/s", jet.low, jet.high)
    for measure, limit in demand.most.items():
        yield Figure(f"{prefix}{measure}", flow.highest_pressure_pa, _SHOWN[measure][0], limit=limit)
    yield Figure(f"{prefix}Reynolds number", flow.reynolds, "1")
