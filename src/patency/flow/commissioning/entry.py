"""A fit as it is kept beside the department's description: numbered, with the ids of its content and its readings."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING, Any

from patency.catalogue import CommissionedFit, FittedCycles, FittedFactor, bench_fit_of, content_id, fit_in_force

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from patency.catalogue import BenchReading, BenchSetup, Department, Measurements
    from patency.flow.commissioning.cycles import KeptCycles
    from patency.flow.commissioning.fitting import BenchFit

_DIGITS = 9


def entry_of(
    department: Department, measurements: Measurements, fit: BenchFit, by: str, fitted_on: date, remark: str = ""
) -> CommissionedFit:
    """Make the entry of a fit.

    Parameters
    ----------
    department
        The department; the fit follows the last one to bench readings there.
    measurements
        What was fitted to.
    fit
        What was found.
    by
        Who answers for it.
    fitted_on
        Day of the fit.
    remark
        What its source says besides.

    Returns
    -------
    CommissionedFit
        The entry, with the next number and its id.
    """
    before = bench_fit_of(department, measurements.carrier, measurements.machine_kind)
    when = _days([one.reading.on for one in fit.readings if one.reading.on is not None])
    found = CommissionedFit(
        **_made(department, measurements.carrier, measurements.machine_kind, fit, by, fitted_on),
        source=f"{len(fit.readings)} readings {when}"
        + ("" if before is None else f", after fit {before.number}")
        + remark,
        readings=[
            one
            for one, read in zip(reading_ids(measurements), measurements.readings, strict=True)
            if read.value is not None
        ],
    )
    return found.model_copy(update={"id": content_id(found)})


def entry_of_cycles(
    department: Department, kept: Sequence[KeptCycles], fit: BenchFit, by: str, fitted_on: date, remark: str = ""
) -> CommissionedFit:
    """Make the entry of a fit to kept cycles.

    Parameters
    ----------
    department
        The department; the fit stands on that to bench readings there.
    kept
        The cycles.
    fit
        What was found.
    by
        Who answers for it.
    fitted_on
        Day of the fit.
    remark
        What its source says besides.

    Returns
    -------
    CommissionedFit
        The entry, with the next number and its id.
    """
    load, machine = kept[0].load, kept[0].baseline.machine
    before = bench_fit_of(department, load.carrier, load.machine_kind)
    count, records = len(kept), [record for one in kept for record in one.baseline.records]
    loads = "one load" if count == 1 else f"{count} loads"
    stands_on = "the description alone" if before is None else f"fit {before.number}"
    when = _days([day for one in kept for day in one.days])
    found = CommissionedFit(
        **_made(department, load.carrier, load.machine_kind, fit, by, fitted_on),
        source=f"{len(records)} cycles of {loads} in {machine} {when}, on top of {stands_on}{remark}",
        readings=[],
        cycles=FittedCycles(machine=machine, on_top_of=0 if before is None else before.number, records=records),
    )
    return found.model_copy(update={"id": content_id(found)})


def _days(given: Sequence[date]) -> str:
    """Say of which days something is."""
    days = sorted(set(given))
    return f"of {days[0]} to {days[-1]}" if len(days) > 1 else f"of {days[0]}" if days else "of days not stated"


def _made(
    department: Department, carrier: str, machine_kind: str, fit: BenchFit, by: str, fitted_on: date
) -> dict[str, Any]:
    """Give what every entry holds, whatever it was made from."""
    before = fit_in_force(department, carrier, machine_kind)
    factors = {}
    for row, name in enumerate(fit.after.names):
        low, factor, high = fit.interval(row)
        factors[name] = FittedFactor(factor=_short(factor), low=_short(low), high=_short(high))
    return {
        "carrier": carrier,
        "machine_kind": machine_kind,
        "number": 1 if before is None else before.number + 1,
        "id": "0" * 64,
        "fitted_on": fitted_on,
        "by": by,
        "pump_head_share": _short(fit.pump_head_share),
        "factors": factors,
        "covariance": [[_short(float(one)) for one in row] for row in fit.after.covariance],
    }


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
