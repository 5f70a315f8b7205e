"""The law of friction for a block of scenarios."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from patency.flow.batch.lane_curves import SMALLEST_SLOPE
from patency.flow.batch.lane_layout import (
    AT_4000,
    BEND,
    CHAIN_LOSS,
    CHAIN_ROW,
    FACTOR,
    FASTEST,
    FIXED,
    FLOW,
    FLOW_POWER,
    FOUR,
    FRICTION,
    INSIDE,
    LAMINAR,
    LINEAR,
    NEAR_FLOW,
    NEAR_FLOW_POWER,
    NEAR_INSIDE,
    NEAR_LOGARITHM,
    OFF,
    ONE,
    ORIFICE,
    PAST_FLOW,
    REYNOLDS_PER_FLOW,
    REYNOLDS_POWER,
    ROOM,
    ROUGHNESS,
    SEGMENT_ROW,
    SLOPE,
    STEEP_4000,
    STEEPNESS,
    TERM,
    THREE,
    TURBULENT,
    TWIST,
    TWO,
    USUAL_SLOPE,
)
from patency.flow.batch.near_one import (
    LEAST,
    MOST,
    NEAR,
    log_further_off,
    log_near_one,
    power_further_off,
    power_near_one,
)
from patency.flow.kernels import (
    LAMINAR_TO,
    TERM_AT_4000,
    TURBULENT_FROM,
    cubic_between,
    friction_factor_and_slope,
    swamee_jain,
)

if TYPE_CHECKING:
    from patency.flow.batch.lane_layout import Block, Floats, Nominal

_STILL = 3e-5  # relative move of a flow over which a loss follows its tangent and bend to all digits that count
_NEAR_TURN = 5e-6  # and over which it does so across Reynolds 2000 or 4000, where the bend leaps
_SURELY_LAMINAR = (1.0 - _STILL) * LAMINAR_TO
_TERM_SURELY_TURBULENT = (1.0 - _STILL) * TERM_AT_4000


def loss_by_law(nominal: Nominal, block: Block, k: np.uint64, lanes: np.uint64) -> None:
    """Work out a chain's loss, slope and bend by the law."""
    chain, scratch, segment, near, near_chain = (
        block.chain,
        block.scratch,
        block.segment,
        nominal.of_segment,
        nominal.of_chain,
    )
    start, kind, regime = nominal.start, nominal.kind, nominal.regime
    to, powered = k * CHAIN_ROW, False
    together = begin_chain(chain, to, lanes)
    for number in range(start[k], start[k + ONE]):
        row = np.uint64(number)
        if kind[row] == ORIFICE or (together and regime[row] == LAMINAR):
            continue
        if regime[row] == LAMINAR:
            add_alone(segment, chain, row * SEGMENT_ROW, to, lanes)
            continue
        if not powered:
            powered = True
            take_power(chain, scratch, to, lanes, near_chain[k, NEAR_FLOW], near_chain[k, NEAR_FLOW_POWER])
        add_friction(near, segment, chain, scratch, row, to, lanes, regime[row] == TURBULENT)
    finish_chain(chain, to, lanes, SMALLEST_SLOPE * near_chain[k, USUAL_SLOPE])


def follow_bend(chain: Floats, to: np.uint64, lanes: np.uint64) -> bool:
    """Bring a chain's loss up to its flow by tangent and bend; False where a flow moved too far for that."""
    far = 0
    for lane in range(lanes):
        moved = abs(chain[to + FLOW + lane] - chain[to + PAST_FLOW + lane])
        far += 0 if moved <= chain[to + ROOM + lane] * abs(chain[to + FLOW + lane]) else 1
    if far > 0:
        return False
    for lane in range(lanes):
        moved = chain[to + FLOW + lane] - chain[to + PAST_FLOW + lane]
        bend = moved * chain[to + BEND + lane]
        chain[to + CHAIN_LOSS + lane] += moved * (chain[to + SLOPE + lane] + bend)
        chain[to + SLOPE + lane] += 2.0 * bend
        chain[to + PAST_FLOW + lane] = chain[to + FLOW + lane]
    return True


def begin_chain(chain: Floats, to: np.uint64, lanes: np.uint64) -> bool:
    """Begin a chain's loss over flow with what the law is not needed for; whether the laminar segments still are."""
    faster = 0
    for lane in range(lanes):
        faster += 0 if chain[to + FASTEST + lane] * chain[to + FLOW + lane] <= _SURELY_LAMINAR else 1
    share = 1.0 if faster == 0 else 0.0
    for lane in range(lanes):
        loss, linear = chain[to + FIXED + lane] * chain[to + FLOW + lane], share * chain[to + LINEAR + lane]
        chain[to + CHAIN_LOSS + lane] = loss + linear
        chain[to + SLOPE + lane] = 2.0 * loss + linear
        chain[to + BEND + lane] = chain[to + FIXED + lane]
        chain[to + ROOM + lane] = _STILL
    return faster == 0


def finish_chain(chain: Floats, to: np.uint64, lanes: np.uint64, least: float) -> None:
    """Turn loss over flow into loss, keep the slope off zero, and note at which flow this was."""
    for lane in range(lanes):
        slope, flow = chain[to + SLOPE + lane], chain[to + FLOW + lane]
        chain[to + CHAIN_LOSS + lane] *= flow
        chain[to + SLOPE + lane] = max(least, slope)
        chain[to + PAST_FLOW + lane] = flow


def add_friction(
    near: Floats,
    segment: Floats,
    chain: Floats,
    scratch: Floats,
    row: np.uint64,
    to: np.uint64,
    lanes: np.uint64,
    turbulent: bool,  # noqa: FBT001 - in the nominal network, with room to spare
) -> None:
    """Add the friction of a segment that is not laminar with room to spare."""
    at, turbulents = row * SEGMENT_ROW, 0  # counted: the smallest of floats would keep the lanes apart
    if not turbulent:
        for lane in range(lanes):
            reynolds = segment[at + REYNOLDS_PER_FLOW + lane] * chain[to + FLOW + lane]
            turbulents += 1 if reynolds >= TURBULENT_FROM else 0
    if not turbulent and turbulents == 0:
        add_slower(segment, chain, at, to, lanes)
    elif (turbulent or turbulents == lanes) and all_turbulent(segment, scratch, at, lanes, near[row, NEAR_INSIDE]):
        add_turbulent(near, segment, chain, scratch, row, to, lanes)
    else:
        take_logarithm(segment, scratch, at, lanes, near[row, NEAR_INSIDE], near[row, NEAR_LOGARITHM])
        add_any(segment, chain, scratch, at, to, lanes)


def all_turbulent(segment: Floats, scratch: Floats, at: np.uint64, lanes: np.uint64, near_inside: float) -> bool:
    """Tell whether a segment is turbulent in all lanes and what stands in the logarithm near the nominal."""
    over, far = 1.0 / near_inside, 0
    for lane in range(lanes):
        term = segment[at + REYNOLDS_POWER + lane] * scratch[FLOW_POWER + lane]
        off = (segment[at + ROUGHNESS + lane] + term) * over - 1.0
        far += 0 if (abs(off) <= NEAR) & (term <= _TERM_SURELY_TURBULENT) else 1
    return far == 0


def add_turbulent(
    near: Floats, segment: Floats, chain: Floats, scratch: Floats, row: np.uint64, to: np.uint64, lanes: np.uint64
) -> None:
    """Add the friction of a segment whose factor is a polynomial of what stands in the law's logarithm."""
    at, over = row * SEGMENT_ROW, 1.0 / near[row, NEAR_INSIDE]
    f, s = FACTOR, STEEPNESS
    f0, f1, f2, f3 = near[row, f], near[row, f + ONE], near[row, f + TWO], near[row, f + THREE]
    f += FOUR
    f4, f5, f6, f7 = near[row, f], near[row, f + ONE], near[row, f + TWO], near[row, f + THREE]
    f += FOUR
    f8, f9, f10 = near[row, f], near[row, f + ONE], near[row, f + TWO]
    s0, s1, s2, s3 = near[row, s], near[row, s + ONE], near[row, s + TWO], near[row, s + THREE]
    s += FOUR
    s4, s5, twist = near[row, s], near[row, s + ONE], near[row, TWIST]
    for lane in range(lanes):
        term = segment[at + REYNOLDS_POWER + lane] * scratch[FLOW_POWER + lane]
        x = (segment[at + ROUGHNESS + lane] + term) * over - 1.0
        factor = ((((f0 * x + f1) * x + f2) * x + f3) * x + f4) * x + f5
        factor = ((((factor * x + f6) * x + f7) * x + f8) * x + f9) * x + f10
        steep = ((((s0 * x + s1) * x + s2) * x + s3) * x + s4) * x + s5
        head = segment[at + FRICTION + lane] * chain[to + FLOW + lane]
        chain[to + CHAIN_LOSS + lane] += factor * head
        chain[to + SLOPE + lane] += (2.0 * factor + steep * term) * head
        chain[to + BEND + lane] += segment[at + FRICTION + lane] * (factor + 2.0 * steep * term + twist)


def add_slower(segment: Floats, chain: Floats, at: np.uint64, to: np.uint64, lanes: np.uint64) -> None:
    """Add the friction of a segment that is laminar or between the regimes in all lanes."""
    for lane in range(lanes):
        flow, friction = chain[to + FLOW + lane], segment[at + FRICTION + lane]
        per_flow = segment[at + REYNOLDS_PER_FLOW + lane]
        x1, x2, x3, x4 = cubic_between(segment[at + AT_4000 + lane], segment[at + STEEP_4000 + lane])
        r = per_flow * flow * (1.0 / LAMINAR_TO)
        factor = x1 + r * (x2 + r * (x3 + r * x4))
        rise = 2.0 * x1 + r * (3.0 * x2 + r * (4.0 * x3 + r * 5.0 * x4))
        bend = x1 + r * (3.0 * x2 + r * (6.0 * x3 + r * 10.0 * x4))
        laminar, linear = r <= 1.0, 64.0 * friction / per_flow
        chain[to + CHAIN_LOSS + lane] += linear if laminar else factor * friction * flow
        chain[to + SLOPE + lane] += linear if laminar else rise * friction * flow
        chain[to + BEND + lane] += 0.0 if laminar else bend * friction
        chain[to + ROOM + lane] = min(chain[to + ROOM + lane], room_for(r))


def room_for(r: float) -> float:
    """Tell how far a flow may move by tangent and bend, by its Reynolds number over 2000."""
    return max(_NEAR_TURN, min(abs(r - 1.0), 0.5 * abs(r - 2.0)))


def add_alone(segment: Floats, chain: Floats, at: np.uint64, to: np.uint64, lanes: np.uint64) -> None:
    """Add the friction of a segment that is laminar in the nominal network but not, or its neighbour not, in a lane."""
    for lane in range(lanes):
        flow, friction = chain[to + FLOW + lane], segment[at + FRICTION + lane]
        per_flow = segment[at + REYNOLDS_PER_FLOW + lane]
        loss, bend = 64.0 * friction / per_flow, 0.0
        slope = loss
        if per_flow * flow > LAMINAR_TO:
            rough = 3.7 * segment[at + ROUGHNESS + lane]
            factor, steep = friction_factor_and_slope(per_flow * flow, rough)
            loss, slope = factor * friction * flow, (2.0 * factor + steep) * friction * flow
            bend = bend_of_power(factor, steep) * friction
        chain[to + CHAIN_LOSS + lane] += loss
        chain[to + SLOPE + lane] += slope
        chain[to + BEND + lane] += bend
        chain[to + ROOM + lane] = _NEAR_TURN


def bend_of_power(factor: float, steep: float) -> float:
    """Take the bend of a loss whose friction factor goes with a power of the flow, over what it takes the factor by."""
    return factor + 2.0 * steep + 0.5 * steep * (steep / factor - 1.0)


def take_power(
    chain: Floats, scratch: Floats, to: np.uint64, lanes: np.uint64, near_flow: float, near_power: float
) -> None:
    """Work out a chain's flow to the power of -0.9, once for all its segments."""
    over, far, very_far = 1.0 / near_flow, 0, 0
    for lane in range(lanes):
        flow = chain[to + FLOW + lane]
        ratio = flow * over if flow > 0.0 else 1.0  # where nothing flows nothing depends on it
        scratch[OFF + lane] = ratio
        far += 0 if abs(ratio - 1.0) <= NEAR else 1
        very_far += 0 if (ratio >= LEAST) & (ratio <= MOST) else 1
    if far == 0:
        for lane in range(lanes):
            scratch[FLOW_POWER + lane] = near_power * power_near_one(scratch[OFF + lane] - 1.0)
    elif very_far == 0:
        for lane in range(lanes):
            scratch[FLOW_POWER + lane] = near_power * power_further_off(scratch[OFF + lane])
    else:
        for lane in range(lanes):
            scratch[FLOW_POWER + lane] = max(chain[to + FLOW + lane], 1e-30) ** -0.9


def take_logarithm(
    segment: Floats, scratch: Floats, at: np.uint64, lanes: np.uint64, near_inside: float, near_logarithm: float
) -> None:
    """Work out what stands in the law's logarithm, at Reynolds 4000 at least, and the logarithm."""
    over, far, very_far = 1.0 / near_inside, 0, 0
    for lane in range(lanes):
        term = segment[at + REYNOLDS_POWER + lane] * scratch[FLOW_POWER + lane]
        term = min(term, TERM_AT_4000)
        inside = segment[at + ROUGHNESS + lane] + term
        ratio = inside * over
        scratch[TERM + lane] = term
        scratch[INSIDE + lane] = inside
        scratch[OFF + lane] = ratio
        far += 0 if abs(ratio - 1.0) <= NEAR else 1
        very_far += 0 if (ratio >= LEAST) & (ratio <= MOST) else 1
    if far == 0:
        for lane in range(lanes):
            scratch[OFF + lane] = near_logarithm + log_near_one(scratch[OFF + lane] - 1.0)
    elif very_far == 0:
        for lane in range(lanes):
            scratch[OFF + lane] = near_logarithm + log_further_off(scratch[OFF + lane])
    else:
        for lane in range(lanes):
            scratch[OFF + lane] = math.log(scratch[INSIDE + lane])


def add_any(segment: Floats, chain: Floats, scratch: Floats, at: np.uint64, to: np.uint64, lanes: np.uint64) -> None:
    """Add the friction of a segment whose lanes differ in regime, or lie far from the nominal."""
    for lane in range(lanes):
        factor, steep = swamee_jain(scratch[OFF + lane], scratch[INSIDE + lane], scratch[TERM + lane])
        flow, friction = chain[to + FLOW + lane], segment[at + FRICTION + lane]
        per_flow = segment[at + REYNOLDS_PER_FLOW + lane]
        x1, x2, x3, x4 = cubic_between(factor, steep)
        r = per_flow * flow * (1.0 / LAMINAR_TO)
        turbulent, laminar = r >= 2.0, r <= 1.0
        lost = factor if turbulent else x1 + r * (x2 + r * (x3 + r * x4))
        rise = 2.0 * factor + steep if turbulent else 2.0 * x1 + r * (3.0 * x2 + r * (4.0 * x3 + r * 5.0 * x4))
        between = x1 + r * (3.0 * x2 + r * (6.0 * x3 + r * 10.0 * x4))
        bend = bend_of_power(factor, steep) if turbulent else between
        linear = 64.0 * friction / per_flow
        chain[to + CHAIN_LOSS + lane] += linear if laminar else lost * friction * flow
        chain[to + SLOPE + lane] += linear if laminar else rise * friction * flow
        chain[to + BEND + lane] += 0.0 if laminar else bend * friction
        chain[to + ROOM + lane] = min(chain[to + ROOM + lane], room_for(r))
