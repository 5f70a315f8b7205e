"""The parts of a verdict in their order, each with what it rests on, so that a change touches no more than it must."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import wraps
from itertools import accumulate
from typing import TYPE_CHECKING

from patency.evidence.alarm import alarm_criterion
from patency.evidence.arm_speed import arm_speed_criteria
from patency.evidence.calibration import calibration_criterion
from patency.evidence.circulation import circulation_time_criteria, eye_check_criterion, pressure_criteria
from patency.evidence.completeness import (
    completeness_criterion,
    machine_criterion,
    programme_criterion,
    sensors_criterion,
    stages_criterion,
)
from patency.evidence.course import (
    carry_over_criteria,
    heating_criteria,
    rinse_temperature_criteria,
    slow_heating_criteria,
)
from patency.evidence.drying import drying_criteria
from patency.evidence.measuring import Asking, Coded, answers_of, coded, said
from patency.evidence.process import arm_criteria, conductivity_criterion, dose_criteria, dosed_rinse_criteria
from patency.evidence.steadiness import steadiness_criteria
from patency.evidence.thermal import a0_criteria, cleaning_criteria, first_contact_criterion, hold_criteria
from patency.evidence.weighing import as_weighed

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from patency.evidence.case import Case
    from patency.evidence.measuring import Answer
    from patency.evidence.weighing import Weighed

    Weigh = Callable[[Case, Sequence[Answer]], Sequence[Weighed]]

_HEAT = ("temperature",)
_GAP = "longest_gap"


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a verdict.

    Parameters
    ----------
    ask
        What says what it asks of the samples and makes criteria of the answers, from no sample itself.
    limits
        The limits of the site it rests on, beside programme, stages and prediction.
    quantities
        The quantities of which it looks at readings; none where it rests on what was found or entered.
    by_day
        Whether the day of the decision changes it while every limit stays.
    """

    ask: Callable[[Case], Asking]
    limits: tuple[str, ...] = ()
    quantities: tuple[str, ...] = ()
    by_day: bool = False


def _each(judge: Callable[[Case], Sequence[Weighed]]) -> Callable[[Case], Asking]:
    """Judge what looks at the samples by itself."""

    @wraps(judge)
    def ask(_: Case) -> Asking:
        return Asking((), lambda case, _: judge(case))

    return ask


def _alone(judge: Callable[[Case], Weighed]) -> Callable[[Case], Asking]:
    @wraps(judge)
    def ask(_: Case) -> Asking:
        return Asking((), lambda case, _: (judge(case),))

    return ask


def _beforehand(judge: Callable[[Case], Weighed]) -> Callable[[Case], Asking]:
    """Judge once for all cases that are alike what follows from no sample."""

    @wraps(judge)
    def ask(case: Case) -> Asking:
        return said(judge(case))

    return ask


def _calibrated(case: Case) -> Weighed:
    return as_weighed(calibration_criterion(case.record, case.limits.calibration_interval, case.on))


PARTS = (
    Part(_beforehand(programme_criterion)),
    Part(_beforehand(machine_criterion)),
    Part(_beforehand(sensors_criterion)),
    Part(_alone(stages_criterion)),
    Part(_beforehand(_calibrated), ("calibration_interval",), by_day=True),
    Part(completeness_criterion, (_GAP,), ("temperature", "pressure")),
    Part(first_contact_criterion, ("first_rinse_highest",), _HEAT),
    Part(cleaning_criteria, ("cleaning_temperature_tolerance", _GAP), _HEAT),
    Part(_each(dose_criteria), ("dose_tolerance",), ("dosed volume",)),
    Part(a0_criteria, ("a0_target", _GAP), _HEAT),
    Part(hold_criteria, ("disinfection_band", _GAP), _HEAT),
    Part(_alone(conductivity_criterion), ("final_rinse_conductivity", "last_water_share"), ("conductivity",)),
    Part(
        _each(carry_over_criteria),
        ("rinse_carry_over", "last_water_share", "final_rinse_conductivity"),
        ("conductivity",),
    ),
    Part(_each(heating_criteria), ("fastest_heating",), _HEAT),
    Part(_each(slow_heating_criteria), ("slowest_heating",), _HEAT),
    Part(_each(rinse_temperature_criteria), ("rinse_temperature_tolerance", "last_water_share"), _HEAT),
    Part(_each(dosed_rinse_criteria), ("last_water_share",), ("conductivity",)),
    Part(drying_criteria, ("drying_temperature_tolerance", _GAP), _HEAT),
    Part(
        _each(arm_criteria),
        ("arm_rotation_least", "arm_rotation_highest", "arm_readings_aside", "unsteady_share"),
        ("rotation",),
    ),
    Part(_each(arm_speed_criteria), ("arm_speed_tolerance", "unsteady_share"), ("rotation",)),
    Part(_each(pressure_criteria), ("unsteady_share",), ("pressure",)),
    Part(_alone(alarm_criterion), ("false_alarms", "false_rejects", "unsteady_share"), ("pressure", "flow")),
    Part(
        _each(steadiness_criteria),
        ("pressure_swing", "final_rinse_conductivity"),
        ("pressure", "temperature", "conductivity"),
    ),
    Part(circulation_time_criteria, ("running_share", _GAP), ("pressure", "rotation")),
    Part(_beforehand(eye_check_criterion)),
)


EVERY_PART = frozenset(range(len(PARTS)))


def judged(case: Case, parts: frozenset[int] = EVERY_PART) -> list[tuple[int, Weighed]]:
    """Judge parts of a verdict.

    Parameters
    ----------
    case
        The case; what cases that are alike ask of their samples is put together once.
    parts
        The parts, as positions in ``PARTS``.

    Returns
    -------
    list
        Every criterion by its part, in their order.
    """
    found = case.found
    shape = (tuple(span.position for span in found.spans), bool(found.moist.counted.any()), found.moist.doubt)
    key = (parts, *shape, bool(case.record.axis.clock_step.any()))
    asked, each = case.once(key, lambda: _asked(case, sorted(parts)))
    answers = answers_of(case, asked)
    return [(place, one) for place, weigh, now in each for one in weigh(case, answers[now])]


def _asked(case: Case, places: list[int]) -> tuple[Coded, list[tuple[int, Weigh, slice]]]:
    """Put together what parts ask, and tell which of the answers are whose."""
    askings = [PARTS[place].ask(case) for place in places]
    ends = accumulate(len(one.measures) for one in askings)
    each = [
        (place, one.weigh, slice(end - len(one.measures), end))
        for place, one, end in zip(places, askings, ends, strict=True)
    ]
    return coded([measure for one in askings for measure in one.measures]), each


def parts_digest() -> str:
    """Tell these parts from those of another edition, as archives keep the places of parts by number.

    Returns
    -------
    str
        Eight digits of a digest of their names, limits and quantities in order.
    """
    told = [(part.ask.__name__, part.limits, part.quantities, part.by_day) for part in PARTS]
    beside = "tests of a calendar"  # asked since archives keep them in outline too
    return hashlib.sha256(repr((told, beside)).encode()).hexdigest()[:8]
