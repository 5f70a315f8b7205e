"""A machine's own sensor as the gauge of the bench: what it shows too much is one error, there and in kept cycles.

The error is fitted as a further parameter. So bench readings do not make it smaller by being many, and a fit keeps how
far pump and error go together, for the cycles that the same sensor shows later. It is an offset; as a factor, such as
a fit keeps, it is 1 and its share of the greatest pressure that the pump is described to give.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.errors import InputError
from patency.flow.detection.doubts import AGAINST_THE_MODEL
from patency.quantities import UNITS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.catalogue import Department, MachineKind, Measurements, Sensor

    Floats = NDArray[np.float64]

SENSOR = "sensor "
"""How the parameters begin that are a sensor's error."""
_PA_PER_METRE = 9806.65  # of water, by convention


def sensor_parameter(machine: str, sensor: str) -> str:
    """Name the error of a machine's sensor.

    Parameters
    ----------
    machine
        Key of the machine.
    sensor
        Key of the sensor in its kind.

    Returns
    -------
    str
        The parameter.
    """
    return f"{SENSOR}{sensor} of {machine}"


def greatest_pressure_pa(kind: MachineKind) -> float:
    """Give what a sensor's error is a share of.

    Parameters
    ----------
    kind
        The kind of machine.

    Returns
    -------
    float
        Greatest head of the described pump, as a pressure [Pa].
    """
    return _PA_PER_METRE * max(point.head_m for point in kind.pump.points)


def shifted(
    shown: Floats, jacobian: Floats, rows: Sequence[int], column: int, value: float, greatest_pa: float
) -> None:
    """Let pressures show a sensor's error, in place.

    Parameters
    ----------
    shown
        Shape (readings,): pressures in these rows [Pa].
    jacobian
        Shape (readings, parameters): derivatives of these.
    rows
        Which readings the sensor made.
    column
        Column of its parameter.
    value
        Logarithm of its factor.
    greatest_pa
        The pressure it is a share of [Pa].
    """
    shown[rows] += np.expm1(value) * greatest_pa
    jacobian[rows, column] = np.exp(value) * greatest_pa


@dataclass(frozen=True, slots=True)
class OwnSensor:
    """The sensor that is the gauge of a bench.

    Parameters
    ----------
    parameter
        Name of its error.
    place
        Where it sits.
    deviation_pa
        Standard deviation of its error, the same in every reading [Pa].
    greatest_pa
        The pressure the error is a share of [Pa].
    """

    parameter: str
    place: str
    deviation_pa: float
    greatest_pa: float

    @property
    def spread(self) -> float:
        """Standard deviation of the error as a share."""
        return self.deviation_pa / self.greatest_pa

    def fresh_pa(self, pressure_pa: Floats) -> Floats:
        """Say what is new in every reading: of the sensor, and because no two runs of the pump are alike.

        Parameters
        ----------
        pressure_pa
            Shape (readings,): pressures [Pa].

        Returns
        -------
        NDArray
            Shape (readings,): standard deviations [Pa], with the shares that hold in cycles.
        """
        return np.hypot(AGAINST_THE_MODEL.noise * self.deviation_pa, AGAINST_THE_MODEL.process * pressure_pa)


def own_sensor(department: Department, measurements: Measurements) -> OwnSensor | None:
    """Find the sensor that the measurements name as their gauge.

    Parameters
    ----------
    department
        The department.
    measurements
        Set-ups and readings.

    Returns
    -------
    OwnSensor | None
        The sensor; None where the gauge is an instrument of its own.

    Raises
    ------
    InputError
        If there is no such machine of this kind, it has no such sensor of pressure, or the gauge is said to be more
        certain than the sensor.
    """
    gauge = measurements.instruments.gauge
    if gauge is None or gauge.machine is None or gauge.sensor is None:
        return None
    machine = department.machines.get(gauge.machine)
    if machine is None or machine.kind != measurements.machine_kind:
        expected = ", ".join(name for name, one in department.machines.items() if one.kind == measurements.machine_kind)
        raise InputError("instruments.gauge.machine", f"no {measurements.machine_kind} {gauge.machine!r}", expected)
    kind = department.machine_kinds[machine.kind]
    sensor = kind.sensors.get(gauge.sensor)
    if sensor is None or sensor.quantity != "pressure":
        expected = ", ".join(name for name, one in kind.sensors.items() if one.quantity == "pressure")
        raise InputError("instruments.gauge.sensor", f"no sensor of pressure {gauge.sensor!r}", expected)
    stated = _uncertainty_pa(sensor)
    if stated is None or gauge.uncertainty_pa < stated * (1.0 - 1e-9):
        told = "nothing" if stated is None else f"{stated / 100.0:g} mbar"
        raise InputError(
            "instruments.gauge.uncertainty",
            f"{gauge.uncertainty_pa / 100.0:g} mbar, of {gauge.sensor} the description states {told}",
            "the same in both; state in the description what the calibration found",
        )
    return OwnSensor(
        sensor_parameter(gauge.machine, gauge.sensor),
        sensor.place,
        gauge.uncertainty_pa / 2.0,
        greatest_pressure_pa(kind),
    )


def _uncertainty_pa(sensor: Sensor) -> float | None:
    return None if sensor.uncertainty is None else sensor.uncertainty * float(UNITS[sensor.quantity][sensor.unit][0])
