"""All alarms together go off without fault no more often than asked."""

from __future__ import annotations

import numpy as np
import pytest

from patency.flow import Alarm, Fault, FaultKind
from patency.flow.detection.alarm import detection_probabilities
from patency.flow.detection.rotation import false_alarms_of_each, seen_by_rotation
from tests.small_site import SMALL_SITE, changed, small_department

SENSOR = "      arm: {quantity: rotation, place: upper, unit: rpm, uncertainty: 1}\n"


@pytest.mark.parametrize("arms", [(), ("upper",), ("upper", "lower")])
def test_all_alarms_together_go_off_without_fault_no_more_often_than_asked(arms: tuple[str, ...]) -> None:
    # At a least speed of next to nothing an arm that stands shows what one at its least does: no fault.
    sensors = "".join(SENSOR.replace("arm:", f"arm of {arm}:").replace("upper,", f"{arm},") for arm in arms)
    site = changed(SMALL_SITE, "arm_rotation_least: {value: 20 rpm", "arm_rotation_least: {value: 0.000001 rpm")
    department = small_department(changed(site, SENSOR, sensors))
    machine = department.machine_kinds["front_loader"]
    each = false_alarms_of_each(department, machine, Alarm(false_alarms=0.01))
    turning = seen_by_rotation(department, machine, [Fault(FaultKind.ARM_STUCK, arm) for arm in arms], each)
    water = detection_probabilities(np.zeros((1, 1)), np.eye(1), each)
    together = 1.0 - float(np.prod(1.0 - np.concatenate((water, turning))))
    assert 0.0099 < together < 0.01 + 1e-9


def test_a_sensor_of_rotation_that_can_raise_no_alarm_takes_none_of_the_false_alarms() -> None:
    alarm = Alarm(false_alarms=0.01)
    shares = []
    for said, unsaid in (
        (SENSOR, SENSOR.replace("uncertainty: 1", "uncertainty: null")),
        ("    arm_rotation_least: {value: 20 rpm, source: common practice}\n", ""),
        (SENSOR, SENSOR),
    ):
        department = small_department(changed(SMALL_SITE, said, unsaid))
        shares.append(false_alarms_of_each(department, department.machine_kinds["front_loader"], alarm))
    assert shares == [0.01, 0.01, 0.005]
