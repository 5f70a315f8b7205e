"""From the scenarios' sizes to what a loss needs, for a block of scenarios."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from patency.flow.batch.lane_layout import (
    ANNULUS,
    BAD,
    CHAIN_ROW,
    COEFFICIENT,
    DIAMETER,
    ELEVATION,
    EXIT_LOSS,
    FIXED,
    FRICTION,
    GAIN,
    IS_OPEN,
    LAMINAR,
    LENGTH,
    NEAR_LOG_RATIO,
    NEAR_POWER,
    NEAR_RATIO,
    NEAR_REYNOLDS,
    NONE,
    OFF,
    ONE,
    ORIFICE,
    OUTLET_ROW,
    PER_HEAD,
    REYNOLDS_PER_FLOW,
    REYNOLDS_POWER,
    ROD,
    ROUGHNESS,
    SEGMENT_ROW,
    SINGLE_LOSS,
    VISCOSITY,
    WALL,
)
from patency.flow.batch.near_one import LEAST, MOST, NEAR, log_near_one, power_further_off, power_near_one
from patency.flow.kernels import laminar_constant

if TYPE_CHECKING:
    from patency.flow.batch.lane_layout import Block, Bytes, Floats, Nominal, Sizes

_WIDE_GAP = 0.98  # ratio of rod to tube below which the closed form of the laminar constant holds its digits
HUGE = 1e60  # as of a compiled network: sizes beyond cannot be computed with


def read_columns(
    values: Floats | Bytes, first: np.uint64, lanes: np.uint64, place: np.uint64, row: np.uint64, rows: Floats
) -> None:
    """Copy the rows of a block's scenarios into its lanes; lanes beyond the last scenario repeat it."""
    last = np.uint64(values.shape[0]) - ONE
    whole = first + lanes - ONE <= last
    for column in range(np.uint64(values.shape[1])):
        to = np.uint64(column) * row + place
        if whole:
            for lane in range(lanes):
                rows[to + lane] = values[first + lane, np.uint64(column)]
        else:
            for lane in range(lanes):
                at = first + np.uint64(lane)
                rows[to + lane] = values[min(last, at), np.uint64(column)]


def read_block(sizes: Sizes, block: Block, first: np.uint64, lanes: np.uint64) -> None:
    """Copy all sizes of a block into its lanes; what is the same for all scenarios only once."""
    segment, outlet, scratch = block.segment, block.outlet, block.scratch
    once = first == NONE
    if once or sizes.diameter.shape[0] > 1:
        read_columns(sizes.diameter, first, lanes, DIAMETER, SEGMENT_ROW, segment)
    if once or sizes.rod.shape[0] > 1:
        read_columns(sizes.rod, first, lanes, ROD, SEGMENT_ROW, segment)
    if once or sizes.length.shape[0] > 1:
        read_columns(sizes.length, first, lanes, LENGTH, SEGMENT_ROW, segment)
    if once or sizes.wall.shape[0] > 1:
        read_columns(sizes.wall, first, lanes, WALL, SEGMENT_ROW, segment)
    if once or sizes.single_loss.shape[0] > 1:
        read_columns(sizes.single_loss, first, lanes, SINGLE_LOSS, SEGMENT_ROW, segment)
    if once or sizes.coefficient.shape[0] > 1:
        read_columns(sizes.coefficient, first, lanes, COEFFICIENT, SEGMENT_ROW, segment)
    if once or sizes.elevation.shape[0] > 1:
        read_columns(sizes.elevation, first, lanes, ELEVATION, OUTLET_ROW, outlet)
    if once or sizes.exit_loss.shape[0] > 1:
        read_columns(sizes.exit_loss, first, lanes, EXIT_LOSS, OUTLET_ROW, outlet)
    if once or sizes.is_open.shape[0] > 1:
        read_columns(sizes.is_open, first, lanes, IS_OPEN, OUTLET_ROW, outlet)
    last = np.uint64(sizes.viscosity.size) - ONE
    for lane in range(lanes):
        at = first + np.uint64(lane)
        scratch[VISCOSITY + np.uint64(lane)] = sizes.viscosity[min(last, at)]


def reduce_block(nominal: Nominal, block: Block, lanes: np.uint64) -> None:
    """Reduce a block's sizes to what a loss needs; lanes with a size of no sense are marked bad."""
    chain, outlet, scratch, segment = block.chain, block.outlet, block.scratch, block.segment
    start, kind = nominal.start, nominal.kind
    for lane in range(lanes):
        scratch[BAD + lane] = 0.0
    reduce_segments(nominal, block, lanes)
    chains, outlets = np.uint64(nominal.of_chain.shape[0]), np.uint64(nominal.outlet_node.size)
    for k in range(outlets):
        row = chains - outlets + np.uint64(k)
        last = start[row + ONE] - ONE
        jets = 0.0 if kind[last] == ORIFICE else 1.0
        to, of, head = row * CHAIN_ROW + FIXED, np.uint64(k) * OUTLET_ROW + EXIT_LOSS, last * SEGMENT_ROW + PER_HEAD
        for lane in range(lanes):
            chain[to + lane] += jets * outlet[of + lane] * segment[head + lane]
            scratch[BAD + lane] = scratch[BAD + lane] if outlet[of + lane] >= 0.0 else 1.0
    for k in range(chains):
        to = np.uint64(k) * CHAIN_ROW + FIXED
        for lane in range(lanes):
            scratch[BAD + lane] = scratch[BAD + lane] if chain[to + lane] < HUGE else 1.0


def reduce_segments(nominal: Nominal, block: Block, lanes: np.uint64) -> None:
    """Reduce the segments of all chains."""
    chain, scratch, segment = block.chain, block.scratch, block.segment
    start, kind, near = nominal.start, nominal.kind, nominal.of_segment
    half = 0.5 / nominal.gravity
    for k in range(np.uint64(nominal.of_chain.shape[0])):
        to = np.uint64(k) * CHAIN_ROW + FIXED
        for lane in range(lanes):
            chain[to + lane] = 0.0
        for each in range(start[np.uint64(k)], start[np.uint64(k) + ONE]):
            row = np.uint64(each)
            at = row * SEGMENT_ROW
            if kind[row] == ORIFICE:
                reduce_orifice(segment, chain, scratch, at, to, lanes, half)
                continue
            has_rod = kind[row] == ANNULUS
            if has_rod:
                take_gain(segment, scratch, at, lanes, near[row, NEAR_RATIO], near[row, NEAR_LOG_RATIO])
            else:
                for lane in range(lanes):
                    scratch[GAIN + lane] = 1.0
            reduce_pipe(segment, chain, scratch, at, to, lanes, half, has_rod)
            raise_to_power(segment, scratch, at, lanes, near[row, NEAR_REYNOLDS], near[row, NEAR_POWER])


def reduce_orifice(
    segment: Floats, chain: Floats, scratch: Floats, at: np.uint64, to: np.uint64, lanes: np.uint64, half: float
) -> None:
    """Add an orifice's loss to its chain's."""
    for lane in range(lanes):
        diameter, coefficient = segment[at + DIAMETER + lane], segment[at + COEFFICIENT + lane]
        over = 1.0 / (0.25 * math.pi * diameter * diameter * coefficient)
        chain[to + lane] += half * over * over
        fine = (diameter > 0.0) & (coefficient > 0.0) & (segment[at + ROD + lane] == 0.0)
        fine = fine & (segment[at + WALL + lane] == 0.0) & (segment[at + SINGLE_LOSS + lane] >= 0.0)
        scratch[BAD + lane] = scratch[BAD + lane] if fine else 1.0


def reduce_pipe(
    segment: Floats,
    chain: Floats,
    scratch: Floats,
    at: np.uint64,
    to: np.uint64,
    lanes: np.uint64,
    half: float,
    has_rod: bool,  # noqa: FBT001 - an annulus
) -> None:
    """Reduce a bore or an annulus."""
    for lane in range(lanes):
        diameter, rod, length = segment[at + DIAMETER + lane], segment[at + ROD + lane], segment[at + LENGTH + lane]
        wall, loss, viscosity = segment[at + WALL + lane], segment[at + SINGLE_LOSS + lane], scratch[VISCOSITY + lane]
        gain = scratch[GAIN + lane]
        gap = diameter - rod
        area = 0.25 * math.pi * gap * (diameter + rod)
        inverse = 1.0 / (area * gap * viscosity)  # one division for three
        over_area, over_gap = inverse * gap * viscosity, inverse * area * viscosity
        per_head = over_area * over_area * half
        friction, reynolds = length * over_gap * per_head, gap * gap * inverse * gain
        segment[at + PER_HEAD + lane] = per_head
        segment[at + FRICTION + lane] = friction
        segment[at + REYNOLDS_PER_FLOW + lane] = reynolds
        segment[at + LAMINAR + lane] = 64.0 * friction / reynolds
        segment[at + ROUGHNESS + lane] = wall * over_gap * (1.0 / 3.7)
        chain[to + lane] += loss * per_head
        fine = (gap > 0.0) & (rod >= 0.0) & (gain > 0.0) & (length > 0.0) & (wall >= 0.0) & (wall < 0.5 * gap)
        fine = fine & (loss >= 0.0) & (reynolds < HUGE) & (friction < HUGE) & ((rod > 0.0) == has_rod)
        fine = fine & (segment[at + COEFFICIENT + lane] == 0.0)
        scratch[BAD + lane] = scratch[BAD + lane] if fine else 1.0


def take_gain(
    segment: Floats, scratch: Floats, at: np.uint64, lanes: np.uint64, near_ratio: float, near_logarithm: float
) -> None:
    """Work out the laminar-equivalent Reynolds number of an annulus over the plain one; -1 where no rod fits."""
    over, far = 1.0 / near_ratio, 0
    for lane in range(lanes):
        ratio = segment[at + ROD + lane] / segment[at + DIAMETER + lane]
        scratch[GAIN + lane] = ratio
        scratch[OFF + lane] = ratio * over - 1.0
        far += 0 if (abs(scratch[OFF + lane]) <= NEAR) & (ratio < _WIDE_GAP) else 1
    if far == 0:
        for lane in range(lanes):
            ratio, logarithm = scratch[GAIN + lane], near_logarithm + log_near_one(scratch[OFF + lane])
            gap, square = 1.0 - ratio, ratio * ratio
            scratch[GAIN + lane] = (1.0 + square + (1.0 - square) / logarithm) / (gap * gap)
    else:
        for lane in range(lanes):
            ratio = scratch[GAIN + lane]
            scratch[GAIN + lane] = 64.0 / laminar_constant(ratio) if (ratio > 0.0) & (ratio < 1.0) else -1.0


def raise_to_power(
    segment: Floats, scratch: Floats, at: np.uint64, lanes: np.uint64, near_reynolds: float, near_power: float
) -> None:
    """Work out Reynolds number over flow to the power of -0.9."""
    over, far, very_far = 1.0 / near_reynolds, 0, 0
    for lane in range(lanes):
        ratio = segment[at + REYNOLDS_PER_FLOW + lane] * over
        scratch[OFF + lane] = ratio
        far += 0 if abs(ratio - 1.0) <= NEAR else 1
        very_far += 0 if (ratio >= LEAST) & (ratio <= MOST) else 1
    if far == 0:
        for lane in range(lanes):
            segment[at + REYNOLDS_POWER + lane] = near_power * power_near_one(scratch[OFF + lane] - 1.0)
    elif very_far == 0:
        for lane in range(lanes):
            segment[at + REYNOLDS_POWER + lane] = near_power * power_further_off(scratch[OFF + lane])
    else:
        for lane in range(lanes):
            segment[at + REYNOLDS_POWER + lane] = segment[at + REYNOLDS_PER_FLOW + lane] ** -0.9
