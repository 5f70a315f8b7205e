"""The speed of a spray arm against the one expected of it at the pressure predicted for this very load.

An arm is driven by its jets. Their force grows with the pressure, the drag of the water it turns in with the square of
its speed, so its speed grows with the root of the pressure.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from patency.evidence.criteria import Asked, Bounds, CriterionState, decided, limit_fault, shown
from patency.evidence.machine_code import compiled
from patency.evidence.process import part_of
from patency.evidence.weighing import Weighed, left_open, weighed

if TYPE_CHECKING:
    from patency.evidence.case import Case
    from patency.evidence.found_stages import StageSpan
    from patency.evidence.prediction import ArmSpeed
    from patency.evidence.record import Trace
    from patency.quantities import Interval


def arm_speed_criteria(case: Case) -> list[Weighed]:
    """Judge the speed of every recorded arm in each wet stage against the pressure predicted for this load.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        One criterion for each arm and wet stage found: not met where the reading lies outside, not evaluated where it
        lies inside but the sensor is too uncertain to tell. Empty where no arm is recorded.
    """
    return [_speed(case, span, arm) for arm in case.record.of("rotation") for span in case.found.wet]


def _speed(case: Case, span: StageSpan, arm: Trace) -> Weighed:
    asked = Asked(f"speed of {arm.place} for this load", "rpm", span.called, arm.name)
    tolerance, unsteady = case.limits.arm_speed_tolerance, case.limits.unsteady_share
    for what, limit in (("tolerance", tolerance), ("unsteady share of a stage", unsteady)):
        fault = limit_fault(limit, "1", case.on)
        if fault is not None:
            return left_open(asked, f"{what}: {fault}", limit)
    stated = _stated(case, arm)
    predicted = case.prediction.stages.get(span.called) if case.prediction else None
    if stated is None or predicted is None or tolerance is None or unsteady is None:
        why = "no pressure was predicted for this stage of this load" if predicted is None else _NOT_STATED
        return left_open(asked, why, tolerance)
    readings = part_of(case, arm, span, (unsteady.value, 1 - unsteady.value))
    if not readings.size:
        return left_open(asked, "the sensor shows no value in the steady part of the stage", tolerance)
    value = compiled("quantile")(readings, 0.5)
    low, nominal, high = _expected(stated, predicted.pressure_pa)
    bounds = Bounds(
        f"{shown(stated.speed_rpm, 'rpm')} at {shown(stated.at_pa, 'Pa')} and the prediction for this load; tolerance: "
        f"{tolerance.source}",
        low=low * (1 - tolerance.value),
        high=high * (1 + tolerance.value),
    )
    judged = weighed(asked, value, arm.uncertainty, bounds, lambda: f"expected {shown(nominal, 'rpm')}")
    _, alone = decided(value, 0.0, bounds)
    if alone is CriterionState.MET and judged.state is CriterionState.NOT_MET:
        return judged.but(CriterionState.NOT_EVALUATED, "the reading lies within, but it is too uncertain to tell")
    return judged


_NOT_STATED = "how fast this arm turns at which pressure is not stated"


def _stated(case: Case, arm: Trace) -> ArmSpeed | None:
    """Return how fast an arm turns: that of the sensor its column stands for, or of its own place."""
    if case.machine is None:
        return None
    key = case.sensors.get(arm.name)
    place = case.machine.sensors[key].place if key else arm.place
    return case.machine.arms.get(place)


def _expected(stated: ArmSpeed, pressure_pa: Interval) -> tuple[float, float, float]:
    """Carry a speed to another pressure."""
    ends = (pressure_pa.low, pressure_pa.nominal, pressure_pa.high)
    low, nominal, high = (stated.speed_rpm * math.sqrt(max(end, 0.0) / stated.at_pa) for end in ends)
    return low, nominal, high
