"""By how much a reading can be off without any fault: what the model does not know, and the sensor itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.flow.batch import Scenarios, solve_many
from patency.flow.compiled_network import water_state
from patency.flow.faults.sensing import shown_by
from patency.flow.gaps import doubt_not_known
from patency.flow.network import Water
from patency.flow.uncertainty import Side, Source, changes_within_doubts, solve_changes

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from patency.flow.faults.sensing import SensorPoint
    from patency.flow.solved_load import SolvedLoad
    from patency.flow.stage_solution import StageSolution

    Floats = NDArray[np.float64]

# A tolerance is taken as the half width of a rectangular distribution (JCGM 100:2008, 4.3.7). What counts to its own
# side only may lie anywhere between there and the nominal value, and its twin on the other side likewise: half of that
# variance each.
_OF_A_TOLERANCE = 3.0**-0.5
_OF_ONE_SIDE = 6.0**-0.5


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
    """

    name: str
    shares: Mapping[Source, float]
    temperature: float
    calibration: float
    noise: float


AGAINST_THE_MODEL = Repeatability(
    "against the computed value", dict.fromkeys(Source, 1.0), temperature=1.0, calibration=1.0, noise=0.1
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
    noise=0.1,
)
"""A reading held against many earlier ones of the same load without fault."""


class SensorDoubts(NamedTuple):
    """By how much one standard deviation of each doubt moves what each sensor shows, as the mean over the stages.

    Parameters
    ----------
    sources
        Source of each doubt.
    shifts
        Shape (doubts, sensors): the movement [Pa or m³/s].
    temperature
        Shape (sensors,): the same of the water's temperature [Pa or m³/s].
    deviations
        Shape (sensors,): standard deviation of one reading [Pa or m³/s]; infinite where nobody states it, and for all
        where something is not stated that the water depends on: a doubt nobody states is no small one.
    stages
        How many readings, one for each stage, are averaged.
    """

    sources: tuple[Source, ...]
    shifts: Floats
    temperature: Floats
    deviations: Floats
    stages: int

    def covariance(self, left: Repeatability) -> Floats:
        """Put the doubts of a comparison together.

        Parameters
        ----------
        left
            How much of each doubt is left.

        Returns
        -------
        NDArray
            Shape (sensors, sensors): covariance of the readings' means over the stages.
        """
        moved = self.shifts * np.array([left.shares[source] for source in self.sources])[:, None]
        warm = self.temperature * left.temperature
        own = self.deviations**2 * (left.calibration**2 + left.noise**2 / self.stages)
        return np.asarray(moved.T @ moved + np.outer(warm, warm) + np.diag(own))


def sensor_doubts(solved: SolvedLoad, points: Sequence[SensorPoint], temperature_deviation_k: float) -> SensorDoubts:
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
    SensorDoubts
        What the sensors show of it.

    Raises
    ------
    PhysicsError
        If the pump is driven beyond its run-out within the doubts.
    """
    moved: dict[tuple[Source, str], Floats] = {}
    temperature = np.zeros(len(points))
    for solution in solved.stages.values():
        changes = list(changes_within_doubts(solved.network, solution))
        nominal = _shown_at(points, solution, solution.temperature_c)
        shown = shown_by(points, solution.compiled, solve_changes(solution, changes))
        for change, values in zip(changes, shown, strict=True):
            share = _OF_A_TOLERANCE if change.side is Side.BOTH else _OF_ONE_SIDE
            key = (change.source, change.what)
            moved[key] = moved.get(key, np.zeros(len(points))) + share * (values - nominal)
        temperature += _shown_at(points, solution, solution.temperature_c - temperature_deviation_k) - nominal
    count = len(solved.stages)
    own = [np.inf if point.deviation is None else point.deviation for point in points]
    return SensorDoubts(
        sources=tuple(source for source, _ in moved),
        shifts=np.array(list(moved.values())).reshape(len(moved), len(points)) / count,
        temperature=temperature / count,
        deviations=np.full(len(points), np.inf) if doubt_not_known(solved.network) else np.array(own),
        stages=count,
    )


def _shown_at(points: Sequence[SensorPoint], solution: StageSolution, temperature_c: float) -> Floats:
    """Read the sensors of a stage at another temperature."""
    water = water_state(Water(temperature_c=temperature_c))
    compiled = solution.compiled.with_changes(water=water)
    flows = solve_many(compiled, Scenarios(count=1), start=solution.flow)
    return np.asarray(shown_by(points, compiled, flows)[0])
