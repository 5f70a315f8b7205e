"""What the instruments should show on the bench, with the exact derivatives of that by every parameter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.errors import InputError
from patency.flow.commissioning.bench import PUMP, draw_bench
from patency.flow.commissioning.observing import observe
from patency.flow.commissioning.own_sensor import own_sensor, shifted
from patency.flow.machine_code import Kernel

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.catalogue import BenchReading, Department, Instruments, Measurements
    from patency.flow.commissioning.bench import Bench

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
        self._own = own_sensor(department, measurements)
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

    @property
    def sensors(self) -> dict[str, float]:
        """Standard deviation, as a share, of each sensor's error that is a parameter."""
        return {} if self._own is None else {self._own.parameter: self._own.spread}

    @property
    def _own_rows(self) -> list[int]:
        """The readings of the machine's own sensor."""
        at = None if self._own is None else self._own.place
        return [row for row, one in enumerate(self.readings) if one.instrument == "gauge" and one.at == at]

    def noise(self) -> Floats:
        """Say how uncertain each reading is by itself, a sensor's error that is a parameter left out.

        Returns
        -------
        NDArray
            Shape (readings,): standard deviations of the logarithm of a flow, of a pressure [Pa].
        """
        noise = np.array([_noise_of(reading, self.instruments) for reading in self.readings])
        if self._own is not None:
            noise[self._own_rows] = self._own.fresh_pa(self.predict((), np.empty(0)).shown[self._own_rows])
        return noise

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
        if self._own is not None and self._own.parameter in names:
            column = names.index(self._own.parameter)
            shifted(shown, jacobian, self._own_rows, column, float(values[column]), self._own.greatest_pa)
        return Prediction(shown, jacobian)

    def covariance(self) -> Floats:
        """Say how uncertain the readings are together; those of a bench are independent besides.

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
