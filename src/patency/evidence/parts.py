"""The parts of a verdict in their order, each with what it rests on, so that a change touches no more than it must."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import wraps
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
from patency.evidence.process import arm_criteria, conductivity_criterion, dose_criteria, dosed_rinse_criteria
from patency.evidence.steadiness import steadiness_criteria
from patency.evidence.thermal import a0_criteria, cleaning_criteria, first_contact_criterion, hold_criteria
from patency.evidence.weighing import as_weighed

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from patency.evidence.case import Case
    from patency.evidence.weighing import Weighed

_HEAT = ("temperature",)
_GAP = "longest_gap"


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a verdict.

    Parameters
    ----------
    judge
        What gives its criteria.
    limits
        The limits of the site it rests on, beside programme, stages and prediction.
    quantities
        The quantities of which it looks at readings; none where it rests on what was found or entered.
    by_day
        Whether the day of the decision changes it while every limit stays.
    """

    judge: Callable[[Case], Sequence[Weighed]]
    limits: tuple[str, ...] = ()
    quantities: tuple[str, ...] = ()
    by_day: bool = False


def _alone(judge: Callable[[Case], Weighed]) -> Callable[[Case], Sequence[Weighed]]:
    @wraps(judge)
    def one(case: Case) -> Sequence[Weighed]:
        return (judge(case),)

    return one


def _beforehand(judge: Callable[[Case], Weighed]) -> Callable[[Case], Sequence[Weighed]]:
    """Judge once for all cases that are alike what follows from no sample."""

    @wraps(judge)
    def one(case: Case) -> Sequence[Weighed]:
        return case.once(judge, lambda: (judge(case),))

    return one


def _calibrated(case: Case) -> Weighed:
    return as_weighed(calibration_criterion(case.record, case.limits.calibration_interval, case.on))


PARTS = (
    Part(_beforehand(programme_criterion)),
    Part(_beforehand(machine_criterion)),
    Part(_beforehand(sensors_criterion)),
    Part(_alone(stages_criterion)),
    Part(_beforehand(_calibrated), ("calibration_interval",), by_day=True),
    Part(_alone(completeness_criterion), (_GAP,), ("temperature", "pressure")),
    Part(_alone(first_contact_criterion), ("first_rinse_highest",), _HEAT),
    Part(cleaning_criteria, ("cleaning_temperature_tolerance", _GAP), _HEAT),
    Part(dose_criteria, ("dose_tolerance",), ("dosed volume",)),
    Part(a0_criteria, ("a0_target", _GAP), _HEAT),
    Part(hold_criteria, ("disinfection_band", _GAP), _HEAT),
    Part(_alone(conductivity_criterion), ("final_rinse_conductivity", "last_water_share"), ("conductivity",)),
    Part(carry_over_criteria, ("rinse_carry_over", "last_water_share", "final_rinse_conductivity"), ("conductivity",)),
    Part(heating_criteria, ("fastest_heating",), _HEAT),
    Part(slow_heating_criteria, ("slowest_heating",), _HEAT),
    Part(rinse_temperature_criteria, ("rinse_temperature_tolerance", "last_water_share"), _HEAT),
    Part(dosed_rinse_criteria, ("last_water_share",), ("conductivity",)),
    Part(drying_criteria, ("drying_temperature_tolerance", _GAP), _HEAT),
    Part(
        arm_criteria,
        ("arm_rotation_least", "arm_rotation_highest", "arm_readings_aside", "unsteady_share"),
        ("rotation",),
    ),
    Part(arm_speed_criteria, ("arm_speed_tolerance", "unsteady_share"), ("rotation",)),
    Part(pressure_criteria, ("unsteady_share",), ("pressure",)),
    Part(_alone(alarm_criterion), ("false_alarms", "false_rejects", "unsteady_share"), ("pressure", "flow")),
    Part(
        steadiness_criteria,
        ("pressure_swing", "final_rinse_conductivity"),
        ("pressure", "temperature", "conductivity"),
    ),
    Part(circulation_time_criteria, ("running_share", _GAP), ("pressure", "rotation")),
    Part(_beforehand(eye_check_criterion)),
)


def parts_digest() -> str:
    """Tell these parts from those of another edition, as archives keep the places of parts by number.

    Returns
    -------
    str
        Eight digits of a digest of their names, limits and quantities in order.
    """
    told = [(part.judge.__name__, part.limits, part.quantities, part.by_day) for part in PARTS]
    beside = "tests of a calendar"  # asked since archives keep them in outline too
    return hashlib.sha256(repr((told, beside)).encode()).hexdigest()[:8]
