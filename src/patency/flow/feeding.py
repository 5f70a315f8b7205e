"""The answer to *fed*: whether the water in every lumen of a piece reaches what it is held against."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.errors import InputError
from patency.flow.gaps import gap_of_calculation, gap_of_criteria, gap_of_criterion, gap_of_lumen, gap_of_need
from patency.flow.needs import Measure, criteria_for
from patency.load import Figure, Question, Reply, pieces_of_set
from patency.quantities import Answer, Interval, worst

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from patency.catalogue import Department
    from patency.flow.load_flow import LoadFlow, LumenFlow
    from patency.flow.needs import Criterion
    from patency.load import Load, PieceToPlace

# Unit inside, factor and unit for people.
_SHOWN = {
    Measure.FLOW: ("m3/s", 6e7, " mL/min"),
    Measure.VELOCITY: ("m/s", 1.0, " m/s"),
    Measure.SHEAR: ("Pa", 1.0, " Pa"),
    Measure.PRESSURE: ("Pa", 0.01, " mbar"),
    Measure.HIGHEST_PRESSURE: ("Pa", 0.01, " mbar"),
    Measure.EXCHANGES: ("1", 1.0, ""),
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

    A lumen's flow is held against its stated needs; where it has none, against the newest validated reference load
    for this carrier and programme; where none covers it, against the site's defaults, marked as without source.
    The lower end of each interval decides. A lumen that is not connected or through which nothing flows is not fed.
    Where a limit is missing or out of date, the reference load is out of date, a default of the calculation is missing
    or out of date, something on the way of the water is not stated, or the number itself is not known, the answer is
    ``unknown``.

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
    case = _Case(department, load, load_flow, day, gap_of_calculation(load_flow, day))
    replies = {}
    for placed in load.pieces:
        key = (placed.set, placed.piece)
        if key not in pieces:
            raise InputError(
                f"load {load.id}", f"no piece {placed.piece} of {placed.set}", "a piece of the load's sets"
            )
        replies[key] = _reply(case, pieces[key])
    return replies


def _reply(case: _Case, piece: PieceToPlace) -> Reply:
    """Put the answers about all lumens of a piece together; the worst decides and gives the reason."""
    judged = []
    for lumen in piece.lumens:
        flow = case.load_flow.lumens.get((piece.set, piece.key, lumen))
        if flow is None:
            judged.append(_Judged(Answer.NO, f"{lumen}: not connected"))
            continue
        criteria = criteria_for(case.department, case.load, piece, lumen, case.day)
        prefix = f"{lumen}: " if len(piece.lumens) > 1 else ""
        gaps = [
            gap_of_criteria(criteria),
            case.gaps,
            gap_of_lumen(case.load_flow.network, (piece.set, piece.key, lumen)),
            gap_of_need(piece.lumens[lumen].need),
        ]
        judged.append(_judge(case, flow, criteria, gaps, prefix))
    if not judged:
        return Reply(Question.FED, Answer.YES, "has no lumen")
    answer = worst(one.answer for one in judged)
    why = "; ".join(one.why for one in judged if one.answer is answer)
    return Reply(Question.FED, answer, why, tuple(figure for one in judged for figure in one.figures))


def _judge(case: _Case, flow: LumenFlow, criteria: list[Criterion], gaps: list[str], prefix: str) -> _Judged:
    """Hold one lumen's water against what it has to reach."""
    values = _values(flow)
    figures = tuple(_figures(flow, values, criteria, prefix))
    if flow.dry:
        return _Judged(Answer.NO, f"{prefix}nothing flows in stage {flow.worst_stages['flow']}", figures)
    if flow.jet is not None and not flow.jet.reaches_the_far_end:
        rise, climb = flow.jet.rise_m * 1000.0, flow.jet.climb_m * 1000.0
        why = f"{prefix}the jet rises {rise:.0f} mm, to the far end are {climb:.0f} mm"
        return _Judged(Answer.NO, why, figures)
    checks = []
    for criterion in criteria:
        gap = gap_of_criterion(criterion, case.day, over_a_nozzle=flow.jet is not None)
        held = (Answer.UNKNOWN, gap) if gap else _held(criterion, values)
        checks.append((*held, f" ({criterion.basis})"))
    checks += [(Answer.UNKNOWN, gap, "") for gap in gaps if gap]
    answer = worst(check for check, _, _ in checks)
    by_basis: dict[str, list[str]] = {}
    for check, reason, basis in checks:
        if check is answer:
            by_basis.setdefault(basis, []).append(reason)
    why = "; ".join(", ".join(reasons) + basis for basis, reasons in by_basis.items())
    return _Judged(answer, f"{prefix}{why}", figures)


def _values(flow: LumenFlow) -> dict[Measure, Interval]:
    """List what is known of a lumen's water; in a bore over a nozzle neither its mean velocity nor its shear is."""
    rate, highest, per_min = flow.flow_m3_s, flow.highest_pressure_pa, 60.0 / flow.volume_m3
    values = {
        Measure.FLOW: rate,
        Measure.PRESSURE: flow.pressure_pa,
        Measure.EXCHANGES: Interval(rate.low * per_min, rate.nominal * per_min, rate.high * per_min),
        Measure.HIGHEST_PRESSURE: Interval(highest, highest, highest),
    }
    if flow.jet is None:
        values[Measure.VELOCITY] = flow.velocity_m_s
    if flow.shear_pa is not None:
        values[Measure.SHEAR] = flow.shear_pa
    return values


def _held(criterion: Criterion, values: dict[Measure, Interval]) -> tuple[Answer, str]:
    """Hold one number against one limit."""
    measure, limit = criterion.measure, criterion.limit
    value = values[measure]
    _, factor, unit = _SHOWN[measure]
    if measure is Measure.HIGHEST_PRESSURE:
        enough, word, deciding = value.high <= limit.value, "at most", value.high
    else:
        enough, word, deciding = value.low >= limit.value, "at least", value.low
    why = f"{measure} {word} {deciding * factor:.3g}{unit}, limit {limit.value * factor:.3g}{unit}"
    return (Answer.YES if enough else Answer.NO), why


def _figures(
    flow: LumenFlow, values: dict[Measure, Interval], criteria: list[Criterion], prefix: str
) -> Iterator[Figure]:
    """List the numbers behind the answer, each with what it was held against."""
    limits = {criterion.measure: criterion.limit for criterion in criteria}
    for measure in Measure:
        known = values.get(measure)
        if known is None or (measure is Measure.HIGHEST_PRESSURE and measure not in limits):
            continue
        unit = _SHOWN[measure][0]
        yield Figure(f"{prefix}{measure}", known.nominal, unit, known.low, known.high, limits.get(measure))
    if flow.jet is not None:
        jet = flow.velocity_m_s
        yield Figure(f"{prefix}velocity of the jet", jet.nominal, "m/s", jet.low, jet.high)
    yield Figure(f"{prefix}Reynolds number", flow.reynolds, "1")
