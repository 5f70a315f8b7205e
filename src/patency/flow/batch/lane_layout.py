"""Where in the arrays of a block everything stands: a block of scenarios side by side, one *lane* each.

A block's numbers lie in five flat arrays, one for each kind of row. A row holds its fields one after the other, each
field one number for every lane, so ``segment * SEGMENT_ROW + FRICTION + lane`` is a place. Flat arrays with unsigned
places are what lets the compiler work on several lanes with one instruction.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Places = NDArray[np.uint64]
    Bytes = NDArray[np.uint8]

LANES = np.uint64(32)
NONE, ONE = np.uint64(0), np.uint64(1)


def _fields(count: int) -> list[np.uint64]:
    return [LANES * np.uint64(field) for field in range(count)]


# Of a segment: as given, and reduced to the numbers of `Chains`.
DIAMETER, ROD, LENGTH, WALL, SINGLE_LOSS, COEFFICIENT, *_REDUCED = _fields(13)
REYNOLDS_PER_FLOW, REYNOLDS_POWER, FRICTION, LAMINAR, ROUGHNESS, PER_HEAD, SEGMENT_ROW = _REDUCED
FIXED, FLOW, CHAIN_LOSS, SLOPE, CHAIN_ROW = _fields(5)
HEAD, GIVES, YIELDS, SHARE, RISE, NODE_ROW = _fields(6)
ELEVATION, EXIT_LOSS, IS_OPEN, RESIDUAL, INVERSE, OUTLET_ROW = _fields(6)
VISCOSITY, GAIN, OFF, FLOW_POWER, INSIDE, TERM, MOVING, BAD, SCRATCH_ROW = _fields(9)

# Columns of the nominal network's numbers, of a segment and of a chain: what lanes expand around.
NEAR_REYNOLDS, NEAR_POWER, NEAR_ROUGHNESS, NEAR_INSIDE, NEAR_LOGARITHM, NEAR_FACTOR, BY_REYNOLDS, BY_ROUGHNESS = (
    np.uint64(column) for column in range(8)
)
NEAR_RATIO, NEAR_LOG_RATIO = np.uint64(8), np.uint64(9)  # rod over tube
USUAL_FLOW, USUAL_SLOPE, NEAR_FLOW, NEAR_FLOW_POWER = (np.uint64(column) for column in range(4))
ORIFICE, BORE, ANNULUS = 0, 1, 2


class Nominal(NamedTuple):
    """The network as compiled, and what lanes expand around."""

    start: Places  # [chain + 1] where the segments of each chain begin
    kind: Bytes  # [segment] orifice, bore, annulus
    parent: Places  # [node] upstream node; 0 for the first, which the sump feeds
    outlet_node: Places  # [outlet]
    of_segment: Floats  # [segment, column]
    of_chain: Floats  # [chain, column]
    warm: Floats  # [outlet] flows that open outlets begin with, m3/s
    gravity: float


class Sizes(NamedTuple):
    """The scenarios' numbers; arrays of one row mean the same for all."""

    diameter: Floats  # [scenario, segment]
    rod: Floats
    length: Floats
    wall: Floats
    single_loss: Floats
    coefficient: Floats
    is_open: Bytes  # [scenario, outlet]
    elevation: Floats
    exit_loss: Floats
    speed: Floats  # [scenario] over the compiled one
    head_factor: Floats  # [scenario]
    viscosity: Floats  # [scenario] m2/s


class Block(NamedTuple):
    """The numbers of one block of lanes, flat; places as above."""

    segment: Floats
    chain: Floats
    node: Floats
    outlet: Floats
    scratch: Floats


def new_block(nominal: Nominal) -> Block:
    """Make room for one block."""
    rows = (
        (nominal.kind.size, SEGMENT_ROW),
        (nominal.of_chain.shape[0], CHAIN_ROW),
        (nominal.parent.size, NODE_ROW),
        (nominal.outlet_node.size, OUTLET_ROW),
        (1, SCRATCH_ROW),
    )
    block = Block(*(np.zeros(count * int(row)) for count, row in rows))
    per_flow = np.repeat(nominal.of_segment[:, int(NEAR_REYNOLDS)], int(LANES))
    place = int(REYNOLDS_PER_FLOW)  # an orifice's stays as it is
    block.segment.reshape(-1, int(SEGMENT_ROW))[:, place : place + int(LANES)] = per_flow.reshape(-1, int(LANES))
    return block
