"""How far every lumen is from what it is held against, in every fault: what ``fed`` judges, for thousands at once."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from patency.flow.faults.reading import LumenReadings
from patency.flow.needs import NOT_KNOWN_OVER_A_NOZZLE, Measure, criteria_for
from patency.flow.network import STANDARD_GRAVITY_M_S2, PumpPoints
from patency.flow.stage_solution import solve_stage
from patency.flow.uncertainty import bounds
from patency.load import pieces_of_set

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from numpy.typing import NDArray

    from patency.catalogue import Department
    from patency.flow.lumen_paths import LumenKey
    from patency.flow.readings import Readings
    from patency.flow.solved_load import SolvedLoad
    from patency.load import Load

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]
    Limits = Mapping[Measure, Floats]

# Which limits each number is held against; one that is held against none needs no interval.
_HELD = {
    "flow_m3_s": {Measure.FLOW, Measure.EXCHANGES},
    "velocity_m_s": {Measure.VELOCITY},
    "shear_pa": {Measure.SHEAR},
    "pressure_pa": {Measure.PRESSURE, Measure.HIGHEST_PRESSURE},
}
_SPEEDS = (1.02, 1.0, 0.96, 0.92, 0.87, 0.81, 0.74, 0.66)  # below the last its shares are kept


def limits_of_lumens(department: Department, load: Load, keys: Sequence[LumenKey], day: date) -> dict[Measure, Floats]:
    """Collect what each lumen is held against.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    keys
        The lumens.
    day
        Day of the decision.

    Returns
    -------
    dict[Measure, NDArray]
        Shape (lumens,) each: the limit; not-a-number where a lumen has none that holds on the day.
    """
    pieces = {(piece.set, piece.key): piece for name in load.sets for piece in pieces_of_set(department, name)}
    limits = {measure: np.full(len(keys), np.nan) for measure in Measure}
    for place, (set_name, piece, lumen) in enumerate(keys):
        for criterion in criteria_for(department, load, pieces[set_name, piece], lumen, day):
            if criterion.limit.holds_on(day):
                limits[criterion.measure][place] = criterion.limit.value
    return limits


class MarginScale:
    """What stands between the nominal numbers of a fault and the margins of its lumens.

    How far the ends of an interval lie from its nominal number depends on how fast the water runs: near Reynolds 2000
    to 4000 it may turn laminar or turbulent, and the lower end of its shear leaps. So the intervals are worked out at
    several speeds of the pump. Each lumen takes what lies between those at which the same of its segments are unsure,
    at the flow that the fault leaves it.

    Parameters
    ----------
    solved
        The load as planned.
    limits
        What each lumen is held against.
    """

    def __init__(self, solved: SolvedLoad, limits: Limits) -> None:
        paths = list(solved.network.lumens.values())
        jet = np.array([path.jet is not None for path in paths])
        self._limits = {
            measure: np.where(jet & (measure in NOT_KNOWN_OVER_A_NOZZLE), np.nan, values)
            for measure, values in limits.items()
        }
        self._ends: dict[str, _Ends] = {}
        alike: dict[tuple[float, float], _Ends] = {}
        for name, stage in solved.stages.items():
            key = (stage.temperature_c, stage.compiled.pump.relative_speed)
            alike[key] = alike[key] if key in alike else _Ends(solved, name)
            self._ends[name] = alike[key]
        self._per_min = np.array([60.0 / path.volume_m3 for path in paths])
        climbs = [0.0 if path.jet is None else path.jet.climb_m for path in paths]
        self._climb_m = np.array([climb if climb > 0.0 else np.nan for climb in climbs])
        asked = {measure for measure, values in self._limits.items() if np.isfinite(values).any()}
        self._held = [field for field, measures in _HELD.items() if asked & measures]
        if np.isfinite(self._climb_m).any() and "velocity_m_s" not in self._held:
            self._held.append("velocity_m_s")

    def margins(self, readings: Mapping[str, LumenReadings]) -> Floats:
        """Say how far each lumen is from falling short, in the stage that is worst for it.

        Parameters
        ----------
        readings
            Stage to the numbers of every fault.

        Returns
        -------
        NDArray
            Shape (faults, lumens): the deciding end over its limit, of the highest pressure the limit over it, of a
            jet its rise over what it has to climb; the least of them that is known [-]. Below 1 the lumen falls
            short, 0 is dry, not-a-number is not judged. What leaves a lumen open however much it reaches,
            ``left_open_of_lumens`` says.
        """
        ends = [self._ends[name].ends(one, self._held) for name, one in readings.items()]
        lowest = LumenReadings(*(np.minimum.reduce(values) for values in zip(*(low for low, _ in ends), strict=True)))
        limits = self._limits
        ratios = [
            lowest.flow_m3_s / limits[Measure.FLOW],
            lowest.flow_m3_s * self._per_min / limits[Measure.EXCHANGES],
            lowest.velocity_m_s / limits[Measure.VELOCITY],
            lowest.shear_pa / limits[Measure.SHEAR],
            lowest.pressure_pa / limits[Measure.PRESSURE],
            lowest.velocity_m_s**2 / (2.0 * STANDARD_GRAVITY_M_S2) / self._climb_m,
        ]
        with np.errstate(divide="ignore"):
            ratios.append(limits[Measure.HIGHEST_PRESSURE] / np.maximum.reduce([high for _, high in ends]))
        nominal = np.minimum.reduce([one.flow_m3_s for one in readings.values()])
        runs = nominal > 0.0  # not-a-number, beyond the pump's run-out, does not
        return np.where(runs, np.fmin.reduce(ratios), 0.0)


class _Ends:
    """Ends of one stage's intervals over their nominal numbers, at several speeds of the pump."""

    def __init__(self, solved: SolvedLoad, name: str) -> None:
        planned = solved.stages[name]

        def at_speed(speed: float) -> tuple[Readings, Integers, tuple[Readings, Readings]]:
            pump = replace(planned.compiled.pump, relative_speed=planned.compiled.pump.relative_speed * speed)
            assert isinstance(pump, PumpPoints)  # noqa: S101 - the network of a load has no other
            solution = solve_stage(solved.network, solved.nominal, pump, planned.temperature_c)
            read = solved.gauge.read(solution.compiled, solution.flow)
            ends = bounds(solved.network, solution, solved.gauge)
            return read, solved.gauge.unsure(solution.equivalent_reynolds), ends

        with ThreadPoolExecutor() as pool:
            found = list(pool.map(at_speed, _SPEEDS))
        nominal, unsure, ends = (list(each) for each in zip(*found, strict=True))
        low, high = [end for end, _ in ends], [end for _, end in ends]
        self._flow = np.array([one.flow_m3_s for one in nominal])
        self._unsure = np.array(unsure)
        self._low = {field: _shares(low, nominal, field) for field in _HELD}
        self._high = _shares(high, nominal, "pressure_pa")

    def ends(self, readings: LumenReadings, fields: Sequence[str]) -> tuple[LumenReadings, Floats]:
        """Work out the lower ends of some of what was read, and the upper end of the pressure at the connection."""
        below, above, weight = self._between(readings)

        def share(shares: Floats) -> Floats:
            lumens = np.arange(shares.shape[1])
            return np.asarray((1.0 - weight) * shares[below, lumens] + weight * shares[above, lumens])

        lower: dict[str, Any] = {
            field: np.maximum(getattr(readings, field) * share(self._low[field]), 0.0) for field in fields
        }
        highest = readings.pressure_pa * share(self._high) if "pressure_pa" in fields else readings.pressure_pa
        return readings._replace(**lower), highest

    def _between(self, readings: LumenReadings) -> tuple[Integers, Integers, Floats]:
        """Find between which speeds each lumen has its flow, of those at which the same of its segments are unsure."""
        flow = readings.flow_m3_s
        same = self._unsure[:, None, :] == readings.unsure
        counts = same | ~same.any(axis=0)
        below = np.full(flow.shape, -1)
        above = np.full(flow.shape, -1)
        for speed, at_speed in enumerate(self._flow):  # from the fastest on
            above = np.where(counts[speed] & (at_speed >= flow), speed, above)
            below = np.where(counts[speed] & (at_speed <= flow) & (below < 0), speed, below)
        above, below = np.where(above < 0, below, above), np.where(below < 0, above, below)
        lumens = np.arange(flow.shape[1])
        lower, upper = self._flow[below, lumens], self._flow[above, lumens]
        apart = upper > lower
        weight = np.divide(flow - lower, upper - lower, out=np.zeros(flow.shape), where=apart)
        return below, above, weight


def _shares(ends: Sequence[Readings], nominal: Sequence[Readings], field: str) -> Floats:
    """Write ends as shares of nominal numbers; 1 where there is nothing to share."""
    end, middle = (np.array([getattr(one, field) for one in each]) for each in (ends, nominal))
    return np.asarray(np.divide(end, middle, out=np.ones_like(end), where=middle != 0.0))
