"""What is read of every lumen in many faults, and the lower ends of it, fault by fault.

Plain Python over arrays, like the other kernels.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.flow.kernels import LAMINAR_TO, TURBULENT_FROM, between_regimes
from patency.flow.reading_kernels import friction, least

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Bools = NDArray[np.bool_]
    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]

_MOST_BIT = 62  # as of unsure_bits


class PathRows(NamedTuple):
    """Segments of paths, those of each path together."""

    start: Integers  # [path + 1] where the rows of each path begin
    chain: Integers  # [row]
    opening: Bools  # [row]
    area: Floats  # [fault, row] m2
    gap: Floats  # [fault, row] hydraulic diameter, m
    gain: Floats  # [fault, row] Reynolds number that decides over the plain one
    rough: Floats  # [fault, row] over the hydraulic diameter
    factor_4000: Floats  # [fault, row] friction factor at Reynolds 4000
    steep_4000: Floats  # [fault, row] and Re df/dRe there
    other: Floats  # [fault, row] friction over that by the law


def read_paths(
    rows: PathRows,
    flows: Floats,
    viscosity: float,
    density: float,
    velocity: Floats,
    shear: Floats,
    unsure: Integers,
) -> None:
    """Find the least velocity and shear along every path, and which segments leave the state of flow open."""
    for fault in range(flows.shape[0]):
        for path in range(rows.start.size - 1):
            slowest, weakest, bits = np.inf, np.inf, 0
            for row in range(rows.start[path], rows.start[path + 1]):
                speed = abs(flows[fault, rows.chain[row]]) / rows.area[fault, row]
                reynolds, factor = 0.0, 0.0
                if not rows.opening[row]:
                    reynolds = speed * rows.gap[fault, row] * rows.gain[fault, row] / viscosity
                    if (reynolds > LAMINAR_TO) & (reynolds < TURBULENT_FROM):
                        at_4000 = rows.factor_4000[fault, row], rows.steep_4000[fault, row]
                        factor, _ = between_regimes(reynolds, *at_4000)
                        bits |= 1 << min(row - rows.start[path], _MOST_BIT)
                    else:
                        factor = friction(reynolds, 0.0, rows.rough[fault, row])
                    factor *= rows.other[fault, row]
                slowest = least(speed, slowest)
                weakest = least(factor * density * speed * speed / 8.0, weakest)
            velocity[fault, path], shear[fault, path], unsure[fault, path] = slowest, weakest, bits


def share_between(flow: float, bits: int, lumen: int, flow_at: Floats, unsure_at: Integers) -> tuple[int, int, float]:
    """Find between which speeds of the pump a flow lies, of those at which the same segments are unsure.

    Speeds fall from row to row. Returns the slower, the faster and the share of the faster.
    """
    same = False
    for speed in range(flow_at.shape[0]):
        same = same or unsure_at[speed, lumen] == bits
        if same:
            break
    below, above = -1, -1
    for speed in range(flow_at.shape[0]):
        if not same or unsure_at[speed, lumen] == bits:
            above = speed if flow_at[speed, lumen] >= flow else above
            if flow_at[speed, lumen] <= flow:
                below = speed
                break
    above, below = below if above < 0 else above, above if below < 0 else below
    if above < 0:  # no flow: not-a-number stays one whatever its share
        return 0, 0, 0.0
    lower, upper = flow_at[below, lumen], flow_at[above, lumen]
    return below, above, (flow - lower) / (upper - lower) if upper > lower else 0.0


def take_ends(
    flow: Floats, unsure: Integers, flow_at: Floats, unsure_at: Integers, shares: Floats, values: Floats
) -> None:
    """Turn numbers, shape (numbers, faults, lumens), into ends by their shares, shape (numbers, speeds, lumens)."""
    for fault in range(flow.shape[0]):
        for lumen in range(flow.shape[1]):
            below, above, weight = share_between(flow[fault, lumen], unsure[fault, lumen], lumen, flow_at, unsure_at)
            for number in range(values.shape[0]):
                share = (1.0 - weight) * shares[number, below, lumen] + weight * shares[number, above, lumen]
                values[number, fault, lumen] *= share
