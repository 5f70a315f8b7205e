"""Ranks what a cycle's readings can have been. It never tells that all lumens were fed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from patency.errors import InputError
from patency.flow.detection.alarm import Alarm, detection_probabilities, either, squared_distances
from patency.flow.detection.chance import chance_above
from patency.flow.detection.doubts import AGAINST_THE_MODEL, stage_means
from patency.flow.diagnosis.causes import AS_PLANNED
from patency.flow.diagnosis.grouping import Grouping
from patency.flow.diagnosis.rates import Rates
from patency.flow.diagnosis.signatures import CauseModel, Signatures, signatures_of
from patency.flow.diagnosis.weighing import Weighing
from patency.flow.numerics import estimated_chance_above

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.catalogue import Department
    from patency.flow.detection.baseline import Baseline
    from patency.flow.diagnosis.observed import Observation
    from patency.load import Load

    Floats = NDArray[np.float64]

NEVER_SHOWN = (
    "No reading of these sensors shows that every lumen was fed: "
    "look at every hose and sleeve when loading and when unloading."
)
_NEVER = 0.1
_LEAST_TOLD = 1e-3
_MISFIT = 1e-3


class Visibility(StrEnum):
    """What the sensors that were read can show of a single cause."""

    SEEN = "is seen"
    AT_TIMES = "is seen at times"
    UNSEEN = "cannot be seen with these sensors"


@dataclass(frozen=True, slots=True)
class Detectability:
    """How well the sensors that were read show one cause.

    Parameters
    ----------
    cause
        The cause.
    distance
        How far it moves the readings' means over the stages, in standard deviations of all that they are uncertain by;
        of what comes in degrees its slightest [-].
    power
        Probability that the alarm goes off, the same as in the load's blind spots; of what comes in degrees at its
        slightest [-].
    power_at_most
        The same of what comes in degrees at its worst [-].
    visibility
        The same in words.
    """

    cause: str
    distance: float
    power: float
    power_at_most: float
    visibility: Visibility


@dataclass(frozen=True, slots=True)
class Explanation:
    """What the readings can have been: one of some causes that cannot be told apart, or one each of two such groups.

    Parameters
    ----------
    causes
        The causes; one of them, alone or together with others that do not show.
    and_also
        The causes of which a second one happened; empty where one alone explains it.
    probability
        Given what was observed and what was assumed before [-].
    """

    causes: tuple[str, ...]
    and_also: tuple[str, ...]
    probability: float

    @property
    def holds_as_planned(self) -> bool:
        """Whether as planned is among what cannot be told apart here."""
        return AS_PLANNED in self.causes


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """What a cycle's readings can have been. It holds no answer to whether all lumens were fed, for there is none.

    Parameters
    ----------
    load_id
        The load.
    readings
        How many readings of pressure and flow were used.
    explanations
        The most probable first, down to one in a thousand.
    others
        Probability of all that is not listed [-].
    fits
        Whether anything that was thought of explains the readings; where not, the probabilities mean little.
    detectability
        Of every single cause, in the order of the walk along the ports, then of the machine.
    not_computed
        What could not be computed and why, one sentence each.
    assumed
        Where the probabilities before the observation come from.
    false_alarms
        Share of cycles as planned in which the sensors raise an alarm, all of them together [-].
    compared
        What the readings are held against.
    never_shown
        What none of this shows.
    """

    load_id: str
    readings: int
    explanations: tuple[Explanation, ...]
    others: float
    fits: bool
    detectability: tuple[Detectability, ...]
    not_computed: tuple[str, ...]
    assumed: str
    false_alarms: float
    compared: str
    never_shown: str = NEVER_SHOWN


def diagnose(
    department: Department,
    load: Load,
    observed: Observation,
    rates: Rates | None = None,
    alarm: Alarm = Alarm(),  # noqa: B008 - a frozen value
    baseline: Baseline | None = None,
) -> Diagnosis:
    """Rank what a cycle's readings can have been.

    Parameters
    ----------
    department
        The department.
    load
        The load as planned.
    observed
        What was observed.
    rates
        What is assumed before anything is observed; the shipped assumptions where left out.
    alarm
        What counts as seen.
    baseline
        Earlier cycles of the same load; None to hold readings against what is computed.

    Returns
    -------
    Diagnosis
        Explanations with probabilities, and what can be seen at all.

    Raises
    ------
    InputError
        If nothing was read that could be used, the baseline has not all that was read or too few cycles, the site
        leaves out a default of the flow calculation, the load names something the department does not have, or the
        rate of a kind of fault is left out.
    PhysicsError
        If the load as planned draws more from the pump than its curve knows.
    """
    rates = rates or Rates()
    model = CauseModel(department, load, rates)
    return diagnosis_of(model, load.id, observed, alarm, baseline)


def diagnosis_of(
    model: CauseModel,
    load_id: str,
    observed: Observation,
    alarm: Alarm = Alarm(),  # noqa: B008 - a frozen value
    baseline: Baseline | None = None,
) -> Diagnosis:
    """Rank what readings can have been, with a load's model at hand.

    Parameters
    ----------
    model
        The load's model.
    load_id
        The load.
    observed
        What was observed.
    alarm
        What counts as seen.
    baseline
        Earlier cycles of the same load; None to hold readings against what is computed.

    Returns
    -------
    Diagnosis
        The diagnosis.

    Raises
    ------
    InputError
        If nothing was read that could be used.
    """
    known = {(stage, sensor.name) for stage in model.stages for sensor in model.sensors}
    readings = {
        (reading.stage, reading.sensor): reading.value
        for reading in observed.readings
        if (reading.stage, reading.sensor) in known
    }
    expected = "a reading of a sensor of pressure or flow with stated uncertainty in a wet stage"
    if not readings:
        raise InputError(f"load {load_id}", "nothing was read that could be weighed", expected)
    if baseline is not None:
        _refuse_unfit(baseline, list(readings))
    signatures = signatures_of(model, list(readings), baseline)
    if not signatures.columns:
        what = "nothing was read that could be weighed: every sensor that was read shows nothing as planned"
        raise InputError(f"load {load_id}", what, expected)
    weighing = Weighing(signatures, tuple(observed.arms_standing), model.rates.arm_misread)
    point = weighing.whitened(np.array([readings[column] for column in signatures.columns]))
    standing = np.array(list(observed.arms_standing.values()), dtype=bool)
    posterior = weighing.posterior(point, standing)
    explanations = explanations_of(weighing, Grouping(weighing, posterior), posterior)
    told = tuple(one for one in explanations if one.probability >= _LEAST_TOLD)
    nearest = float(((weighing.hypotheses.points - point) ** 2).sum(axis=1).min())
    return Diagnosis(
        load_id=load_id,
        readings=len(signatures.columns),
        explanations=told,
        others=max(0.0, 1.0 - sum(one.probability for one in told)),
        fits=_chance_of_misfit(signatures, nearest) > _MISFIT,
        detectability=tuple(_detectabilities(model, weighing, alarm, baseline)),
        not_computed=signatures.not_computed,
        assumed=model.rates.source,
        false_alarms=alarm.false_alarms,
        compared=AGAINST_THE_MODEL.name if baseline is None else baseline.name,
    )


def _refuse_unfit(baseline: Baseline, read: list[tuple[str, str]]) -> None:
    """Refuse a baseline that cannot be held against what was read, reading by reading."""
    more = [f"{sensor} in {stage}" for stage, sensor in read if (stage, sensor) not in baseline.columns]
    if more:
        raise InputError("baseline", f"it has no reading of {', '.join(more)}", "one of records with the same columns")
    why = baseline.why_not(baseline.picking(read))
    if why:
        raise InputError("baseline", why, "more cycles, or none: then readings are held against the computed values")


def _chance_of_misfit(signatures: Signatures, square: float) -> float:
    """Say how likely chance alone takes readings so far from what the best explanation shows."""
    size = len(signatures.columns)
    if math.isinf(signatures.freedom):
        return chance_above(square, size)
    return estimated_chance_above(square / size, size, signatures.freedom)


def explanations_of(weighing: Weighing, grouping: Grouping, posterior: Floats) -> list[Explanation]:
    """Sum the probabilities of what cannot be told apart.

    Parameters
    ----------
    weighing
        The hypotheses.
    grouping
        Their groups.
    posterior
        Shape (hypotheses,): their probabilities.

    Returns
    -------
    list[Explanation]
        All, the most probable first.
    """
    found = []
    for key, probability in zip(*grouping.sums(posterior), strict=True):
        groups = [tuple(weighing.names[name] for name in grouping.members[group]) for group in key if group >= 0]
        found.append(Explanation(groups[0], groups[1] if len(groups) > 1 else (), float(probability)))
    return found


def _detectabilities(
    model: CauseModel, weighing: Weighing, alarm: Alarm, baseline: Baseline | None
) -> list[Detectability]:
    """Say of every named cause how likely the alarm goes off, or the sensor of the arm that no longer turns."""
    signatures, causes = weighing.signatures, weighing.signatures.causes
    false_alarms, turning = model.arms_shown(alarm)
    means = stage_means(signatures.columns, dict.fromkeys(sensor for _, sensor in signatures.columns))
    nothing = np.zeros(len(causes), dtype=np.int64)
    moved = (signatures.shown(np.arange(len(causes)), nothing) - signatures.planned) @ means.T
    covariance, freedom = means @ signatures.covariance @ means.T, math.inf
    if baseline is not None:
        expected = baseline.expected(means @ baseline.picking(signatures.columns))
        covariance, freedom = expected.covariance, expected.freedom
    by_arm = np.array([turning.get(cause.arm, 0.0) if cause.arm in weighing.arms else 0.0 for cause in causes])
    powers = either(detection_probabilities(moved, covariance, false_alarms, freedom=freedom), by_arm)
    distances = np.sqrt(squared_distances(moved, covariance))
    steps: dict[str, list[int]] = {}
    for row, cause in enumerate(causes):
        if cause.name != AS_PLANNED:
            steps.setdefault(cause.name, []).append(row)
    found = []
    for name, rows in steps.items():
        power, at_most = float(powers[rows].min()), float(powers[rows].max())
        visibility = _visibility(power, at_most, alarm.least_probability)
        found.append(Detectability(name, float(distances[rows].min()), power, at_most, visibility))
    return found


def _visibility(power: float, power_at_most: float, least: float) -> Visibility:
    if power >= least:
        return Visibility.SEEN
    return Visibility.UNSEEN if power_at_most < _NEVER else Visibility.AT_TIMES
