"""A fit as it is kept beside the department's description: numbered, with the ids of its content and its readings."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING

from patency.catalogue import CommissionedFit, FittedFactor, content_id, fit_in_force

if TYPE_CHECKING:
    from datetime import date

    from patency.catalogue import BenchReading, BenchSetup, Department, Measurements
    from patency.flow.commissioning.fitting import BenchFit

_DIGITS = 9


def entry_of(
    department: Department, measurements: Measurements, fit: BenchFit, by: str, fitted_on: date
) -> CommissionedFit:
    """Make the entry of a fit.

    Parameters
    ----------
    department
        The department; the fit follows the one in force there.
    measurements
        What was fitted to.
    fit
        What was found.
    by
        Who answers for it.
    fitted_on
        Day of the fit.

    Returns
    -------
    CommissionedFit
        The entry, with the next number and its id.
    """
    before = fit_in_force(department, measurements.carrier, measurements.machine_kind)
    days = sorted({one.reading.on for one in fit.readings if one.reading.on is not None})
    when = f"of {days[0]} to {days[-1]}" if len(days) > 1 else f"of {days[0]}" if days else "of days not stated"
    factors = {}
    for row, name in enumerate(fit.after.names):
        low, factor, high = fit.interval(row)
        factors[name] = FittedFactor(factor=_short(factor), low=_short(low), high=_short(high))
    entry = CommissionedFit(
        carrier=measurements.carrier,
        machine_kind=measurements.machine_kind,
        number=1 if before is None else before.number + 1,
        id="0" * 64,
        fitted_on=fitted_on,
        by=by,
        source=f"{len(fit.readings)} readings {when}" + ("" if before is None else f", after fit {before.number}"),
        readings=[
            one
            for one, read in zip(reading_ids(measurements), measurements.readings, strict=True)
            if read.value is not None
        ],
        pump_head_share=_short(fit.pump_head_share),
        factors=factors,
        covariance=[[_short(float(one)) for one in row] for row in fit.after.covariance],
    )
    return entry.model_copy(update={"id": content_id(entry)})


def reading_ids(measurements: Measurements) -> list[str]:
    """Compute an id of each reading: what was read where on which day, whatever file, place and units it stood in.

    Corrected since or not, a reading stays the same one: uncertainties, heights and the water's temperature are left
    out. Of two readings that agree in all else, one counts as the other.

    Parameters
    ----------
    measurements
        Set-ups and readings.

    Returns
    -------
    list[str]
        SHA-256 of each reading's canonical JSON, 64 hexadecimal digits; of one that was not made, of its empty place.
    """
    return [_reading_id(measurements.setups.get(one.setup), one) for one in measurements.readings]


def _reading_id(setup: BenchSetup | None, reading: BenchReading) -> str:
    data = {
        "open": None if setup is None else sorted(setup.open),
        "fitted": None if setup is None else setup.fitted,
        "instrument": reading.instrument,
        "at": reading.at,
        "value": None if reading.value is None else _short(reading.value),
        "volume": None if reading.volume_m3 is None else _short(reading.volume_m3),
        "on": None if reading.on is None else reading.on.isoformat(),
    }
    text = json.dumps(data, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def _short(value: float) -> float:
    return float(f"{value:.{_DIGITS}g}")
