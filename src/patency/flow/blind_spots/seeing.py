"""Which faults of a load the fitted sensors can see, and the fewest glances that show the others."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.flow.blind_spots.cover import smallest_cover
from patency.flow.blind_spots.eye_checks import eye_checks, seen_by_nobody
from patency.flow.detection.alarm import detection_probabilities, either
from patency.flow.detection.doubts import (
    AGAINST_THE_MODEL,
    AGAINST_THE_SAME_LOAD,
    reading_doubts,
    stage_means,
    temperature_deviation_k,
)
from patency.flow.detection.rotation import false_alarms_of_each, seen_by_rotation
from patency.flow.gaps import doubt_not_known

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from patency.catalogue import Department
    from patency.flow.blind_spots.eye_checks import EyeCheck
    from patency.flow.detection.alarm import Alarm
    from patency.flow.detection.doubts import Repeatability
    from patency.flow.faults.effects import FaultEffects
    from patency.flow.faults.fault import Fault
    from patency.flow.solved_load import SolvedLoad
    from patency.load import Load

    Floats = NDArray[np.float64]

COMPARISONS = (AGAINST_THE_MODEL, AGAINST_THE_SAME_LOAD)


@dataclass(frozen=True, slots=True)
class BlindSpots:
    """What the sensors see of the faults of a load, and what people look at.

    Parameters
    ----------
    faults
        The faults of the load.
    alarm
        What counts as seen.
    probability
        For each comparison the probability of an alarm, shape (faults,) [-].
    comparison
        The comparison that decides what is blind.
    blind
        Places of the faults that the sensors do not see in it.
    checks
        The fewest glances that show all of these, in the order of the walk, when loading first.
    least_checks
        No choice has fewer glances; equal to the number of checks where that is proven.
    unseen
        Places of the blind faults that no glance shows either.
    not_known
        What is not stated, so that pressures and flows count as showing nothing, in words; empty where nothing is.
    """

    faults: tuple[Fault, ...]
    alarm: Alarm
    probability: Mapping[str, Floats]
    comparison: str
    blind: tuple[int, ...]
    checks: tuple[EyeCheck, ...]
    least_checks: int
    unseen: tuple[int, ...]
    not_known: str = ""


def blind_spots_of_load(
    department: Department,
    load: Load,
    solved: SolvedLoad,
    effects: FaultEffects,
    alarm: Alarm,
    comparison: Repeatability = AGAINST_THE_MODEL,
) -> BlindSpots:
    """Find which faults the fitted sensors cannot see, and the fewest glances that show them.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    solved
        The load as planned.
    effects
        What its faults do.
    alarm
        What counts as seen.
    comparison
        What readings are compared with.

    Returns
    -------
    BlindSpots
        Probabilities in both comparisons, and the glances that the one asked for leaves.

    Raises
    ------
    PhysicsError
        If the pump is driven beyond its run-out within the doubts.
    """
    machine = department.machine_kinds[load.machine_kind]
    doubts = reading_doubts(solved, effects.sensors, temperature_deviation_k(machine))
    means = stage_means(doubts.columns, [sensor.name for sensor in effects.sensors])
    each = false_alarms_of_each(department, machine, alarm)
    turning = seen_by_rotation(department, machine, effects.faults, each)
    moved = np.asarray((effects.shown - effects.planned_shown[:, None, :]).mean(axis=0))
    probability = {}
    for one in COMPARISONS:
        by_water = detection_probabilities(moved, doubts.covariance(one, means), each)
        probability[one.name] = either(by_water, turning)
    seen = probability[comparison.name] >= alarm.least_probability
    blind = tuple(int(place) for place in np.flatnonzero(~seen))
    looked_for = [effects.faults[place] for place in blind]
    offered = eye_checks(department.carriers[load.carrier], looked_for)
    chosen, least = smallest_cover(list(offered.values()))
    checks = list(offered)
    return BlindSpots(
        faults=effects.faults,
        alarm=alarm,
        probability=probability,
        comparison=comparison.name,
        blind=blind,
        checks=tuple(checks[place] for place in chosen),
        least_checks=least,
        unseen=tuple(blind[place] for place in seen_by_nobody(looked_for)),
        not_known=doubt_not_known(solved.network),
    )
