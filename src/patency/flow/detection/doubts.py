"""By how much readings can be off without any fault: what the model does not know, and the sensors themselves.

The one covariance of all who ask what sensors can show: the blind spots, the diagnosis, the prediction that travels
with a load. It is that of one reading for each wet stage and sensor; whoever averages the stages averages it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.flow.batch import Scenarios, solve_many
from patency.flow.compiled_network import water_state
from patency.flow.faults.sensing import shown_by
from patency.flow.gaps import doubt_not_known
from patency.flow.network import Water
from patency.flow.tolerances import OF_A_TOLERANCE, OF_ONE_SIDE
from patency.flow.uncertainty import Side, Source, changes_within_doubts, solve_changes

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from numpy.typing import NDArray

    from patency.catalogue import MachineKind
    from patency.flow.faults.sensing import SensorPoint
    from patency.flow.solved_load import SolvedLoad
    from patency.flow.stage_solution import StageSolution

    Floats = NDArray[np.float64]

_TEMPERATURE_DEVIATION_K = 1.0  # where no sensor of temperature states its uncertainty; assumed, no source


@dataclass(frozen=True, slots=True)
class Repeatability:
    """How much of each doubt is left in a comparison.

    Parameters
    ----------
    name
        What is compared with what.
    shares
        For each source the share that is left [-].
    temperature
        The same of the water's temperature [-].
    calibration
        The same of the sensor's own uncertainty, as far as it is the same in every reading [-].
    noise
        Share of the sensor's uncertainty that is new in every reading [-].
    process
        Share of a reading that is new in every stage, because no two stages run alike [-].
    """

    name: str
    shares: Mapping[Source, float]
    temperature: float
    calibration: float
    noise: float
    process: float


# What is new in every reading and every stage: assumed, no source.
_NOISE = 0.1
_PROCESS = 2e-3

AGAINST_THE_MODEL = Repeatability(
    "against the computed value",
    dict.fromkeys(Source, 1.0),
    temperature=1.0,
    calibration=1.0,
    noise=_NOISE,
    process=_PROCESS,
)
"""A reading held against what was computed for this very load."""
# Shares assumed, no source: pieces and carrier of the same kinds, the pump and the sieve as they drift between cycles.
AGAINST_THE_SAME_LOAD = Repeatability(
    "against earlier cycles of the same load",
    {
        Source.SIZE: 0.15,
        Source.LOSS: 0.2,
        Source.ROUGHNESS: 0.15,
        Source.PUMP: 0.25,
        Source.REGIME: 0.15,
        Source.ROD: 0.15,
    },
    temperature=1.0,
    calibration=0.0,
    noise=_NOISE,
    process=_PROCESS,
)
"""A reading held against many earlier ones of the same load without fault, as it may be expected before there are any:
what a baseline of real cycles leaves is measured, not assumed."""


@dataclass(frozen=True, slots=True)
class ReadingDoubts:
    """By how much one standard deviation of each doubt moves each reading.

    Parameters
    ----------
    columns
        Wet stage and sensor of each reading: the stages of the first sensor, then those of the next.
    planned
        Shape (columns,): what is shown as planned [Pa or m³/s].
    sources
        Source of each doubt.
    what
        What is in doubt: told by no other doubt of its source, and the same in every stage.
    shifts
        Shape (doubts, columns): the movement [Pa or m³/s].
    temperature
        Shape (columns,): the same of the water's temperature [Pa or m³/s].
    deviations
        Shape (columns,): standard deviation of the column's sensor [Pa or m³/s]; infinite where nobody states it, and
        for all where something is not stated that the water depends on: a doubt nobody states is no small one.
    """

    columns: tuple[tuple[str, str], ...]
    planned: Floats
    sources: tuple[Source, ...]
    what: tuple[str, ...]
    shifts: Floats
    temperature: Floats
    deviations: Floats

    def covariance(self, left: Repeatability, weights: Floats | None = None) -> Floats:
        """Put the doubts of a comparison together.

        Parameters
        ----------
        left
            How much of each doubt is left.
        weights
            Shape (sums, columns): which weighted sums of readings are asked for, such as `stage_means`; None for the
            readings themselves [-].

        Returns
        -------
        NDArray
            Shape (sums, sums): the covariance; of infinite variance where a sensor of unknown uncertainty counts.
        """
        weights = np.eye(len(self.columns)) if weights is None else weights
        kept = np.array([left.shares[source] for source in self.sources])[:, None]
        moved = (self.shifts * kept) @ weights.T
        warm = weights @ self.temperature * left.temperature
        known = np.isfinite(self.deviations)
        own = np.where(known, self.deviations, 0.0)
        sensors = np.array([sensor for _, sensor in self.columns])
        same = sensors[:, None] == sensors[None, :]
        lasting = np.where(same, np.outer(own, own), 0.0) * left.calibration**2
        fresh = np.diag((own * left.noise) ** 2 + (self.planned * left.process) ** 2)
        found = moved.T @ moved + np.outer(warm, warm) + weights @ (lasting + fresh) @ weights.T
        unknown = (weights[:, ~known] != 0.0).any(axis=1)
        found[unknown, unknown] = np.inf
        return np.asarray(found)

    def of(self, columns: Sequence[tuple[str, str]]) -> ReadingDoubts:
        """Keep some of the readings.

        Parameters
        ----------
        columns
            Stage and sensor of each, in the order asked for.

        Returns
        -------
        ReadingDoubts
            Their doubts.
        """
        kept = [self.columns.index(column) for column in columns]
        return ReadingDoubts(
            tuple(columns),
            self.planned[kept],
            self.sources,
            self.what,
            self.shifts[:, kept],
            self.temperature[kept],
            self.deviations[kept],
        )


def stage_means(columns: Sequence[tuple[str, str]], sensors: Iterable[str]) -> Floats:
    """Weigh readings so that each sensor's mean over its stages comes out: what the alarm is raised on.

    Parameters
    ----------
    columns
        Stage and sensor of each reading.
    sensors
        The sensors.

    Returns
    -------
    NDArray
        Shape (sensors, columns) [-]; nothing for a sensor without a reading.
    """
    rows = np.array([[name == sensor for _, name in columns] for sensor in sensors], dtype=np.float64)
    rows = rows.reshape(-1, len(columns))
    return np.asarray(rows / np.maximum(rows.sum(axis=1, keepdims=True), 1.0))


def reading_doubts(solved: SolvedLoad, points: Sequence[SensorPoint], temperature_deviation_k: float) -> ReadingDoubts:
    """Move every doubt of the model by one standard deviation and read the sensors.

    Parameters
    ----------
    solved
        The load as planned.
    points
        The sensors.
    temperature_deviation_k
        Standard deviation of the water's temperature [K].

    Returns
    -------
    ReadingDoubts
        What the sensors show of it in every wet stage.

    Raises
    ------
    PhysicsError
        If the pump is driven beyond its run-out within the doubts.
    """
    stages, count = list(solved.stages), len(points)
    moved: dict[tuple[Source, str], Floats] = {}
    planned, warm = np.zeros((count, len(stages))), np.zeros((count, len(stages)))
    for place, solution in enumerate(solved.stages.values()):
        changes = list(changes_within_doubts(solved.network, solution))
        planned[:, place] = _shown_at(points, solution, solution.temperature_c)
        shown = shown_by(points, solution.compiled, solve_changes(solution, changes))
        for change, values in zip(changes, shown, strict=True):
            share = OF_A_TOLERANCE if change.side is Side.BOTH else OF_ONE_SIDE
            shift = moved.setdefault((change.source, change.what), np.zeros((count, len(stages))))
            shift[:, place] += share * (values - planned[:, place])
        warm[:, place] = _shown_at(points, solution, solution.temperature_c - temperature_deviation_k)
    own = np.array([np.inf if point.deviation is None else point.deviation for point in points])
    if doubt_not_known(solved.network):
        own = np.full(count, np.inf)
    return ReadingDoubts(
        columns=tuple((stage, point.name) for point in points for stage in stages),
        planned=planned.ravel(),
        sources=tuple(source for source, _ in moved),
        what=tuple(what for _, what in moved),
        shifts=np.array(list(moved.values())).reshape(len(moved), planned.size),
        temperature=(warm - planned).ravel(),
        deviations=np.repeat(own, len(stages)),
    )


def temperature_deviation_k(machine: MachineKind) -> float:
    """Take the standard deviation of the water's temperature from the best sensor of it.

    Parameters
    ----------
    machine
        The kind of machine.

    Returns
    -------
    float
        Half the least expanded uncertainty; 1 K where none is stated.
    """
    stated = [
        sensor.uncertainty
        for sensor in machine.sensors.values()
        if sensor.quantity == "temperature" and sensor.uncertainty is not None
    ]
    return min(stated) / 2.0 if stated else _TEMPERATURE_DEVIATION_K


def _shown_at(points: Sequence[SensorPoint], solution: StageSolution, temperature_c: float) -> Floats:
    """Read the sensors of a stage at another temperature."""
    water = water_state(Water(temperature_c=temperature_c))
    compiled = solution.compiled.with_changes(water=water)
    flows = solve_many(compiled, Scenarios(count=1), start=solution.flow)
    return np.asarray(shown_by(points, compiled, flows)[0])
