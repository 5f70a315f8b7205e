"""A chain's loss as a curve of its flow near the nominal one: what the first steps go by, before any law is looked at.

The friction factor of each segment is a cubic of its Reynolds number over the nominal one, and goes straight with the
roughness. Of these a chain's loss over the square of its flow is a cubic of the flow over the nominal one, and what
its laminar segments lose goes straight with the flow.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from patency.flow.batch.lane_layout import (
    AT_4000,
    BEND,
    BY_REYNOLDS,
    BY_ROUGHNESS,
    CHAIN_LOSS,
    CHAIN_ROW,
    CURVE_0,
    CURVE_1,
    CURVE_2,
    CURVE_3,
    FASTEST,
    FIXED,
    FLOW,
    FRICTION,
    LINEAR,
    NEAR_FLOW,
    NEAR_INSIDE,
    NEAR_LOGARITHM,
    NEAR_REYNOLDS,
    NEAR_ROUGHNESS,
    OFF,
    ONE,
    REYNOLDS_PER_FLOW,
    ROUGHNESS,
    SEGMENT_ROW,
    SLOPE,
    STEEP_4000,
    THREE,
    TWO,
    USUAL_SLOPE,
)
from patency.flow.batch.near_one import NEAR, log_near_one
from patency.flow.kernels import LAMINAR_TO, TERM_AT_4000, TURBULENT_FROM, cubic_between, swamee_jain

if TYPE_CHECKING:
    import numpy as np

    from patency.flow.batch.lane_layout import Block, Floats, Nominal

SMALLEST_SLOPE = 1e-9  # of a chain's slope at 1 m/s, as of a single solve
_LOW, _HIGH = 0.88, 1.14  # of a ratio to the nominal: beyond, the curve is not followed
_LITTLE = 0.3  # of a friction factor: so much more or less for the roughness at most


def begin_curve(chain: Floats, to: np.uint64, lanes: np.uint64) -> None:
    """Begin a chain with nothing in it."""
    for lane in range(lanes):
        chain[to + FIXED + lane] = 0.0
        chain[to + LINEAR + lane] = 0.0
        chain[to + FASTEST + lane] = 0.0
        chain[to + CURVE_0 + lane] = 0.0
        chain[to + CURVE_1 + lane] = 0.0
        chain[to + CURVE_2 + lane] = 0.0
        chain[to + CURVE_3 + lane] = 0.0


def add_curve(
    near: Floats,
    segment: Floats,
    chain: Floats,
    scratch: Floats,
    row: np.uint64,
    to: np.uint64,
    lanes: np.uint64,
    turbulent: bool,  # noqa: FBT001 - in the nominal network, with room to spare
    near_flow: float,
) -> None:
    """Add a segment's friction to its chain's curve by what its law is near the nominal."""
    if not turbulent:
        at = row * SEGMENT_ROW
        friction_at_4000(segment, scratch, at, lanes, near[row, NEAR_INSIDE], near[row, NEAR_LOGARITHM])
    if not turbulent and LAMINAR_TO < near[row, NEAR_REYNOLDS] * near_flow < TURBULENT_FROM:
        add_between_to_curve(segment, chain, row * SEGMENT_ROW, to, lanes, near_flow)
    else:
        add_to_curve(near, segment, chain, row, to, lanes)


def add_to_curve(near: Floats, segment: Floats, chain: Floats, row: np.uint64, to: np.uint64, lanes: np.uint64) -> None:
    """Add a segment's friction to its chain's curve."""
    at, over = row * SEGMENT_ROW, 1.0 / near[row, NEAR_REYNOLDS]
    rough, by_roughness = near[row, NEAR_ROUGHNESS], near[row, BY_ROUGHNESS]
    f0, f1 = near[row, BY_REYNOLDS], near[row, BY_REYNOLDS + ONE]
    f2, f3 = near[row, BY_REYNOLDS + TWO], near[row, BY_REYNOLDS + THREE]
    most = _LITTLE * (f0 + f1 + f2 + f3)
    for lane in range(lanes):
        faster = segment[at + REYNOLDS_PER_FLOW + lane] * over
        faster = max(_LOW, faster)
        faster = min(_HIGH, faster)
        rougher = by_roughness * (segment[at + ROUGHNESS + lane] - rough)
        rougher = max(-most, rougher)
        rougher = min(most, rougher)
        friction = segment[at + FRICTION + lane]
        chain[to + CURVE_0 + lane] += friction * (f0 + rougher)
        friction *= faster
        chain[to + CURVE_1 + lane] += friction * f1
        friction *= faster
        chain[to + CURVE_2 + lane] += friction * f2
        friction *= faster
        chain[to + CURVE_3 + lane] += friction * f3


def add_between_to_curve(
    segment: Floats, chain: Floats, at: np.uint64, to: np.uint64, lanes: np.uint64, near_flow: float
) -> None:
    """Add the friction of a segment between the regimes, whose law is a cubic already, to its chain's curve."""
    for lane in range(lanes):
        x1, x2, x3, x4 = cubic_between(segment[at + AT_4000 + lane], segment[at + STEEP_4000 + lane])
        r = segment[at + REYNOLDS_PER_FLOW + lane] * (near_flow / LAMINAR_TO)
        friction = segment[at + FRICTION + lane]
        chain[to + CURVE_0 + lane] += friction * x1
        friction *= r
        chain[to + CURVE_1 + lane] += friction * x2
        friction *= r
        chain[to + CURVE_2 + lane] += friction * x3
        friction *= r
        chain[to + CURVE_3 + lane] += friction * x4


def loss_by_curve(nominal: Nominal, block: Block, k: np.uint64, lanes: np.uint64) -> None:
    """Work out a chain's loss, slope and bend by its curve: good enough for the first steps."""
    chain, near_chain = block.chain, nominal.of_chain
    to, over = k * CHAIN_ROW, 1.0 / near_chain[k, NEAR_FLOW]
    least = SMALLEST_SLOPE * near_chain[k, USUAL_SLOPE]
    for lane in range(lanes):
        flow, linear, c0 = (
            chain[to + FLOW + lane],
            chain[to + LINEAR + lane],
            chain[to + FIXED + lane] + chain[to + CURVE_0 + lane],
        )
        c1, c2, c3 = chain[to + CURVE_1 + lane], chain[to + CURVE_2 + lane], chain[to + CURVE_3 + lane]
        loss, slope, bend = by_curve(flow, flow * over, linear, c0, c1, c2, c3)
        chain[to + CHAIN_LOSS + lane] = loss
        chain[to + SLOPE + lane] = max(least, slope)
        chain[to + BEND + lane] = bend


def by_curve(
    flow: float, share: float, linear: float, c0: float, c1: float, c2: float, c3: float
) -> tuple[float, float, float]:
    """Work out loss, slope and bend of a curve at a flow, given too as a share of the nominal one."""
    t = min(_HIGH, max(_LOW, share))
    curve = c0 + t * (c1 + t * (c2 + t * c3))
    steep = share * (c1 + t * (2.0 * c2 + t * 3.0 * c3))
    bend = curve + 2.0 * steep + share * share * (c2 + 3.0 * t * c3)
    return (curve * flow + linear) * flow, (2.0 * curve + steep) * flow + linear, bend


def friction_at_4000(
    segment: Floats, scratch: Floats, at: np.uint64, lanes: np.uint64, near_inside: float, near_logarithm: float
) -> None:
    """Work out friction factor and its steepness at Reynolds 4000, from which the law between the regimes follows."""
    over, far = 1.0 / near_inside, 0
    for lane in range(lanes):
        ratio = (segment[at + ROUGHNESS + lane] + TERM_AT_4000) * over
        scratch[OFF + lane] = ratio
        far += 0 if abs(ratio - 1.0) <= NEAR else 1
    if far == 0:
        for lane in range(lanes):
            scratch[OFF + lane] = near_logarithm + log_near_one(scratch[OFF + lane] - 1.0)
    else:
        for lane in range(lanes):
            scratch[OFF + lane] = math.log(segment[at + ROUGHNESS + lane] + TERM_AT_4000)
    for lane in range(lanes):
        inside = segment[at + ROUGHNESS + lane] + TERM_AT_4000
        factor, steep = swamee_jain(scratch[OFF + lane], inside, TERM_AT_4000)
        segment[at + AT_4000 + lane] = factor
        segment[at + STEEP_4000 + lane] = steep
