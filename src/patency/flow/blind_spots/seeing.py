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
    from patency.flow.detection.baseline import Baseline
    from patency.flow.detection.doubts import Repeatability
    from patency.flow.faults.effects import FaultEffects
    from patency.flow.faults.fault import Fault
    from patency.flow.solved_load import SolvedLoad
    from patency.load import Load

    Floats = NDArray[np.float64]

COMPARISONS = (AGAINST_THE_MODEL, AGAINST_THE_SAME_LOAD)
NO_BASELINE = "no baseline"
"""Held against nothing: no alarm is raised on pressures and flows, and they count as showing nothing."""


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
        What readings are held against for deciding what is blind; `NO_BASELINE` where they are held against nothing.
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
    baseline: Baseline | None = None,
    assumed: Repeatability | None = None,
) -> BlindSpots:
    """Find which faults the fitted sensors cannot see, and the fewest glances that show them.

    An alarm on pressures and flows counts only where a baseline is kept, for without one nobody raises it.

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
    baseline
        Earlier cycles of the same load; None where none are kept.
    assumed
        What to take readings as compared with instead; None for the baseline, or nothing where there is none.

    Returns
    -------
    BlindSpots
        Probabilities in every comparison, and the glances that the one that decides leaves.

    Raises
    ------
    PhysicsError
        If the pump is driven beyond its run-out within the doubts.
    """
    machine, unknown = department.machine_kinds[load.machine_kind], doubt_not_known(solved.network)
    doubts = reading_doubts(solved, effects.sensors, temperature_deviation_k(machine))
    means = stage_means(doubts.columns, [sensor.name for sensor in effects.sensors])
    each = false_alarms_of_each(department, machine, alarm)
    turning = seen_by_rotation(department, machine, effects.faults, each)
    moved = np.asarray((effects.shown - effects.planned_shown[:, None, :]).mean(axis=0))
    probability = {
        one.name: either(detection_probabilities(moved, doubts.covariance(one, means), each), turning)
        for one in COMPARISONS
    }
    if baseline is not None:
        by_water = baseline.probabilities(doubts.columns, *_by_column(effects), each)
        probability[baseline.name] = turning if unknown else either(by_water, turning)
    comparison = assumed.name if assumed else baseline.name if baseline else NO_BASELINE
    seen = probability.get(comparison, turning) >= alarm.least_probability
    blind = tuple(int(place) for place in np.flatnonzero(~seen))
    looked_for = [effects.faults[place] for place in blind]
    offered = eye_checks(department.carriers[load.carrier], looked_for)
    checks, (chosen, least) = list(offered), smallest_cover(list(offered.values()))
    return BlindSpots(
        faults=effects.faults,
        alarm=alarm,
        probability=probability,
        comparison=comparison,
        blind=blind,
        checks=tuple(checks[place] for place in chosen),
        least_checks=least,
        unseen=tuple(blind[place] for place in seen_by_nobody(looked_for)),
        not_known=unknown,
    )


def _by_column(effects: FaultEffects) -> tuple[Floats, Floats]:
    """Put what is shown into the order of `ReadingDoubts`: shapes (columns,) and (faults, columns)."""
    planned = effects.planned_shown.T.ravel()
    shown = effects.shown.transpose(1, 2, 0).reshape(len(effects.faults), planned.size)
    return planned, shown
