"""The pressure of the surroundings, which a sensor of absolute pressure shows too."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.criteria import shown
from patency.evidence.units import to_inside

if TYPE_CHECKING:
    from patency.evidence.record import CycleRecord


@dataclass(frozen=True, slots=True)
class Surroundings:
    """The pressure of the surroundings.

    Parameters
    ----------
    pressure_pa
        The absolute pressure [Pa].
    uncertainty_pa
        Its uncertainty [Pa]; None where not known.
    told
        Where it comes from, in words.
    """

    pressure_pa: float
    uncertainty_pa: float | None
    told: str


def surroundings_of(record: CycleRecord, first: int, last: int) -> Surroundings | str:
    """Return the pressure of the surroundings in a part of a record.

    A column at the place ``surroundings`` counts before what the description states for the whole record.

    Parameters
    ----------
    record
        The record.
    first
        First position of the part.
    last
        Last position of the part.

    Returns
    -------
    Surroundings or str
        The pressure, or why it is not known.
    """
    stated = _stated(record)
    columns = [trace for trace in record.of("pressure", "surroundings") if not trace.gauge]
    if not columns:
        return stated or "the pressure of the surroundings is not known"
    readings = columns[0].values[first : last + 1]
    readings = readings[~np.isnan(readings)]
    if not readings.size:
        return stated or "the sensor at the surroundings shows no value in the stage"
    value = float(np.median(readings))
    measured = Surroundings(value, columns[0].uncertainty, f"surroundings at {shown(value, 'Pa')} ({columns[0].name})")
    if stated is not None:
        apart = abs(stated.pressure_pa - measured.pressure_pa)
        if apart > (stated.uncertainty_pa or 0.0) + (measured.uncertainty_pa or 0.0):
            return f"the surroundings are stated and measured {shown(apart, 'Pa')} apart"
    return measured


def _stated(record: CycleRecord) -> Surroundings | None:
    stated = record.description.surroundings
    if stated is None:
        return None
    factor, _ = to_inside("pressure", stated.unit)
    uncertainty = None if stated.uncertainty is None else stated.uncertainty * factor
    pressure = stated.pressure * factor
    return Surroundings(pressure, uncertainty, f"surroundings at {shown(pressure, 'Pa')} ({stated.source})")
