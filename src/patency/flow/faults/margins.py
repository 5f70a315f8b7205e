"""How far every lumen is from what it is held against, in every fault: what ``fed`` judges, for thousands at once."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import cache, reduce
from typing import TYPE_CHECKING, Any

import numpy as np

from patency.flow import machine_code
from patency.flow.faults import fault_kernels
from patency.flow.machine_code import Kernel
from patency.flow.needs import NOT_KNOWN_OVER_A_NOZZLE, Measure, criteria_for
from patency.flow.network import PumpPoints
from patency.flow.stage_solution import solve_stage
from patency.flow.uncertainty import bounds
from patency.load import pieces_of_set
from patency.quantities import STANDARD_GRAVITY_M_S2

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from datetime import date

    from numpy.typing import NDArray

    from patency.catalogue import Department
    from patency.flow.faults.reading import LumenReadings
    from patency.flow.lumen_paths import LumenKey
    from patency.flow.readings import Readings
    from patency.flow.solved_load import SolvedLoad
    from patency.load import Load

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]
    Limits = Mapping[Measure, Floats]

# Which number each limit is held against by its lower end; one that no limit is held against needs no interval.
_FIELD = {
    Measure.FLOW: "flow_m3_s",
    Measure.EXCHANGES: "flow_m3_s",
    Measure.VELOCITY: "velocity_m_s",
    Measure.SHEAR: "shear_pa",
    Measure.PRESSURE: "pressure_pa",
}
_NUMBERS = ("flow_m3_s", "velocity_m_s", "shear_pa", "pressure_pa")
_PIECE = 128  # faults that one thread works out at a time
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
        held = {_FIELD.get(measure, "pressure_pa") for measure in asked}
        held |= {"velocity_m_s"} if np.isfinite(self._climb_m).any() else set()
        self._held = [field for field in _NUMBERS if field in held]

    def margins(self, readings: Mapping[str, LumenReadings], kernel: Kernel = Kernel.MACHINE_CODE) -> Floats:
        """Say how far each lumen is from falling short, in the stage that is worst for it.

        Parameters
        ----------
        readings
            Stage to the numbers of every fault.
        kernel
            How the numbers are worked out.

        Returns
        -------
        NDArray
            Shape (faults, lumens): the deciding end over its limit, of the highest pressure the limit over it, of a
            jet its rise over what it has to climb; the least of them that is known [-]. Below 1 the lumen falls
            short, 0 is dry, not-a-number is not judged. What leaves a lumen open however much it reaches,
            ``left_open_of_lumens`` says.
        """
        ends = [self._ends[name].ends(one, self._held, kernel) for name, one in readings.items()]
        lowest = {field: reduce(np.minimum, [getattr(low, field) for low, _ in ends]) for field in self._held}
        nominal = reduce(np.minimum, [one.flow_m3_s for one in readings.values()])
        margins = np.full(nominal.shape, np.nan)
        for measure, field in _FIELD.items():
            if field in lowest and np.isfinite(self._limits[measure]).any():
                values = lowest[field] * self._per_min if measure is Measure.EXCHANGES else lowest[field]
                np.fmin(margins, values / self._limits[measure], out=margins)
        if np.isfinite(self._climb_m).any():
            rise = lowest["velocity_m_s"] ** 2 / (2.0 * STANDARD_GRAVITY_M_S2)
            np.fmin(margins, rise / self._climb_m, out=margins)
        if np.isfinite(self._limits[Measure.HIGHEST_PRESSURE]).any():
            with np.errstate(divide="ignore"):
                highest = reduce(np.maximum, [high for _, high in ends])
                np.fmin(margins, self._limits[Measure.HIGHEST_PRESSURE] / highest, out=margins)
        return np.where(nominal > 0.0, margins, 0.0)  # not-a-number, beyond the pump's run-out, does not run


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
        self._low = {field: _shares(low, nominal, field) for field in _NUMBERS}
        self._high = _shares(high, nominal, "pressure_pa")

    def ends(self, readings: LumenReadings, fields: Sequence[str], kernel: Kernel) -> tuple[LumenReadings, Floats]:
        """Work out the lower ends of some of what was read, and the upper end of the pressure at the connection."""
        with_pressure = "pressure_pa" in fields
        shares = [self._low[field] for field in fields] + ([self._high] if with_pressure else [])
        values = [getattr(readings, field) for field in fields] + ([readings.pressure_pa] if with_pressure else [])
        if not values:
            return readings, readings.pressure_pa
        found, table = np.array(values), np.array(shares)
        flow, unsure = np.ascontiguousarray(readings.flow_m3_s), np.ascontiguousarray(readings.unsure)
        take_ends = _take_ends(kernel)

        def take_piece(first: int) -> None:
            rows = slice(first, first + _PIECE)
            take_ends(flow[rows], unsure[rows], self._flow, self._unsure, table, found[:, rows])

        with ThreadPoolExecutor() as pool:
            list(pool.map(take_piece, range(0, flow.shape[0], _PIECE)))
        lower: dict[str, Any] = {field: np.maximum(end, 0.0) for field, end in zip(fields, found, strict=False)}
        return readings._replace(**lower), found[-1] if with_pressure else readings.pressure_pa


def _take_ends(kernel: Kernel) -> Callable[..., None]:
    return fault_kernels.take_ends if kernel is Kernel.INTERPRETED else _compiled()


@cache
def _compiled() -> Callable[..., None]:
    stamp = machine_code.stamp(fault_kernels)

    def stamped(flow, unsure, flow_at, unsure_at, shares, values):  # type: ignore[no-untyped-def] # noqa: ANN001, ANN202
        if stamp >= 0:  # enclosed, so that the compiler's cache forgets what was made from other functions
            fault_kernels.take_ends(flow, unsure, flow_at, unsure_at, shares, values)

    inner = fault_kernels.share_between, fault_kernels.take_ends
    return machine_code.compiled_for_threads(stamped, inner, makes_arrays=False)


def _shares(ends: Sequence[Readings], nominal: Sequence[Readings], field: str) -> Floats:
    """Write ends as shares of nominal numbers; 1 where there is nothing to share."""
    end, middle = (np.array([getattr(one, field) for one in each]) for each in (ends, nominal))
    return np.asarray(np.divide(end, middle, out=np.ones_like(end), where=middle != 0.0))
