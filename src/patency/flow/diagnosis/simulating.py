"""Plays cycles whose truth is known, and asks how often what is said with some probability is so.

The truth is drawn from the same assumptions, but the water is solved anew for each cycle with all its doubts moved at
once, causes in degrees take values between the steps of the diagnosis, and two causes are solved together. So what the
diagnosis leaves out (first order, one covariance, steps, shares that multiply) shows here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.flow.detection.doubts import AGAINST_THE_MODEL
from patency.flow.diagnosis.grouping import Grouping
from patency.flow.diagnosis.signatures import CauseModel, change_in, signatures_of
from patency.flow.diagnosis.weighing import Weighing
from patency.flow.uncertainty import Source

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.catalogue import Department
    from patency.flow.diagnosis.causes import Cause
    from patency.flow.diagnosis.rates import Rates
    from patency.load import Load

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

_MOST_CAUSES = 2
_FINE_STEPS = 101


class PlayedCycles(NamedTuple):
    """Cycles whose truth is known.

    Parameters
    ----------
    causes
        What was wrong in each: none, one or two causes.
    shown
        Shape (cycles, columns): what the sensors showed [Pa or m³/s].
    without_doubt
        Shape (cycles, columns): what they would show if neither model nor sensors were off.
    standing
        Shape (cycles, arms): whether the sensor of each arm told that it stood.
    """

    causes: tuple[tuple[Cause, ...], ...]
    shown: Floats
    without_doubt: Floats
    standing: Bools


class DiagnosisScore(NamedTuple):
    """What was said of played cycles, and what was so. Rows are explanations of all cycles, one after the other.

    Parameters
    ----------
    said
        Shape (explanations,): the probability given [-].
    was_so
        Shape (explanations,): whether the truth belonged to it.
    rank
        Shape (cycles,): place of the truth among a cycle's explanations, 0 for the first.
    showed
        Shape (cycles,): whether the truth belonged to another group than as planned.
    """

    said: Floats
    was_so: Bools
    rank: NDArray[np.int64]
    showed: Bools


def calibration(
    department: Department, load: Load, rates: Rates, cycles: int, rng: np.random.Generator
) -> DiagnosisScore:
    """Play cycles of a load, diagnose them and hold what is said against the truth.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    rates
        How often things go wrong, to the player and to the diagnosis.
    cycles
        How many cycles; at usual rates most of them run as planned.
    rng
        Source of chance.

    Returns
    -------
    DiagnosisScore
        What was said and what was so.

    Raises
    ------
    InputError
        If the site leaves out a default of the flow calculation, the load names what the department does not have, or
        the rate of a kind of fault is left out.
    """
    sensors = department.machine_kinds[load.machine_kind].sensors.values()
    arms = tuple(dict.fromkeys(sensor.place for sensor in sensors if sensor.quantity == "rotation"))
    model = CauseModel(department, load, rates)
    read = [(stage, sensor.name) for stage in model.stages for sensor in model.sensors]
    signatures = signatures_of(model, read)
    weighing = Weighing(signatures, arms, rates.arm_misread)
    truth = CauseModel(department, load, rates, _FINE_STEPS)
    return score_cycles(weighing, play_cycles(truth, signatures.columns, arms, cycles, rng))


def play_cycles(
    model: CauseModel, read: Sequence[tuple[str, str]], arms: Sequence[str], count: int, rng: np.random.Generator
) -> PlayedCycles:
    """Play cycles.

    Parameters
    ----------
    model
        The load's model, with finer steps than the diagnosis has.
    read
        Stage and sensor of each reading.
    arms
        The arms that have a sensor.
    count
        How many cycles; those beyond what the pump's curve knows are left out.
    rng
        Source of chance.

    Returns
    -------
    PlayedCycles
        The cycles.
    """
    drawn = [_draw(model, rng) for _ in range(count)]
    scores = rng.standard_normal((count, model.doubts.count))
    shown, exact = _solve(model, read, drawn, scores), _solve(model, read, drawn, np.zeros_like(scores))
    shown += readings_off(model, read, exact, rng)
    true = np.array([[any(cause.arm == arm for cause in causes) for arm in arms] for causes in drawn], dtype=bool)
    misread = rng.random((count, len(arms))) < model.rates.arm_misread
    standing = np.logical_xor(true.reshape(misread.shape), misread)
    solved = np.asarray(np.isfinite(shown + exact).all(axis=1), dtype=np.bool_)
    kept = tuple(causes for causes, one in zip(drawn, solved, strict=True) if one)
    return PlayedCycles(kept, shown[solved], exact[solved], standing[solved])


def readings_off(model: CauseModel, read: Sequence[tuple[str, str]], exact: Floats, rng: np.random.Generator) -> Floats:
    """Draw what else moves readings: the sensors, what is new in each, and the doubts that the scores leave out.

    Parameters
    ----------
    model
        The load's model.
    read
        Stage and sensor of each reading.
    exact
        Shape (cycles, columns): what the sensors would show otherwise [Pa or m³/s].
    rng
        Source of chance.

    Returns
    -------
    NDArray
        Shape (cycles, columns): what comes on top [Pa or m³/s].
    """
    doubts, count = model.reading_doubts.of(read), exact.shape[0]
    left = np.array([source in {Source.REGIME, Source.ROD} for source in doubts.sources], dtype=bool)
    slopes = np.vstack((doubts.shifts[left], doubts.temperature))
    off = rng.standard_normal((count, slopes.shape[0])) @ slopes
    sensors = list(dict.fromkeys(sensor for _, sensor in read))
    of_sensor = [sensors.index(sensor) for _, sensor in read]
    off += rng.standard_normal((count, len(sensors)))[:, of_sensor] * doubts.deviations * AGAINST_THE_MODEL.calibration
    off += rng.standard_normal(exact.shape) * doubts.deviations * AGAINST_THE_MODEL.noise
    return np.asarray(off + rng.standard_normal(exact.shape) * AGAINST_THE_MODEL.process * np.abs(exact))


def _draw(model: CauseModel, rng: np.random.Generator) -> tuple[Cause, ...]:
    """Let each cause happen by its own chance; more than two at once are drawn anew."""
    rate = np.array([cause.probability for cause in model.causes])
    while True:
        happened = np.flatnonzero(rng.random(rate.size - 1) < rate[1:]) + 1
        names = {model.causes[place].name for place in happened}
        if len(happened) <= _MOST_CAUSES and len(names) == len(happened):
            return tuple(model.causes[place] for place in happened)


def _solve(
    model: CauseModel, read: Sequence[tuple[str, str]], drawn: Sequence[tuple[Cause, ...]], scores: Floats
) -> Floats:
    """Shape (cycles, columns): what sensors show, their own offsets by what was drawn included."""
    nothing = model.causes[0]
    by_stage = {}
    for stage in dict.fromkeys(stage for stage, _ in read):
        pairs = [(*causes, nothing, nothing)[:_MOST_CAUSES] for causes in drawn]
        table = model.network.table([change_in(one, stage) + change_in(other, stage) for one, other in pairs])
        by_stage[stage] = model.solved(stage, table, scores)
    place = {sensor.name: k for k, sensor in enumerate(model.sensors)}
    water = np.array([by_stage[stage][:, place[sensor]] for stage, sensor in read]).T
    offsets = [
        [sum(cause.offset for cause in causes if cause.sensor == sensor) for _, sensor in read] for causes in drawn
    ]
    return np.asarray(water + np.array(offsets))


def score_cycles(weighing: Weighing, played: PlayedCycles) -> DiagnosisScore:
    """Diagnose played cycles and hold what is said against the truth.

    Parameters
    ----------
    weighing
        The hypotheses, with the columns and arms the cycles were played with.
    played
        The cycles.

    Returns
    -------
    DiagnosisScore
        What was said and what was so.
    """
    number = {name: k for k, name in enumerate(weighing.names)}
    said, was_so, rank, showed = [], [], [], []
    cycles = zip(played.causes, played.shown, played.without_doubt, played.standing, strict=True)
    for causes, shown, exact, standing in cycles:
        posterior = weighing.posterior(weighing.whitened(shown), standing)
        grouping = Grouping(weighing, posterior)
        keys, sums = grouping.sums(posterior)
        one, other = (*(number[cause.name] for cause in causes), 0, 0)[:_MOST_CAUSES]
        stands = np.array([any(cause.arm == arm for cause in causes) for arm in weighing.arms], dtype=bool)
        true = grouping.key_of_pair((one, other), weighing.whitened(exact), stands)
        hit = (keys == true).all(axis=1)
        said.append(sums)
        was_so.append(hit)
        rank.append(int(hit.argmax()) if hit.any() else hit.size)
        showed.append(true != (0, -1))
    return DiagnosisScore(np.concatenate(said), np.concatenate(was_so), np.array(rank), np.array(showed))
