"""Where a pressure or a flow can be measured, and what a sensor there shows in many solved scenarios."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from patency.flow.carrier_paths import DISCHARGE, DOCK, MACHINE, circuit_entry
from patency.quantities import UNITS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.catalogue import Carrier, Department, MachineKind
    from patency.flow.batch import ManyFlows
    from patency.flow.compiled_network import CompiledNetwork
    from patency.load import Load

    Floats = NDArray[np.float64]

CIRCULATION = "circulation"


class Measured(StrEnum):
    """What a sensor of the water's course measures."""

    PRESSURE = "pressure"
    FLOW = "flow"


@dataclass(frozen=True, slots=True)
class SensorPoint:
    """A sensor, fitted or thought of, and where in the network it is.

    Parameters
    ----------
    name
        The sensor's key; for one thought of what and where it would be.
    measured
        What it measures.
    place
        ``circulation``, ``dock`` or a circuit.
    node
        Node whose pressure it shows; empty for a flow.
    link
        Link whose flow it shows; empty for a pressure.
    deviation
        Standard deviation of one reading [Pa or m³/s]; None where nobody states the sensor's uncertainty.
    """

    name: str
    measured: Measured
    place: str
    node: str
    link: str
    deviation: float | None


def fitted_sensors(department: Department, load: Load) -> tuple[SensorPoint, ...]:
    """List the sensors of pressure and flow that a load's machine has, those of other carriers' circuits left out.

    Parameters
    ----------
    department
        The department.
    load
        The load.

    Returns
    -------
    tuple[SensorPoint, ...]
        The sensors in the order of the catalogue. Flow in a circuit that branches off at its very beginning cannot be
        computed there, and its sensor is left out.
    """
    machine, carrier = department.machine_kinds[load.machine_kind], department.carriers[load.carrier]
    found = []
    for key, sensor in machine.sensors.items():
        if sensor.quantity in set(Measured) and sensor.place in (CIRCULATION, DOCK, *carrier.circuits):
            expanded = (
                None
                if sensor.uncertainty is None
                else sensor.uncertainty * float(UNITS[sensor.quantity][sensor.unit][0])
            )
            deviation = None if expanded is None else expanded / 2.0  # the catalogue states k = 2
            point = sensor_point(carrier, key, Measured(sensor.quantity), sensor.place, deviation)
            found += [point] if point is not None else []
    return tuple(found)


def thought_of(machine: MachineKind, carrier: Carrier, deviations: dict[Measured, float]) -> tuple[SensorPoint, ...]:
    """List every sensor of pressure and flow that could be added at the machine, the dock and the carrier's circuits.

    Parameters
    ----------
    machine
        The kind of machine, with what it has.
    carrier
        The carrier.
    deviations
        Standard deviation of one reading of such a sensor [Pa, m³/s].

    Returns
    -------
    tuple[SensorPoint, ...]
        One for each place and quantity that has none.
    """
    fitted = {(sensor.quantity, sensor.place) for sensor in machine.sensors.values()}
    points = (
        sensor_point(carrier, f"{measured} at {place}", measured, place, deviation)
        for place in (CIRCULATION, DOCK, *carrier.circuits)
        for measured, deviation in deviations.items()
        if (measured.value, place) not in fitted
    )
    return tuple(point for point in points if point is not None)


def sensor_point(
    carrier: Carrier, name: str, measured: Measured, place: str, deviation: float | None
) -> SensorPoint | None:
    """Find where in a network a sensor stands.

    Parameters
    ----------
    carrier
        The carrier.
    name
        The sensor.
    measured
        What it measures.
    place
        ``circulation``, ``dock`` or a circuit of the carrier.
    deviation
        Standard deviation of one reading [Pa or m³/s].

    Returns
    -------
    SensorPoint | None
        The sensor; None where the network has no one link with the flow it would measure.

    Raises
    ------
    InputError
        If the carrier has no such circuit.
    """
    at = {CIRCULATION: (MACHINE, DISCHARGE), DOCK: (DOCK, DOCK)}
    node, link = at[place] if place in at else circuit_entry(carrier, place)
    if measured is Measured.PRESSURE:
        return SensorPoint(name, measured, place, node, "", deviation)
    return SensorPoint(name, measured, place, "", link, deviation) if link else None


def shown_by(points: Sequence[SensorPoint], compiled: CompiledNetwork, flows: ManyFlows) -> Floats:
    """Read sensors off many solutions.

    Parameters
    ----------
    points
        The sensors.
    compiled
        The network that was solved, with its water.
    flows
        The solutions.

    Returns
    -------
    NDArray
        Shape (scenarios, sensors): gauge pressure reckoned at the sump's level, its velocity head included [Pa], or
        flow [m³/s]; not-a-number where not solved.
    """
    weight = compiled.water.density_kg_m3 * compiled.gravity_m_s2
    shown = np.empty((flows.state.size, len(points)))
    for column, point in enumerate(points):
        if point.measured is Measured.PRESSURE:
            head = flows.head_m[:, compiled.node_names.index(point.node)]
            shown[:, column] = weight * (head - compiled.pump.sump_level_m)
        else:
            shown[:, column] = flows.flow_m3_s[:, compiled.chain_names.index(point.link)]
    return shown
