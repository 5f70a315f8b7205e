"""What each cause would show on each sensor in each stage, and how far the sensors' readings can be off anyway."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.errors import InputError
from patency.flow.batch import solve_many
from patency.flow.detection.baseline import Expected
from patency.flow.detection.doubts import AGAINST_THE_MODEL, reading_doubts, temperature_deviation_k
from patency.flow.detection.rotation import arms_shown, false_alarms_of_each
from patency.flow.diagnosis.causes import STEPS, Cause, causes_of
from patency.flow.diagnosis.doubts import ModelDoubts
from patency.flow.faults.fault import NetworkChange
from patency.flow.faults.fault_network import ChangeTable, FaultNetwork
from patency.flow.faults.listing import faults_of_load
from patency.flow.faults.sensing import fitted_sensors, shown_by
from patency.flow.gaps import doubt_not_known
from patency.flow.solved_load import solve_load

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.catalogue import Department
    from patency.flow.detection.alarm import Alarm
    from patency.flow.detection.baseline import Baseline
    from patency.flow.diagnosis.rates import Rates
    from patency.flow.faults.fault_network import FaultStage
    from patency.load import Load

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Signatures:
    """What each cause shows. Columns are the stages of the first sensor, then those of the next.

    Parameters
    ----------
    causes
        Every single cause, as planned first; those that cannot be computed left out.
    columns
        Stage and sensor of each column; none of a sensor that shows nothing as planned.
    planned
        Shape (columns,): what is shown as planned, as computed or as the mean of a baseline [Pa or m³/s].
    shares
        Shape (causes, columns): what the water shows with each cause, over that [-].
    offsets
        Shape (causes, columns): what a sensor that is off adds [Pa or m³/s].
    covariance
        Shape (columns, columns): of the model's own doubts, the sensors' uncertainties and what is new in each reading.
    not_computed
        What cannot be computed and why, one sentence each.
    freedom
        Degrees of freedom that the covariance was estimated with; infinite where it is known [-].
    """

    causes: tuple[Cause, ...]
    columns: tuple[tuple[str, str], ...]
    planned: Floats
    shares: Floats
    offsets: Floats
    covariance: Floats
    not_computed: tuple[str, ...]
    freedom: float = math.inf

    def shown(self, first: NDArray[np.int64], second: NDArray[np.int64]) -> Floats:
        """Work out what two causes show together; the shares of two multiply, what sensors add sums.

        Parameters
        ----------
        first
            Shape (pairs,): the one cause.
        second
            Shape (pairs,): the other; as planned for one cause alone.

        Returns
        -------
        NDArray
            Shape (pairs, columns) [Pa or m³/s].
        """
        water = self.planned * self.shares[first] * self.shares[second]
        return np.asarray(water + self.offsets[first] + self.offsets[second])


class CauseModel:
    """A load's network, its causes and its doubts, ready to be solved.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    rates
        What is assumed before anything is observed.
    steps
        How many steps what comes in degrees has.

    Raises
    ------
    InputError
        If the site leaves out a default of the flow calculation or something on the way of the water, the load names
        what the department does not have, or the rate of a kind of fault is left out.
    PhysicsError
        If the load as planned draws more from the pump than its curve knows.
    """

    def __init__(self, department: Department, load: Load, rates: Rates, steps: int = STEPS) -> None:
        solved = solve_load(department, load)
        for name, limit in solved.network.defaults.items():
            if limit is None:
                what = f"the site states no {name.replace('_', ' ')}, so how far readings can be off is not known"
                raise InputError(f"load {load.id}", what, f"limits.flow.{name}")
        gap = doubt_not_known(solved.network)
        if gap:
            raise InputError(f"load {load.id}", gap, "every part on the way of the water described")
        fault_list = faults_of_load(department, load, solved.network)
        fitted = fitted_sensors(department, load)
        self.sensors = tuple(sensor for sensor in fitted if sensor.deviation is not None)
        self.network = FaultNetwork(fault_list)
        self.stages: dict[str, FaultStage] = {name: self.network.stage(one) for name, one in solved.stages.items()}
        self.causes = causes_of(fault_list, tuple(self.stages), self.sensors, rates, steps)
        self.doubts = ModelDoubts(self.network, fault_list, solved.network)
        self._department, self._machine = department, department.machine_kinds[load.machine_kind]
        self.reading_doubts = reading_doubts(solved, self.sensors, temperature_deviation_k(self._machine))
        self.rates = rates
        self.not_computed = (
            *fault_list.not_computed,
            *(
                f"sensor {sensor.name} tells nothing: its uncertainty is not stated"
                for sensor in fitted
                if sensor.deviation is None
            ),
        )

    def arms_shown(self, alarm: Alarm) -> tuple[float, dict[str, float]]:
        """Say how likely the sensors of arms show one that no longer turns.

        Parameters
        ----------
        alarm
            What counts as seen.

        Returns
        -------
        tuple[float, dict[str, float]]
            How often the alarm on the water's readings alone may go off without fault, and each arm with a sensor with
            the probability [-].
        """
        each = false_alarms_of_each(self._department, self._machine, alarm)
        return each, arms_shown(self._department, self._machine, each)

    def table(self, causes: Sequence[Cause], stage: str) -> ChangeTable:
        """Write what causes do in a stage.

        Parameters
        ----------
        causes
            The causes.
        stage
            The stage.

        Returns
        -------
        ChangeTable
            One row for each.
        """
        return self.network.table([change_in(cause, stage) for cause in causes])

    def solved(self, stage: str, table: ChangeTable, scores: Floats) -> Floats:
        """Solve a stage with faults and moved doubts and read its sensors.

        Parameters
        ----------
        stage
            The stage.
        table
            The faults.
        scores
            Shape (scenarios, scores).

        Returns
        -------
        NDArray
            Shape (scenarios, sensors) [Pa or m³/s]; not-a-number where not solved.
        """
        known = self.stages[stage]
        flows = solve_many(known.compiled, self.doubts.scenarios(known, table, scores))
        return shown_by(self.sensors, known.compiled, flows)


def change_in(cause: Cause, stage: str) -> NetworkChange:
    """Say what a cause does to the network in a stage.

    Parameters
    ----------
    cause
        The cause.
    stage
        The stage.

    Returns
    -------
    NetworkChange
        Nothing, where it works in another stage alone.
    """
    return cause.change if cause.stage in {"", stage} else NetworkChange()


def signatures_of(model: CauseModel, read: Sequence[tuple[str, str]], baseline: Baseline | None = None) -> Signatures:
    """Work out what each cause would show in the stages and on the sensors that were read.

    Parameters
    ----------
    model
        The load's model.
    read
        Stage and sensor of each reading.
    baseline
        Earlier cycles of the same load with all of these readings; None to hold them against the computed values.

    Returns
    -------
    Signatures
        With one column for each reading, in its order; those of a sensor that shows nothing as planned are left out, as
        causes are weighed by their shares of that.
    """
    place = {sensor.name: k for k, sensor in enumerate(model.sensors)}
    sensor_of = np.array([place[sensor] for _, sensor in read], dtype=np.int64)
    shown = {}
    for stage in dict.fromkeys(stage for stage, _ in read):
        flows = model.network.solve(model.stages[stage], model.table(model.causes, stage))
        shown[stage] = shown_by(model.sensors, model.stages[stage].compiled, flows)
    all_shown = np.array([shown[stage][:, k] for (stage, _), k in zip(read, sensor_of, strict=True)]).T
    told = all_shown[0] != 0.0
    silent = [f"sensor {sensor} in {stage}" for (stage, sensor), one in zip(read, told, strict=True) if not one]
    read = [column for column, one in zip(read, told, strict=True) if one]
    all_shown = all_shown[:, told]
    planned = all_shown[0]
    shares = all_shown / planned
    computed = np.isfinite(shares).all(axis=1)
    causes = tuple(cause for cause, known in zip(model.causes, computed, strict=True) if known)
    offsets = np.array(
        [[cause.offset if cause.sensor == sensor else 0.0 for _, sensor in read] for cause in causes]
    ).reshape(len(causes), len(read))
    if baseline is None:
        expected = Expected(planned, model.reading_doubts.of(read).covariance(AGAINST_THE_MODEL), math.inf)
    else:
        expected = baseline.expected(baseline.picking(read))
    left_out = dict.fromkeys(cause.name for cause, known in zip(model.causes, computed, strict=True) if not known)
    return Signatures(
        causes=causes,
        columns=tuple(read),
        planned=expected.mean,
        shares=shares[computed],
        offsets=offsets,
        covariance=expected.covariance,
        freedom=expected.freedom,
        not_computed=(
            *model.not_computed,
            *(f"{one}: shows nothing as planned, so what it read is left out" for one in silent),
            *(f"{name}: beyond what the pump's curve knows, at least where it is worst" for name in left_out),
        ),
    )
