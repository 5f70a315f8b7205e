"""Which column of a record is that of which sensor of the machine."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.evidence.units import RECORD_UNITS

if TYPE_CHECKING:
    from patency.catalogue import Sensor
    from patency.evidence.prediction import LoadMachine
    from patency.evidence.record import CycleRecord, Trace


def recordable(machine: LoadMachine) -> dict[str, Sensor]:
    """Return the sensors of a machine that a record can hold.

    Parameters
    ----------
    machine
        The machine.

    Returns
    -------
    dict
        Those of a quantity that a column can have.
    """
    return {name: sensor for name, sensor in machine.sensors.items() if sensor.quantity in RECORD_UNITS}


def sensors_of_columns(record: CycleRecord, machine: LoadMachine) -> dict[str, str]:
    """Tell whose column each is: a column stands for one sensor at most, one of the same name for that one first.

    Parameters
    ----------
    record
        The record.
    machine
        The machine it should come from.

    Returns
    -------
    dict
        Column to the sensor's key; sensors without a column and columns without a sensor are left out.
    """
    sensors = recordable(machine)
    found: dict[str, str] = {}
    for key in sorted(sensors, key=lambda name: name not in record.traces):
        fitting = [t for t in record.traces.values() if t.name not in found and _is_of(t, sensors[key])]
        if fitting:
            found[key if any(t.name == key for t in fitting) else fitting[0].name] = key
    return found


def _is_of(trace: Trace, sensor: Sensor) -> bool:
    """Tell whether a column is that of a sensor: its place goes on from the sensor's, or says it in fewer words."""
    place = sensor.place.casefold()
    same = trace.at(place) or set(trace.place.casefold().split()) <= set(place.split())
    return trace.quantity == sensor.quantity and same
