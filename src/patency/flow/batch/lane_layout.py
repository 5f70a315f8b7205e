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

LANES = np.uint64(16)
NONE, ONE, TWO, THREE, FOUR = (np.uint64(number) for number in range(5))


def _fields(count: int) -> list[np.uint64]:
    return [LANES * np.uint64(field) for field in range(count)]


def _columns(first: int, count: int) -> list[np.uint64]:
    return [np.uint64(first + column) for column in range(count)]


# Of a segment: as given, and reduced to the numbers of `Chains`; one is spare, or every eighth row would fall on the
# same places of the cache.
DIAMETER, ROD, LENGTH, WALL, SINGLE_LOSS, COEFFICIENT, *_REDUCED = _fields(14)
REYNOLDS_PER_FLOW, REYNOLDS_POWER, FRICTION, ROUGHNESS, AT_4000, STEEP_4000, _SPARE, SEGMENT_ROW = _REDUCED
# Of a chain; the curve is the loss over the flow's square as a cubic of the flow over the nominal one.
FIXED, FLOW, PAST_FLOW, CHAIN_LOSS, SLOPE, BEND, ROOM, LINEAR, FASTEST, *_CURVE = _fields(16)
CURVE_0, CURVE_1, CURVE_2, CURVE_3, LEFT, INVERSE, CHAIN_ROW = _CURVE
HEAD, TAKES, GIVES, YIELDS, RISE, NODE_ROW = _fields(6)
ELEVATION, EXIT_LOSS, IS_OPEN, OUTLET_ROW = _fields(4)
VISCOSITY, GAIN, OFF, FLOW_POWER, INSIDE, TERM, PER_HEAD, ABOVE, MOVING, BAD, SCRATCH_ROW = _fields(11)

# Columns of the nominal network's numbers, of a segment and of a chain: what lanes expand around.
NEAR_REYNOLDS, NEAR_POWER, NEAR_ROUGHNESS, NEAR_INSIDE, NEAR_LOGARITHM, NEAR_RATIO, NEAR_LOG_RATIO = _columns(0, 7)
NEAR_DIAMETER, NEAR_FRICTION, NEAR_PER_HEAD, NEAR_LOSS, BY_ROUGHNESS = _columns(7, 5)
BY_REYNOLDS = np.uint64(12)  # the first of four: friction factor as a cubic of Reynolds number over the nominal one
FACTOR = np.uint64(
    16
)  # the first of eleven: friction factor over what stands in the logarithm, less one; highest first
STEEPNESS = np.uint64(27)  # the first of six: its derivative, for slopes only
TWIST = np.uint64(33)  # half of Re² times the second derivative of the friction factor, by Reynolds number
SEGMENT_COLUMNS = 34
USUAL_FLOW, USUAL_SLOPE, NEAR_FLOW, NEAR_FLOW_POWER = _columns(0, 4)
ORIFICE, BORE, ANNULUS = 0, 1, 2
LAMINAR, BETWEEN, TURBULENT = 0, 1, 2


class Nominal(NamedTuple):
    """The network as compiled, and what lanes expand around."""

    start: Places  # [chain + 1] where the segments of each chain begin
    kind: Bytes  # [segment] orifice, bore, annulus
    regime: Bytes  # [segment] laminar with room to spare, turbulent with room to spare, or between
    parent: Places  # [node] upstream node; 0 for the first, which the sump feeds
    outlet_node: Places  # [outlet]
    of_segment: Floats  # [segment, column]
    of_chain: Floats  # [chain, column]
    warm: Floats  # [outlet] flows that open outlets begin with, m3/s
    heads: Floats  # [node] heads to begin with, m
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


class Differs(NamedTuple):
    """What of segments and water differs between the scenarios."""

    anything: bool
    only_diameters: bool  # and nothing else of these


class Block(NamedTuple):
    """The numbers of one block of lanes, flat; places as above."""

    segment: Floats
    chain: Floats
    node: Floats
    outlet: Floats
    scratch: Floats
    active: Bytes  # [chain] 0 for an outlet that is closed in every lane


def new_block(nominal: Nominal) -> Block:
    """Make room for one block."""
    chains = nominal.of_chain.shape[0]
    return Block(
        segment=np.zeros(nominal.kind.size * int(SEGMENT_ROW)),
        chain=np.zeros(chains * int(CHAIN_ROW)),
        node=np.zeros(nominal.parent.size * int(NODE_ROW)),
        outlet=np.zeros(nominal.outlet_node.size * int(OUTLET_ROW)),
        scratch=np.zeros(int(SCRATCH_ROW)),
        active=np.ones(chains, dtype=np.uint8),
    )
