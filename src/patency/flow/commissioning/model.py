"""What the instruments should show on the bench, and the exact derivatives of that by every parameter."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from patency.errors import InputError
from patency.flow.commissioning.bench import PUMP, draw_bench
from patency.flow.commissioning.sensitivity import loss_gradients, tangent
from patency.flow.fitted import PUMP_FLOW, PUMP_HEAD
from patency.flow.kernels import pump_head
from patency.flow.machine_code import Kernel, friction_factors
from patency.flow.network import PumpPoints
from patency.flow.solver import solve_compiled

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from patency.catalogue import BenchReading, Department, Instruments, Measurements
    from patency.flow.commissioning.bench import Bench
    from patency.flow.compiled_network import CompiledNetwork
    from patency.flow.solver import CompiledFlow

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Prediction:
    """What is read: natural logarithms of flows in m³/s, and gauge pressures in Pa.

    Parameters
    ----------
    shown
        Shape (readings,).
    jacobian
        Shape (readings, parameters): derivatives by the logarithms of the factors.
    """

    shown: Floats
    jacobian: Floats


class BenchModel:
    """All set-ups of some measurements, drawn once and computed for any parameters.

    Parameters
    ----------
    department
        The department.
    measurements
        Set-ups and readings.

    Raises
    ------
    InputError
        If a set-up or a reading names something that does not exist.
    """

    def __init__(self, department: Department, measurements: Measurements) -> None:
        self.readings = tuple(measurements.readings)
        self.instruments = measurements.instruments
        self.benches: dict[str, Bench] = {}
        for name, setup in measurements.setups.items():
            try:
                bench = draw_bench(department, measurements.carrier, measurements.machine_kind, setup)
            except InputError as fault:
                raise InputError(f"setups.{name}.{fault.where}", fault.what, fault.expected) from None
            self.benches[name] = bench
        self._rows = {name: _rows_of(self.readings, name) for name in self.benches}
        for place, reading in enumerate(self.readings):
            self._check(f"readings[{place}]", reading)

    def _check(self, where: str, reading: BenchReading) -> None:
        """Stop where a reading cannot be one of its set-up."""
        if reading.setup not in self.benches:
            raise InputError(f"{where}.setup", f"no set-up {reading.setup!r}", ", ".join(self.benches))
        bench = self.benches[reading.setup]
        if reading.instrument != "bucket" and getattr(self.instruments, reading.instrument) is None:
            raise InputError(f"{where}.instrument", f"no {reading.instrument} is described", "it under instruments")
        if reading.instrument == "bucket" and reading.at not in bench.outlets:
            raise InputError(f"{where}.at", f"port {reading.at!r} is closed", ", ".join(bench.outlets))
        if reading.instrument == "meter" and reading.at != PUMP:
            raise InputError(f"{where}.at", f"{reading.at!r}", PUMP)
        if reading.instrument == "gauge":
            try:
                bench.node_of(reading.at)
            except InputError as fault:
                raise InputError(f"{where}.at", fault.what, fault.expected) from None

    def noise(self) -> Floats:
        """Say how uncertain each reading is.

        Returns
        -------
        NDArray
            Shape (readings,): standard deviations of the logarithm of a flow, of a pressure [Pa].
        """
        return np.array([_noise_of(reading, self.instruments) for reading in self.readings])

    def shown(self) -> Floats:
        """Collect what was read.

        Returns
        -------
        NDArray
            Shape (readings,): logarithms of flows, pressures [Pa]; not-a-number where nothing was read.
        """
        return np.array([np.nan if one.value is None else _scaled(one, one.value) for one in self.readings])

    def predict(self, names: tuple[str, ...], values: Floats, kernel: Kernel = Kernel.MACHINE_CODE) -> Prediction:
        """Compute what the instruments should show.

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
        InputError
            If a reading is of an outlet that stays dry.
        """
        shown = np.empty(len(self.readings))
        jacobian = np.empty((len(self.readings), len(names)))
        for name, rows in self._rows.items():
            if rows:
                readings = [self.readings[row] for row in rows]
                shown[rows], jacobian[rows] = _predict_bench(self, self.benches[name], readings, names, values, kernel)
        return Prediction(shown, jacobian)

    def covariance(self) -> Floats:
        """Say how uncertain the readings are together; those of a bench are independent.

        Returns
        -------
        NDArray
            Shape (readings, readings).
        """
        return np.diag(self.noise() ** 2)


def _rows_of(readings: Sequence[BenchReading], setup: str) -> list[int]:
    return [row for row, reading in enumerate(readings) if reading.setup == setup]


def _scaled(reading: BenchReading, value: float) -> float:
    return value if reading.instrument == "gauge" else float(np.log(value))


def _noise_of(reading: BenchReading, instruments: Instruments) -> float:
    if reading.instrument == "gauge" and instruments.gauge is not None:
        return instruments.gauge.uncertainty_pa / 2.0
    meter = instruments.meter if reading.instrument == "meter" and instruments.meter is not None else instruments.bucket
    return meter.uncertainty / 2.0


@lru_cache(maxsize=128)
def membership(bench: Bench, names: tuple[str, ...]) -> Floats:
    """Say which parameters hold for which segments.

    Parameters
    ----------
    bench
        The set-up.
    names
        Names of the parameters.

    Returns
    -------
    NDArray
        Shape (segments, parameters): 1 where the parameter multiplies the segment's resistance, else 0.
    """
    row = {name: column for column, name in enumerate(names)}
    belongs = np.zeros((len(bench.stretches), len(names)))
    for segment, stretch in enumerate(bench.stretches):
        for name in stretch.fitted_as:
            if name in row:
                belongs[segment, row[name]] = 1.0
    return belongs


def with_factors(compiled: CompiledNetwork, resistance: Floats, head: float, flow: float) -> CompiledNetwork:
    """Multiply the resistances of all segments and the pump's curve.

    Parameters
    ----------
    compiled
        The network as described.
    resistance
        Shape (segments,): factors [-].
    head
        Factor of the pump's heads [-].
    flow
        Factor of the pump's flows [-].

    Returns
    -------
    CompiledNetwork
        The changed network.
    """
    geometry, pump = compiled.geometry, compiled.pump
    assert isinstance(pump, PumpPoints)  # noqa: S101 - the network of a bench has no other
    points = tuple((at * flow, height * head) for at, height in pump.points)
    return compiled.with_changes(
        geometry=geometry._replace(
            length_m=geometry.length_m * resistance,
            minor_loss=geometry.minor_loss * resistance,
            discharge_coefficient=geometry.discharge_coefficient / np.sqrt(resistance),
        ),
        pump=PumpPoints(points=points, relative_speed=pump.relative_speed, sump_level_m=pump.sump_level_m),
    )


def pump_elasticities(benches: Iterable[Bench], names: tuple[str, ...], values: Floats) -> Floats:
    """Compute by how much the logarithm of the pump's head changes with its two factors in each set-up or stage.

    Parameters
    ----------
    benches
        Set-ups or stages.
    names
        Names of the parameters.
    values
        Shape (parameters,): logarithms of their factors.

    Returns
    -------
    NDArray
        Shape (set-ups, parameters).
    """
    rows = []
    for bench in benches:
        compiled = _with_values(bench, names, values)
        flow = float(solve_compiled(compiled).flow_m3_s[0])
        head, slope = pump_head(compiled.ends, flow)
        rows.append([{PUMP_HEAD: 1.0, PUMP_FLOW: -slope * flow / head}.get(name, 0.0) for name in names])
    return np.array(rows)


def _with_values(bench: Bench, names: tuple[str, ...], values: Floats) -> CompiledNetwork:
    factor = dict(zip(names, np.exp(values), strict=True))
    resistance = np.exp(membership(bench, names) @ values)
    return with_factors(bench.compiled, resistance, factor.get(PUMP_HEAD, 1.0), factor.get(PUMP_FLOW, 1.0))


@dataclass(frozen=True, slots=True)
class Observed:
    """Flows and heads of a set-up or stage with other factors, and their derivatives by the logarithms of these.

    Parameters
    ----------
    flow_m3_s
        Shape (chains asked for,) [m³/s].
    flow_jacobian
        Shape (chains asked for, parameters) [m³/s].
    above_sump_pa
        Shape (nodes asked for,): pressures above the surroundings at the level of the sump's water [Pa].
    pressure_jacobian
        Shape (nodes asked for, parameters) [Pa].
    weight_n_m3
        Specific weight of the water [N/m³].
    sump_level_m
        Level of the sump's water [m].
    """

    flow_m3_s: Floats
    flow_jacobian: Floats
    above_sump_pa: Floats
    pressure_jacobian: Floats
    weight_n_m3: float
    sump_level_m: float


def observe(
    bench: Bench, names: tuple[str, ...], values: Floats, chains: list[int], nodes: list[int], kernel: Kernel
) -> Observed:
    """Solve a set-up or stage with other factors and look at some of its flows and heads.

    Parameters
    ----------
    bench
        The set-up or stage as described.
    names
        Names of the parameters.
    values
        Shape (parameters,): logarithms of their factors.
    chains
        Rows of the chains whose flow is asked for.
    nodes
        Rows of the nodes whose pressure is asked for.
    kernel
        How the numbers are worked out.

    Returns
    -------
    Observed
        Numbers and derivatives.

    Raises
    ------
    PhysicsError
        If the pump is driven beyond its run-out.
    """
    compiled = _with_values(bench, names, values)
    flow = solve_compiled(compiled, kernel=kernel)
    by_flow, by_head = loss_gradients(tangent(compiled, flow), chains, nodes)
    losses = _loss_derivatives(compiled, flow, membership(bench, names), names, kernel)
    weight, level = compiled.water.density_kg_m3 * compiled.gravity_m_s2, compiled.pump.sump_level_m
    return Observed(
        flow_m3_s=flow.flow_m3_s[chains],
        flow_jacobian=by_flow @ losses,
        above_sump_pa=weight * (flow.head_m[nodes] - level),
        pressure_jacobian=weight * (by_head @ losses),
        weight_n_m3=weight,
        sump_level_m=level,
    )


def _predict_bench(
    model: BenchModel,
    bench: Bench,
    readings: Sequence[BenchReading],
    names: tuple[str, ...],
    values: Floats,
    kernel: Kernel,
) -> tuple[Floats, Floats]:
    chains = [_chain_of(bench, one) for one in readings if one.instrument != "gauge"]
    nodes = [bench.node_of(one.at) for one in readings if one.instrument == "gauge"]
    seen = observe(bench, names, values, chains, nodes, kernel)
    shown, jacobian = np.empty(len(readings)), np.empty((len(readings), len(names)))
    at_flow = at_head = 0
    for row, reading in enumerate(readings):
        if reading.instrument == "gauge":
            gauge = model.instruments.gauge
            height = reading.height_m if reading.height_m is not None or gauge is None else gauge.height_m
            above_m = 0.0 if height is None else height - seen.sump_level_m
            shown[row] = seen.above_sump_pa[at_head] - seen.weight_n_m3 * above_m
            jacobian[row] = seen.pressure_jacobian[at_head]
            at_head += 1
        else:
            size = float(seen.flow_m3_s[at_flow])
            if size <= 0.0:
                raise InputError(
                    f"set-up {reading.setup}", f"port {reading.at} stays dry", "an outlet that gives water"
                )
            shown[row] = np.log(size)
            jacobian[row] = seen.flow_jacobian[at_flow] / size
            at_flow += 1
    return shown, jacobian


def _chain_of(bench: Bench, reading: BenchReading) -> int:
    return 0 if reading.instrument == "meter" else bench.compiled.chain_names.index(bench.outlets[reading.at])


def _loss_derivatives(
    compiled: CompiledNetwork, flow: CompiledFlow, belongs: Floats, names: tuple[str, ...], kernel: Kernel
) -> Floats:
    """By how much each chain's lost head changes with each parameter while the flows stay: (chains, parameters)."""
    geometry = compiled.geometry
    counts = np.diff(compiled.segment_start)
    factor = np.nan_to_num(friction_factors(kernel)(compiled.chains, flow.flow_m3_s))
    opening = geometry.discharge_coefficient > 0.0
    per_opening = np.where(opening, geometry.discharge_coefficient, 1.0) ** -2.0
    fixed = np.where(opening, per_opening, geometry.minor_loss) / (2.0 * compiled.gravity_m_s2 * compiled.area_m2**2)
    signed = np.repeat(flow.flow_m3_s * np.abs(flow.flow_m3_s), counts)
    lost = (factor * compiled.chains.friction + fixed) * signed
    derivatives = np.add.reduceat(lost[:, None] * belongs, compiled.segment_start[:-1], axis=0)
    head, slope = pump_head(compiled.ends, float(flow.flow_m3_s[0]))
    for column, name in enumerate(names):
        if name == PUMP_HEAD:
            derivatives[0, column] -= head
        elif name == PUMP_FLOW:
            derivatives[0, column] += slope * flow.flow_m3_s[0]
    return derivatives
