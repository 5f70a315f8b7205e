"""The least flow and the least wall shear that `fed` holds each lumen of a load against."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.flow.needs import Measure, criteria_for
from patency.load import pieces_of_set

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from patency.catalogue import Department
    from patency.flow.load_flow import LoadFlow
    from patency.flow.lumen_paths import LumenKey
    from patency.load import Load


@dataclass(frozen=True, slots=True)
class LeastValue:
    """What a number of a lumen has to reach.

    Parameters
    ----------
    value
        The limit, in the number's SI unit; of several the largest.
    in_date
        Whether all of these limits hold on the day of the decision.
    """

    value: float
    in_date: bool


@dataclass(frozen=True, slots=True)
class LeastValues:
    """What the water in one lumen has to reach.

    Parameters
    ----------
    flow_m3_s
        The least flow [m³/s]; a least number of exchanges counts as the flow that makes it; None where none is stated.
    shear_pa
        The least wall shear stress [Pa]; None where none is stated.
    others
        What else the lumen is held against, which no flow or shear stands for.
    """

    flow_m3_s: LeastValue | None
    shear_pa: LeastValue | None
    others: tuple[Measure, ...]


def least_values(department: Department, load: Load, load_flow: LoadFlow, day: date) -> dict[LumenKey, LeastValues]:
    """Find what flow and wall shear of every connected lumen have to reach.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    load_flow
        The water in it.
    day
        Day of the decision.

    Returns
    -------
    dict[LumenKey, LeastValues]
        Each lumen of the load's flow, by the same limits as `fed`. The site's least wall shear does not count over a
        nozzle, where no shear is known.
    """
    pieces = {(piece.set, piece.key): piece for name in load.sets for piece in pieces_of_set(department, name)}
    found = {}
    for key, flow in load_flow.lumens.items():
        set_name, piece, lumen = key
        criteria = criteria_for(department, load, pieces[set_name, piece], lumen, day)
        needed = {one.measure: (one.limit.value, one.limit.holds_on(day)) for one in criteria}
        exchanges = needed.pop(Measure.EXCHANGES, None)
        flows = [needed.pop(Measure.FLOW, None)]
        if exchanges is not None:
            flows.append((exchanges[0] * flow.volume_m3 / 60.0, exchanges[1]))
        shear = needed.pop(Measure.SHEAR, None)
        found[key] = LeastValues(_largest(flows), _largest([shear]), tuple(needed))
    return found


def _largest(values: Iterable[tuple[float, bool] | None]) -> LeastValue | None:
    stated = [one for one in values if one is not None]
    if not stated:
        return None
    return LeastValue(max(value for value, _ in stated), all(in_date for _, in_date in stated))
