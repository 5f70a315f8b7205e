"""Signs that a column is written in another unit than it is described in; told, never repaired."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.findings import Finding, FindingKind
from patency.evidence.units import RECORD_UNITS

if TYPE_CHECKING:
    from patency.evidence.record import Trace

# Between which ends the high level of such a column lies in a washer-disinfector or sterilizer, in °C and Pa, the
# pressure as a difference to the lowest reading. Wide on purpose, and they decide nothing: only a hint is given.
_USUAL = {"temperature": (20.0, 150.0), "pressure": (3e3, 5e5)}
# The highest reading of an absolute pressure: some time it is that of the surroundings at least.
_USUAL_ABSOLUTE_PA = (6e4, 6e5)


def unit_doubt(trace: Trace, written_unit: str, written: np.ndarray) -> Finding | None:
    """Tell whether a column looks as if it were written in another unit.

    Parameters
    ----------
    trace
        The column as read.
    written_unit
        The unit it is described in.
    written
        Its values as written, shape (n,).

    Returns
    -------
    Finding or None
        Naming the units that would make its values usual ones; None where they are, or where none would.
    """
    usual = _USUAL.get(trace.quantity) if trace.gauge else _USUAL_ABSOLUTE_PA
    values = written[~np.isnan(written)]
    if usual is None or not values.size:
        return None
    rest = float(values.min()) if trace.quantity == "pressure" else 0.0
    high = float(np.percentile(values, 95)) - rest if trace.gauge else float(values.max())
    units = RECORD_UNITS[trace.quantity]

    def fits(unit: str) -> bool:
        factor, offset = units[unit]
        return usual[0] <= high * float(factor) + float(offset) <= usual[1]

    if fits(written_unit) or high <= 0:
        return None
    others = [unit for unit in units if fits(unit)]
    if not others:
        return None
    message = (
        f"described in {written_unit}, but its values would be usual ones in {' or '.join(others)}; read as described"
    )
    return Finding(FindingKind.UNIT_DOUBT, message, trace.name)
