"""The law of friction for a block of scenarios, and for a first step the law linearised."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from patency.flow.batch.lane_layout import (
    BY_REYNOLDS,
    BY_ROUGHNESS,
    CHAIN_LOSS,
    CHAIN_ROW,
    FIXED,
    FLOW,
    FLOW_POWER,
    FRICTION,
    INSIDE,
    LAMINAR,
    NEAR_FACTOR,
    NEAR_FLOW,
    NEAR_FLOW_POWER,
    NEAR_INSIDE,
    NEAR_LOGARITHM,
    NEAR_REYNOLDS,
    NEAR_ROUGHNESS,
    OFF,
    ONE,
    ORIFICE,
    REYNOLDS_PER_FLOW,
    REYNOLDS_POWER,
    ROUGHNESS,
    SEGMENT_ROW,
    SLOPE,
    TERM,
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
from patency.flow.kernels import LAMINAR_TO, TURBULENT_FROM

if TYPE_CHECKING:
    from patency.flow.batch.lane_layout import Block, Floats, Nominal

_TWO_OVER_LN10 = 2.0 / math.log(10.0)
_AT_4000 = 5.74 * TURBULENT_FROM**-0.9
_SMALLEST_SLOPE = 1e-9  # as of a single solve


def losses_nearby(nominal: Nominal, block: Block, lanes: np.uint64) -> None:
    """Work out all losses and slopes by the law linearised at the nominal network: good enough for a first step."""
    chain, segment = block.chain, block.segment
    start, kind, near, near_chain = nominal.start, nominal.kind, nominal.of_segment, nominal.of_chain
    for k in range(np.uint64(near_chain.shape[0])):
        to = np.uint64(k) * CHAIN_ROW
        begin_chain(chain, to, lanes)
        for each in range(start[np.uint64(k)], start[np.uint64(k) + ONE]):
            row = np.uint64(each)
            if kind[row] == ORIFICE:
                continue
            at, rough = row * SEGMENT_ROW, near[row, NEAR_ROUGHNESS]
            factor, power = near[row, NEAR_FACTOR], near[row, BY_REYNOLDS]
            base = factor * (1.0 - power - near[row, BY_ROUGHNESS])
            by_reynolds = factor * power / (near[row, NEAR_REYNOLDS] * near_chain[np.uint64(k), NEAR_FLOW])
            by_roughness = factor * near[row, BY_ROUGHNESS] * 3.7 / rough if rough > 0.0 else 0.0
            least, most = 0.3 * factor, 3.0 * factor
            for lane in range(lanes):
                flow = chain[to + FLOW + lane]
                about = base + by_reynolds * segment[at + REYNOLDS_PER_FLOW + lane] * flow
                about += by_roughness * segment[at + ROUGHNESS + lane]
                about = max(least, about)
                about = min(most, about)
                head = about * segment[at + FRICTION + lane] * flow
                chain[to + CHAIN_LOSS + lane] += head
                chain[to + SLOPE + lane] += (2.0 + power) * head
        finish_chain(chain, to, lanes, near_chain[np.uint64(k), USUAL_SLOPE])


def begin_chain(chain: Floats, to: np.uint64, lanes: np.uint64) -> None:
    """Begin a chain's loss over flow with what does not depend on the Reynolds number."""
    for lane in range(lanes):
        loss = chain[to + FIXED + lane] * chain[to + FLOW + lane]
        chain[to + CHAIN_LOSS + lane] = loss
        chain[to + SLOPE + lane] = 2.0 * loss


def finish_chain(chain: Floats, to: np.uint64, lanes: np.uint64, usual_slope: float) -> None:
    """Turn loss over flow into loss, and keep the slope off zero."""
    least = _SMALLEST_SLOPE * usual_slope
    for lane in range(lanes):
        slope = chain[to + SLOPE + lane]
        chain[to + CHAIN_LOSS + lane] *= chain[to + FLOW + lane]
        chain[to + SLOPE + lane] = max(least, slope)


def losses(nominal: Nominal, block: Block, lanes: np.uint64) -> None:
    """Work out all losses and slopes by the law."""
    chain, scratch, segment = block.chain, block.scratch, block.segment
    start, kind, near, near_chain = nominal.start, nominal.kind, nominal.of_segment, nominal.of_chain
    for k in range(np.uint64(near_chain.shape[0])):
        to, known = np.uint64(k) * CHAIN_ROW, False
        begin_chain(chain, to, lanes)
        for each in range(start[np.uint64(k)], start[np.uint64(k) + ONE]):
            row = np.uint64(each)
            if kind[row] == ORIFICE:
                continue
            at = row * SEGMENT_ROW
            laminars, turbulents = 0, 0  # counted: the smallest of floats would keep the lanes apart
            for lane in range(lanes):
                reynolds = segment[at + REYNOLDS_PER_FLOW + lane] * chain[to + FLOW + lane]
                laminars += 1 if reynolds <= LAMINAR_TO else 0
                turbulents += 1 if reynolds >= TURBULENT_FROM else 0
            if laminars == lanes:
                for lane in range(lanes):
                    chain[to + CHAIN_LOSS + lane] += segment[at + LAMINAR + lane]
                    chain[to + SLOPE + lane] += segment[at + LAMINAR + lane]
                continue
            if not known:
                known = True
                near_flow, near_power = near_chain[np.uint64(k), NEAR_FLOW], near_chain[np.uint64(k), NEAR_FLOW_POWER]
                take_power(chain, scratch, to, lanes, near_flow, near_power)
            take_logarithm(segment, scratch, at, lanes, near[row, NEAR_INSIDE], near[row, NEAR_LOGARITHM])
            if turbulents == lanes:
                add_turbulent(segment, chain, scratch, at, to, lanes)
            else:
                add_any(segment, chain, scratch, at, to, lanes)
        finish_chain(chain, to, lanes, near_chain[np.uint64(k), USUAL_SLOPE])


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
        term = 5.74 * segment[at + REYNOLDS_POWER + lane] * scratch[FLOW_POWER + lane]
        term = min(term, _AT_4000)
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


def swamee_jain(logarithm: float, inside: float, term: float) -> tuple[float, float]:
    """Friction factor f and Re df/dRe of turbulent flow, from what stands in the law's logarithm."""
    inverse = 1.0 / (-_TWO_OVER_LN10 * logarithm * inside)
    root = inverse * inside
    factor = root * root
    return factor, -1.8 * _TWO_OVER_LN10 * factor * term * inverse


def add_turbulent(
    segment: Floats, chain: Floats, scratch: Floats, at: np.uint64, to: np.uint64, lanes: np.uint64
) -> None:
    """Add the friction of a segment that is turbulent in all lanes."""
    for lane in range(lanes):
        factor, steep = swamee_jain(scratch[OFF + lane], scratch[INSIDE + lane], scratch[TERM + lane])
        head = segment[at + FRICTION + lane] * chain[to + FLOW + lane]
        chain[to + CHAIN_LOSS + lane] += factor * head
        chain[to + SLOPE + lane] += (2.0 * factor + steep) * head


def add_any(segment: Floats, chain: Floats, scratch: Floats, at: np.uint64, to: np.uint64, lanes: np.uint64) -> None:
    """Add the friction of a segment whose lanes differ in regime, or lie between laminar and turbulent."""
    for lane in range(lanes):
        factor, steep = swamee_jain(scratch[OFF + lane], scratch[INSIDE + lane], scratch[TERM + lane])
        flow = chain[to + FLOW + lane]
        reynolds = segment[at + REYNOLDS_PER_FLOW + lane] * flow
        r = reynolds * (1.0 / 2000.0)
        fb = 2.0 * factor + steep
        x1 = 7.0 * factor - fb
        x2 = 0.128 - 17.0 * factor + 2.5 * fb
        x3 = -0.128 + 13.0 * factor - 2.0 * fb
        x4 = 0.032 - 3.0 * factor + 0.5 * fb
        between = x1 + r * (x2 + r * (x3 + r * x4))
        between_steep = r * (x2 + r * (2.0 * x3 + r * 3.0 * x4))
        turbulent, laminar = reynolds >= TURBULENT_FROM, reynolds <= LAMINAR_TO
        head = segment[at + FRICTION + lane] * flow
        lost = (factor if turbulent else between) * head
        rise = 2.0 * lost + (steep if turbulent else between_steep) * head
        linear = segment[at + LAMINAR + lane]
        chain[to + CHAIN_LOSS + lane] += linear if laminar else lost
        chain[to + SLOPE + lane] += linear if laminar else rise
