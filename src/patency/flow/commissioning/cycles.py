"""What kept cycles of known loads should show, so that pump and resistances can be fitted to them as to a bench.

Cycles of one load repeat one another, and so do their errors: what the sensor shows too much, how the load's own pieces
differ from their description, what is not known of friction. These are common to all of a load's cycles, so they stand
in the covariance of the mean reading and do not get smaller with the number of cycles; what the sensor shows too much
is common to all loads that ran in the machine, too. Only what scatters from cycle to cycle is divided by their number.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import BenchReading, bench_fit_of
from patency.errors import InputError
from patency.flow.commissioning.bench import Bench
from patency.flow.commissioning.model import Prediction
from patency.flow.commissioning.observing import observe
from patency.flow.commissioning.own_sensor import SENSOR, greatest_pressure_pa, sensor_parameter, shifted
from patency.flow.detection.doubts import AGAINST_THE_MODEL, reading_doubts, temperature_deviation_k
from patency.flow.faults.sensing import Measured, fitted_sensors
from patency.flow.machine_code import Kernel
from patency.flow.solved_load import solve_load
from patency.flow.uncertainty import Source

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from numpy.typing import NDArray

    from patency.catalogue import Department
    from patency.flow.detection.baseline import Baseline
    from patency.flow.detection.doubts import ReadingDoubts
    from patency.flow.faults.sensing import SensorPoint
    from patency.flow.solved_load import SolvedLoad
    from patency.load import Load

    Floats = NDArray[np.float64]

LEAST_CYCLES = 5
"""How many cycles of a load at least: fewer say too little about how their readings scatter (a choice of method)."""
_ONE_FOR_ALL_LOADS = (Source.LOSS, Source.ROUGHNESS)


@dataclass(frozen=True, slots=True)
class KeptCycles:
    """Cycles of one load.

    Parameters
    ----------
    load
        The load as planned.
    baseline
        What its sensors showed.
    days
        Day of each cycle.
    """

    load: Load
    baseline: Baseline
    days: tuple[date, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _DrawnLoad:
    """The cycles of one load and its network as the catalogue describes it, without any fit."""

    kept: KeptCycles
    stages: dict[str, Bench]
    points: tuple[SensorPoint, ...]  # of each column
    doubts: ReadingDoubts  # of what no factor stands for


class CyclesModel:
    """The mean readings of kept cycles, computed for any parameters.

    Parameters
    ----------
    department
        The department.
    kept
        Cycles of loads of one carrier in one machine; each load once.

    Raises
    ------
    InputError
        If the cycles are of several machines or carriers, are too few, stand twice, or a sensor they name is not
        described with its place and uncertainty.
    PhysicsError
        If a load draws more from the pump than its curve knows.
    """

    def __init__(self, department: Department, kept: Sequence[KeptCycles]) -> None:
        _refuse_mixed(kept)
        described = department.model_copy(update={"commissioned": {}})
        load = kept[0].load
        fit = bench_fit_of(department, load.carrier, load.machine_kind)
        self._fitted_sensors = () if fit is None else tuple(name for name in fit.factors if name.startswith(SENSOR))
        self._greatest_pa = greatest_pressure_pa(department.machine_kinds[load.machine_kind])
        self._drawn = [_draw(described, one) for one in kept]
        self.benches = {
            f"{one.kept.load.id}, {stage}": bench for one in self._drawn for stage, bench in one.stages.items()
        }
        self.readings = tuple(reading for one in self._drawn for reading in _mean_readings(one))
        self._own = [sensor_parameter(kept[0].baseline.machine, one.at) for one in self.readings]

    def shown(self) -> Floats:
        """Collect the mean readings.

        Returns
        -------
        NDArray
            Shape (readings,): logarithms of flows, pressures [Pa].
        """
        means = np.concatenate([one.kept.baseline.mean for one in self._drawn])
        return np.where(self._of_flow, np.log(np.abs(means)), means)

    @property
    def _of_flow(self) -> NDArray[np.bool_]:
        return np.array([one.instrument == "meter" for one in self.readings])

    def covariance(self) -> Floats:
        """Say how uncertain the mean readings are together.

        Returns
        -------
        NDArray
            Shape (readings, readings): of logarithms of flows, pressures [Pa].
        """
        return self.common() + self.fresh()

    def common(self) -> Floats:
        """Say what is uncertain in all cycles alike, however many there are.

        Returns
        -------
        NDArray
            Shape (readings, readings): of logarithms of flows, pressures [Pa]. What a sensor shows too much is not in
            it where that is a parameter of the fit to bench readings.
        """
        sizes = [len(one.points) for one in self._drawn]
        whole, ends = sum(sizes), np.cumsum(sizes)
        moved: dict[tuple[Source, str, str], Floats] = {}
        warm, own = np.zeros(whole), np.zeros(whole)
        for one, end in zip(self._drawn, ends, strict=True):
            rows, doubts = slice(end - len(one.points), end), one.doubts
            warm[rows], own[rows] = doubts.temperature, doubts.deviations
            for source, what, shift in zip(doubts.sources, doubts.what, doubts.shifts, strict=True):
                whose = "" if source in _ONE_FOR_ALL_LOADS else one.kept.load.id
                moved.setdefault((source, what, whose), np.zeros(whole))[rows] = shift
        own[[name in self._fitted_sensors for name in self._own]] = 0.0
        sensors = np.array([one.at for one in self.readings])
        shifts = np.array([*moved.values(), warm])
        lasting = np.where(sensors[:, None] == sensors[None, :], np.outer(own, own), 0.0)
        scale = self._scale
        return np.asarray((shifts.T @ shifts + lasting * AGAINST_THE_MODEL.calibration**2) * np.outer(scale, scale))

    def fresh(self) -> Floats:
        """Say what is new in every cycle, in the mean of all of a load's cycles.

        Returns
        -------
        NDArray
            Shape (readings, readings): of logarithms of flows, pressures [Pa]. What was seen to scatter counts, and
            what every reading is assumed to scatter by besides.

        Notes
        -----
        The scatter is taken from the n cycles themselves, so their mean is Student's with n - 1 degrees of freedom, of
        (n - 1) / (n - 3) times the variance found (JCGM 101:2008, 6.4.9.4).
        """
        found = self.assumed()
        scale = self._scale
        at = 0
        for one in self._drawn:
            rows = slice(at, at + len(one.points))
            cycles = one.kept.baseline.cycles
            scatter = np.atleast_2d(np.cov(one.kept.baseline.readings, rowvar=False)) * (cycles - 1.0) / (cycles - 3.0)
            found[rows, rows] += scatter * np.outer(scale[rows], scale[rows])
            found[rows, rows] /= cycles
            at = rows.stop
        return found

    def assumed(self) -> Floats:
        """Say what is assumed to be new in every reading of one cycle.

        Returns
        -------
        NDArray
            Shape (readings, readings): of logarithms of flows, pressures [Pa].
        """
        deviations, planned = (
            np.concatenate([getattr(one.doubts, name) for one in self._drawn]) for name in ("deviations", "planned")
        )
        own = (deviations * AGAINST_THE_MODEL.noise) ** 2 + (planned * AGAINST_THE_MODEL.process) ** 2
        return np.diag(own * self._scale**2)

    @property
    def _scale(self) -> Floats:
        """Turns what a reading is off into that of its logarithm where it is a flow; shape (readings,)."""
        return np.where(self._of_flow, 1.0 / np.concatenate([one.doubts.planned for one in self._drawn]), 1.0)

    def predict(self, names: tuple[str, ...], values: Floats, kernel: Kernel = Kernel.MACHINE_CODE) -> Prediction:
        """Compute what the sensors should show.

        Parameters
        ----------
        names
            Names of the parameters.
        values
            Shape (parameters,): logarithms of their factors.
        kernel
            How the numbers are worked out.

        Returns
        -------
        Prediction
            Readings and derivatives.

        Raises
        ------
        PhysicsError
            If the pump is driven beyond its run-out.
        """
        shown, jacobian = np.empty(len(self.readings)), np.empty((len(self.readings), len(names)))
        at = 0
        for one in self._drawn:
            columns = one.kept.baseline.columns
            for stage, bench in one.stages.items():
                of_stage = [row for row, column in enumerate(columns) if column[0] == stage]
                flows = [row for row in of_stage if one.points[row].measured is Measured.FLOW]
                heads = [row for row in of_stage if row not in flows]
                chains = [bench.compiled.chain_names.index(one.points[row].link) for row in flows]
                nodes = [bench.compiled.node_names.index(one.points[row].node) for row in heads]
                seen = observe(bench, names, values, chains, nodes, kernel)
                for places, size, slope in (
                    (heads, seen.above_sump_pa, seen.pressure_jacobian),
                    (flows, np.log(seen.flow_m3_s), seen.flow_jacobian / seen.flow_m3_s[:, None]),
                ):
                    shown[[at + row for row in places]] = size
                    jacobian[[at + row for row in places]] = slope
            at += len(columns)
        for column, name in enumerate(names):
            rows = [row for row, own in enumerate(self._own) if own == name]
            if rows:
                shifted(shown, jacobian, rows, column, float(values[column]), self._greatest_pa)
        return Prediction(shown, jacobian)


def _refuse_mixed(kept: Sequence[KeptCycles]) -> None:
    """Stop where the cycles cannot be of one fit."""
    if not kept:
        raise InputError("cycles", "none", "a baseline of at least one load")
    for what, found in (
        ("machines", {one.baseline.machine for one in kept}),
        ("carriers", {one.load.carrier for one in kept}),
        ("kinds of machine", {one.load.machine_kind for one in kept}),
    ):
        if len(found) > 1:
            raise InputError("cycles", f"of several {what}: {', '.join(sorted(found))}", "of one; machines differ")
    records = [record for one in kept for record in one.baseline.records]
    if len(set(records)) < len(records):
        raise InputError("cycles", "a record stands in two baselines", "each record once")
    few = [one for one in kept if one.baseline.cycles < LEAST_CYCLES]
    if few:
        what = f"{few[0].baseline.cycles} cycles of load {few[0].load.id}"
        raise InputError("cycles", what, f"at least {LEAST_CYCLES}, which show how readings scatter")


def _draw(described: Department, kept: KeptCycles) -> _DrawnLoad:
    """Draw a load as the catalogue describes it."""
    load, columns = kept.load, kept.baseline.columns
    solved = solve_load(described, load)
    points = {point.name: point for point in fitted_sensors(described, load)}
    for stage, sensor in columns:
        if stage not in solved.stages:
            raise InputError(f"load {load.id}", f"no wet stage {stage!r}", ", ".join(solved.stages))
        if sensor not in points or points[sensor].deviation is None:
            raise InputError(f"sensor {sensor}", "its place or uncertainty is not described", "both in the catalogue")
        measured = points[sensor].measured
        if kept.baseline.readings[:, columns.index((stage, sensor))].min() <= 0.0:
            expected = f"a {measured} above zero in every cycle"
            raise InputError(f"load {load.id}", f"{sensor} shows no {measured} in {stage}", expected)
    stretches = solved.network.stretches
    stages = {
        stage: Bench(
            solution.compiled,
            tuple(stretch for name in solution.compiled.chain_names for stretch in stretches[name]),
            {},
            described.carriers[load.carrier],
        )
        for stage, solution in solved.stages.items()
        if stage in {column for column, _ in columns}
    }
    warm = temperature_deviation_k(described.machine_kinds[load.machine_kind])
    doubts = reading_doubts(_no_factor_stands_for(solved), tuple(points.values()), warm).of(columns)
    if not np.isfinite(doubts.deviations).all():
        raise InputError(f"load {load.id}", "something on the way of the water is not stated", "every part described")
    return _DrawnLoad(kept, stages, tuple(points[sensor] for _, sensor in columns), doubts)


def _no_factor_stands_for(solved: SolvedLoad) -> SolvedLoad:
    """Take for certain what a factor of the fit stands for: its doubt is the factor's and counts once."""
    certain = {
        name: tuple(
            replace(one, diameter_doubt_m=0.0, rod_doubt_m=0.0, loss_doubt=0.0) if one.fitted_as else one for one in row
        )
        for name, row in solved.network.stretches.items()
    }
    return replace(solved, network=replace(solved.network, stretches=certain, pump_doubt=0.0))


def _mean_readings(drawn: _DrawnLoad) -> list[BenchReading]:
    """Name the mean of each reading as a reading of the load's stage."""
    readings = []
    for (stage, sensor), mean, point in zip(
        drawn.kept.baseline.columns, drawn.kept.baseline.mean, drawn.points, strict=True
    ):
        flow = point.measured is Measured.FLOW
        readings.append(
            BenchReading.model_construct(
                setup=f"{drawn.kept.load.id}, {stage}",
                instrument="meter" if flow else "gauge",
                at=sensor,
                flow_m3_s=float(mean) if flow else None,
                pressure_pa=None if flow else float(mean),
            )
        )
    return readings
