"""From the scenarios' sizes to what a loss needs, for a block of scenarios."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from patency.flow.batch.lane_curves import add_curve, begin_curve
from patency.flow.batch.lane_layout import (
    ANNULUS,
    BAD,
    BORE,
    CHAIN_LOSS,
    CHAIN_ROW,
    COEFFICIENT,
    DIAMETER,
    ELEVATION,
    EXIT_LOSS,
    FASTEST,
    FIXED,
    FLOW,
    FRICTION,
    GAIN,
    IS_OPEN,
    LAMINAR,
    LENGTH,
    LINEAR,
    NEAR_DIAMETER,
    NEAR_FLOW,
    NEAR_FRICTION,
    NEAR_LOG_RATIO,
    NEAR_LOSS,
    NEAR_PER_HEAD,
    NEAR_POWER,
    NEAR_RATIO,
    NEAR_REYNOLDS,
    NEAR_ROUGHNESS,
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
    SLOPE,
    TURBULENT,
    VISCOSITY,
    WALL,
)
from patency.flow.batch.near_one import LEAST, MOST, NEAR, log_near_one, power_further_off, power_near_one
from patency.flow.kernels import laminar_constant

if TYPE_CHECKING:
    from patency.flow.batch.lane_layout import Block, Bytes, Differs, Floats, Nominal, Sizes

_WIDE_GAP = 0.85  # ratio of rod to tube up to which the laminar constant keeps ten digits of a logarithm of thirteen
_SCALES = NEAR / (1.0 + NEAR)  # how far off a diameter may be for its inverse to be near one
_SMOOTH = 0.4 / 3.7  # a wall so rough, over 3.7, might reach half the gap of a bore only that much thinner
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


def find_active(nominal: Nominal, block: Block, lanes: np.uint64) -> None:
    """Mark what no lane's water runs through: outlets closed in all of them, and links that lead to such alone."""
    chain, outlet, active = block.chain, block.outlet, block.active
    parent, outlet_node = nominal.parent, nominal.outlet_node
    nodes, outlets = np.uint64(parent.size), np.uint64(outlet_node.size)
    active[:] = 0
    for each in range(outlets):
        k = np.uint64(each)
        of, running = k * OUTLET_ROW + IS_OPEN, 0
        for lane in range(lanes):
            running += 1 if outlet[of + lane] > 0.0 else 0
        active[nodes + k] = 1 if running > 0 else 0
        active[outlet_node[k]] |= active[nodes + k]
    active[0] = 1  # the pump stands in it
    for each in range(nodes - ONE):
        k = nodes - ONE - np.uint64(each)
        active[parent[k]] |= active[k]
    for each in range(nodes + outlets):
        k = np.uint64(each)
        if active[k] == 0:
            for lane in range(lanes):
                chain[k * CHAIN_ROW + FLOW + lane] = 0.0
                chain[k * CHAIN_ROW + CHAIN_LOSS + lane] = 0.0
                chain[k * CHAIN_ROW + SLOPE + lane] = 0.0


def reduce_block(nominal: Nominal, block: Block, differs: Differs, lanes: np.uint64) -> None:
    """Reduce a block's sizes to what a loss needs; lanes with a size of no sense are marked bad."""
    chain, outlet, scratch, active = block.chain, block.outlet, block.scratch, block.active
    segment, start, kind, regime = block.segment, nominal.start, nominal.kind, nominal.regime
    near, near_chain, half = nominal.of_segment, nominal.of_chain, 0.5 / nominal.gravity
    chains, outlets = np.uint64(near_chain.shape[0]), np.uint64(nominal.outlet_node.size)
    for lane in range(lanes):
        scratch[BAD + lane] = 0.0
    for each in range(chains):
        k = np.uint64(each)
        to, needed = k * CHAIN_ROW, not differs.anything or active[k] > 0
        begin_curve(chain, to, lanes)
        for number in range(start[k], start[k + ONE]):
            row = np.uint64(number)
            if kind[row] == ORIFICE:
                reduce_orifice(segment, chain, scratch, row * SEGMENT_ROW, to, lanes, half)
            elif differs.only_diameters and kind[row] == BORE and all_near(segment, near, row, lanes):
                if needed:
                    scale_bore(near, segment, chain, scratch, row, to, lanes, regime[row] == LAMINAR)
            else:
                reduce_gap(near, segment, chain, scratch, row, to, lanes, half, kind[row] == ANNULUS)
                finish_gap(near, segment, chain, scratch, row, to, lanes, regime[row] == LAMINAR)
            if needed and regime[row] != LAMINAR and kind[row] != ORIFICE:
                add_curve(
                    near, segment, chain, scratch, row, to, lanes, regime[row] == TURBULENT, near_chain[k, NEAR_FLOW]
                )
        if k + outlets >= chains:
            of = (k + outlets - chains) * OUTLET_ROW + EXIT_LOSS
            jets = 0.0 if kind[start[k + ONE] - ONE] == ORIFICE else 1.0
            for lane in range(lanes):
                chain[to + FIXED + lane] += jets * outlet[of + lane] * scratch[PER_HEAD + lane]
                scratch[BAD + lane] = scratch[BAD + lane] if outlet[of + lane] >= 0.0 else 1.0
        for lane in range(lanes):
            scratch[BAD + lane] = scratch[BAD + lane] if chain[to + FIXED + lane] < HUGE else 1.0


def reduce_orifice(
    segment: Floats, chain: Floats, scratch: Floats, at: np.uint64, to: np.uint64, lanes: np.uint64, half: float
) -> None:
    """Add an orifice's loss to its chain's."""
    for lane in range(lanes):
        diameter, coefficient = segment[at + DIAMETER + lane], segment[at + COEFFICIENT + lane]
        over = 1.0 / (0.25 * math.pi * diameter * diameter * coefficient)
        chain[to + FIXED + lane] += half * over * over
        fine = (diameter > 0.0) & (coefficient > 0.0) & (segment[at + ROD + lane] == 0.0)
        fine = fine & (segment[at + WALL + lane] == 0.0) & (segment[at + SINGLE_LOSS + lane] >= 0.0)
        scratch[BAD + lane] = scratch[BAD + lane] if fine else 1.0


def reduce_gap(
    near: Floats,
    segment: Floats,
    chain: Floats,
    scratch: Floats,
    row: np.uint64,
    to: np.uint64,
    lanes: np.uint64,
    half: float,
    has_rod: bool,  # noqa: FBT001 - an annulus
) -> None:
    """Reduce a bore or an annulus."""
    at = row * SEGMENT_ROW
    if has_rod:
        take_gain(segment, scratch, at, lanes, near[row, NEAR_RATIO], near[row, NEAR_LOG_RATIO])
    else:
        for lane in range(lanes):
            scratch[GAIN + lane] = 1.0
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
        scratch[PER_HEAD + lane] = per_head
        segment[at + FRICTION + lane] = friction
        segment[at + REYNOLDS_PER_FLOW + lane] = reynolds
        segment[at + ROUGHNESS + lane] = wall * over_gap * (1.0 / 3.7)
        chain[to + FIXED + lane] += loss * per_head
        fine = (gap > 0.0) & (rod >= 0.0) & (gain > 0.0) & (length > 0.0) & (wall >= 0.0) & (wall < 0.5 * gap)
        fine = fine & (loss >= 0.0) & (reynolds < HUGE) & (friction < HUGE) & ((rod > 0.0) == has_rod)
        fine = fine & (segment[at + COEFFICIENT + lane] == 0.0)
        scratch[BAD + lane] = scratch[BAD + lane] if fine else 1.0


def all_near(segment: Floats, near: Floats, row: np.uint64, lanes: np.uint64) -> bool:
    """Tell whether all lanes' diameters are so near the compiled one that the wall makes as much sense as there."""
    at, over, far = row * SEGMENT_ROW + DIAMETER, 1.0 / near[row, NEAR_DIAMETER], 0
    for lane in range(lanes):
        far += 0 if abs(segment[at + lane] * over - 1.0) <= _SCALES else 1
    return far == 0 and near[row, NEAR_ROUGHNESS] < _SMOOTH


def scale_bore(
    near: Floats,
    segment: Floats,
    chain: Floats,
    scratch: Floats,
    row: np.uint64,
    to: np.uint64,
    lanes: np.uint64,
    laminar: bool,  # noqa: FBT001
) -> None:
    """Reduce a bore of which nothing but the diameter differs from the compiled one, by powers of their ratio."""
    at, diameter, per_head = row * SEGMENT_ROW, near[row, NEAR_DIAMETER], near[row, NEAR_PER_HEAD]
    friction, reynolds, loss = near[row, NEAR_FRICTION], near[row, NEAR_REYNOLDS], near[row, NEAR_LOSS] * per_head
    roughness, power, linear = near[row, NEAR_ROUGHNESS], near[row, NEAR_POWER], 64.0 * friction / reynolds
    if laminar:
        for lane in range(lanes):
            thinner = diameter / segment[at + DIAMETER + lane]
            square = thinner * thinner
            fourth = square * square
            scratch[PER_HEAD + lane] = per_head * fourth
            segment[at + FRICTION + lane] = friction * fourth * thinner
            segment[at + REYNOLDS_PER_FLOW + lane] = reynolds * thinner
            segment[at + ROUGHNESS + lane] = roughness * thinner
            chain[to + FIXED + lane] += loss * fourth
            chain[to + LINEAR + lane] += linear * fourth
            chain[to + FASTEST + lane] = max(chain[to + FASTEST + lane], reynolds * thinner)
    else:
        for lane in range(lanes):
            thinner = diameter / segment[at + DIAMETER + lane]
            square = thinner * thinner
            fourth = square * square
            scratch[PER_HEAD + lane] = per_head * fourth
            segment[at + FRICTION + lane] = friction * fourth * thinner
            segment[at + REYNOLDS_PER_FLOW + lane] = reynolds * thinner
            segment[at + REYNOLDS_POWER + lane] = power * power_near_one(thinner - 1.0)
            segment[at + ROUGHNESS + lane] = roughness * thinner
            chain[to + FIXED + lane] += loss * fourth


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


def finish_gap(
    near: Floats,
    segment: Floats,
    chain: Floats,
    scratch: Floats,
    row: np.uint64,
    to: np.uint64,
    lanes: np.uint64,
    laminar: bool,  # noqa: FBT001
) -> None:
    """Add a reduced segment to the laminar ones of its chain, or take the power that the turbulent law needs."""
    if laminar:
        add_linear(segment, chain, row * SEGMENT_ROW, to, lanes)
    else:
        raise_to_power(segment, scratch, row * SEGMENT_ROW, lanes, near[row, NEAR_REYNOLDS], near[row, NEAR_POWER])


def add_linear(segment: Floats, chain: Floats, at: np.uint64, to: np.uint64, lanes: np.uint64) -> None:
    """Add a segment to the laminar ones of its chain."""
    for lane in range(lanes):
        reynolds = segment[at + REYNOLDS_PER_FLOW + lane]
        chain[to + LINEAR + lane] += 64.0 * segment[at + FRICTION + lane] / reynolds
        chain[to + FASTEST + lane] = max(chain[to + FASTEST + lane], reynolds)


def raise_to_power(
    segment: Floats, scratch: Floats, at: np.uint64, lanes: np.uint64, near_reynolds: float, near_power: float
) -> None:
    """Work out 5.74 times the Reynolds number over flow to the power of -0.9."""
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
            segment[at + REYNOLDS_POWER + lane] = 5.74 * segment[at + REYNOLDS_PER_FLOW + lane] ** -0.9
