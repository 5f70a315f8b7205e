"""What every single fault of a load does: which lumens fall below their need, and what each sensor shows of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.flow.faults.fault import NetworkChange
from patency.flow.faults.fault_network import FaultNetwork
from patency.flow.faults.listing import faults_of_load
from patency.flow.faults.margins import MarginScale, limits_of_lumens
from patency.flow.faults.reading import FaultReader
from patency.flow.faults.sensing import fitted_sensors, shown_by
from patency.flow.gaps import left_open_of_lumens
from patency.flow.needs import Measure
from patency.flow.solved_load import solve_load

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence
    from datetime import date

    from numpy.typing import NDArray

    from patency.catalogue import Department
    from patency.flow.faults.fault import Fault
    from patency.flow.faults.listing import FaultList
    from patency.flow.faults.reading import LumenReadings
    from patency.flow.faults.sensing import SensorPoint
    from patency.flow.lumen_paths import LumenKey
    from patency.flow.solved_load import SolvedLoad
    from patency.load import Load

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class FaultEffects:
    """What every single fault of a load does. Arrays are ordered as the names that stand beside them.

    Parameters
    ----------
    faults
        The faults.
    lumens
        The connected lumens.
    stages
        The wet stages.
    sensors
        The sensors of pressure and flow.
    flow_m3_s
        Shape (stages, faults, lumens): flow into each lumen [m³/s].
    planned_flow_m3_s
        Shape (stages, lumens): the same without any fault [m³/s].
    margin
        Shape (faults, lumens): how far each lumen is from falling short, in the stage that is worst for it: below 1
        it falls short by a limit that holds, 0 is dry, not-a-number is held against nothing that is known [-].
    planned_margin
        Shape (lumens,): the same without any fault [-].
    shown
        Shape (stages, faults, sensors): what each sensor shows [Pa or m³/s].
    planned_shown
        Shape (stages, sensors): the same without any fault [Pa or m³/s].
    beyond_run_out
        Shape (faults,): whether the fault draws more from the pump than its curve knows, in some stage. Its numbers
        are not-a-number there, and every lumen counts as dry.
    not_computed
        What cannot be computed and why, one sentence each.
    left_open
        Of each lumen what leaves open whether it is fed, in words: where it does not fall short, it is not judged.
    """

    faults: tuple[Fault, ...]
    lumens: tuple[LumenKey, ...]
    stages: tuple[str, ...]
    sensors: tuple[SensorPoint, ...]
    flow_m3_s: Floats
    planned_flow_m3_s: Floats
    margin: Floats
    planned_margin: Floats
    shown: Floats
    planned_shown: Floats
    beyond_run_out: Bools
    not_computed: tuple[str, ...]
    left_open: tuple[tuple[str, ...], ...]

    @property
    def not_judged(self) -> dict[str, tuple[LumenKey, ...]]:
        """Why lumens are not judged where they do not fall short, to these lumens."""
        found: dict[str, tuple[LumenKey, ...]] = {}
        for key, points in zip(self.lumens, self.left_open, strict=True):
            if points:
                why = "; ".join(points)
                found[why] = (*found.get(why, ()), key)
        return found

    @property
    def not_judged_told(self) -> tuple[str, ...]:
        """The same in words: how many lumens, and why."""
        return tuple(f"{len(keys)} lumen{'s' if len(keys) > 1 else ''}, {why}" for why, keys in self.not_judged.items())

    @property
    def falls_short(self) -> Bools:
        """Shape (faults, lumens): whether a lumen falls below its need that does not as planned."""
        return np.asarray((self.margin < 1.0) & ~(self.planned_margin < 1.0))

    @property
    def others_short(self) -> Bools:
        """Shape (faults, lumens): the same for lumens that do not hang on what has failed themselves."""
        own = np.array([[fault.lumen == key for key in self.lumens] for fault in self.faults], dtype=bool)
        return np.asarray(self.falls_short & ~own.reshape(self.margin.shape))

    @property
    def largest_loss(self) -> Floats:
        """Shape (faults, lumens): largest share of its flow a lumen loses in any stage [-]; a gain is negative."""
        planned = self.planned_flow_m3_s[:, None, :]
        flow = np.nan_to_num(self.flow_m3_s)
        with np.errstate(invalid="ignore", divide="ignore"):
            lost = np.where(planned > 0.0, 1.0 - flow / planned, 0.0)
        return np.asarray(lost.max(axis=0))


def effects_of_faults(department: Department, load: Load, day: date) -> FaultEffects:
    """Work out what every single fault of a load does.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    day
        Day of the decision.

    Returns
    -------
    FaultEffects
        The effects.

    Raises
    ------
    InputError
        If the load names something the department does not have, or its programme has no wet stage.
    PhysicsError
        If the load as planned draws more from the pump than its curve knows.
    """
    solved = solve_load(department, load)
    fault_list = faults_of_load(department, load, solved.network)
    return run_of_faults(department, load, day, solved, fault_list, fitted_sensors(department, load)).effects()


def run_of_faults(
    department: Department,
    load: Load,
    day: date,
    solved: SolvedLoad,
    fault_list: FaultList,
    sensors: Sequence[SensorPoint] = (),
) -> FaultRun:
    """Make ready what faults of a load are solved and judged with.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    day
        Day of the decision.
    solved
        The load as planned.
    fault_list
        The faults.
    sensors
        The sensors to read.

    Returns
    -------
    FaultRun
        Holds every lumen against what ``fed`` holds it against.
    """
    keys = list(solved.network.lumens)
    limits = limits_of_lumens(department, load, keys, day)
    asked = np.isfinite(limits[Measure.PRESSURE]) | np.isfinite(limits[Measure.HIGHEST_PRESSURE])
    with_pressure = {key for key, one in zip(keys, asked, strict=True) if one}
    left_open = left_open_of_lumens(department, load, solved.network, day)
    return FaultRun(solved, fault_list, sensors, MarginScale(solved, limits), with_pressure, left_open)


def shown_in_faults(solved: SolvedLoad, fault_list: FaultList, sensors: Sequence[SensorPoint]) -> tuple[Floats, Floats]:
    """Solve every fault in every stage and read sensors alone.

    Parameters
    ----------
    solved
        The load as planned.
    fault_list
        Its faults.
    sensors
        The sensors.

    Returns
    -------
    tuple[NDArray, NDArray]
        What each sensor shows without fault, shape (stages, sensors), and with each, shape (stages, faults, sensors)
        [Pa or m³/s]; not-a-number where a fault draws more from the pump than its curve knows.
    """
    network = FaultNetwork(fault_list)
    table = network.table([NetworkChange(), *(case.change for case in fault_list.cases)])
    shown = []
    for solution in solved.stages.values():
        stage = network.stage(solution)
        shown.append(shown_by(sensors, stage.compiled, network.solve(stage, table)))
    seen = np.array(shown)
    return seen[:, 0], seen[:, 1:]


class FaultRun:
    """Everything that can be made ready before the faults of a load are solved.

    Parameters
    ----------
    solved
        The load as planned.
    fault_list
        Its faults.
    sensors
        The sensors to read.
    scale
        Turns numbers into margins.
    with_pressure
        Lumens that are held against a pressure.
    left_open
        Every lumen to what leaves open whether it is fed.
    """

    def __init__(
        self,
        solved: SolvedLoad,
        fault_list: FaultList,
        sensors: Sequence[SensorPoint],
        scale: MarginScale,
        with_pressure: Collection[LumenKey],
        left_open: Mapping[LumenKey, tuple[str, ...]],
    ) -> None:
        self._solved, self._fault_list, self._sensors, self._scale = solved, fault_list, sensors, scale
        self._left_open = tuple(left_open[key] for key in solved.network.lumens)
        self._network = FaultNetwork(fault_list)
        changes = [NetworkChange(), *(case.change for case in fault_list.cases)]
        self._table = self._network.table(changes)
        self._reader = FaultReader(self._network, solved.network, changes, with_pressure)
        self._stages = {name: self._network.stage(solution) for name, solution in solved.stages.items()}

    def effects(self) -> FaultEffects:
        """Solve every fault in every stage and read it.

        Returns
        -------
        FaultEffects
            The effects.
        """
        readings: dict[str, LumenReadings] = {}
        shown = []
        beyond = np.zeros(self._table.resized.size, dtype=bool)
        for name, stage in self._stages.items():
            flows = self._network.solve(stage, self._table)
            readings[name] = self._reader.read(stage, flows)
            shown.append(shown_by(self._sensors, stage.compiled, flows))
            beyond |= ~flows.solved
        flow = np.array([one.flow_m3_s for one in readings.values()])
        margin, seen = self._scale.margins(readings), np.array(shown)
        return FaultEffects(
            faults=self._fault_list.faults,
            lumens=tuple(self._solved.network.lumens),
            stages=tuple(self._stages),
            sensors=tuple(self._sensors),
            flow_m3_s=flow[:, 1:],
            planned_flow_m3_s=flow[:, 0],
            margin=margin[1:],
            planned_margin=margin[0],
            shown=seen[:, 1:],
            planned_shown=seen[:, 0],
            beyond_run_out=beyond[1:],
            not_computed=self._fault_list.not_computed,
            left_open=self._left_open,
        )
