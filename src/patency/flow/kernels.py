"""The numbers behind the flow: the friction law, the loss of a chain, the pump's head.

Everything here is plain Python over scalars and numpy arrays. ``machine_code.py`` compiles the same
functions, so they keep to what the compiler understands. Newton's method on a network is in `newton_kernels`.

Words: a *chain* is a row of segments that carries one flow, a link's or an outlet's. The links that
join each node to the sump make a *tree*; node i is fed by tree link i. The links left over are *chords*,
each closing one loop. Chains are numbered tree links, chords, outlets. The *free* flows are those of chords
and outlets: they fix all others, so that every iterate balances at every node.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]

LAMINAR_TO = 2000.0  # Reynolds numbers between which the law interpolates
TURBULENT_FROM = 4000.0
_TWO_OVER_LN10 = 2.0 / math.log(10.0)
TERM_AT_4000 = 5.74 * TURBULENT_FROM**-0.9
_NARROW_GAP = 0.01  # of an annulus: below this 1 - k the closed form loses digits and its series takes over


class Chains(NamedTuple):
    """Segments in rows, reduced to what the head loss needs: sum of f R q|q| + M q|q|."""

    start: Integers  # [chain + 1] where the segments of each chain begin
    reynolds_per_flow: Floats  # [segment] laminar-equivalent Reynolds number over flow, s/m3
    reynolds_power: Floats  # [segment] the same^-0.9
    friction: Floats  # [segment] R, so that the friction head is f R q|q|, s2/m5
    roughness: Floats  # [segment] relative roughness
    fixed: Floats  # [chain] M, the sum of all losses that do not depend on the Reynolds number, s2/m5
    usual_flow: Floats  # [chain] flow at 1 m/s in the narrowest segment, m3/s
    usual_slope: Floats  # [chain] loss over flow at the usual flow, s/m2


class Tree(NamedTuple):
    """How chains hang together."""

    parent: Integers  # [node] upstream node, smaller than the node itself; -1 for the sump
    chord_from: Integers  # [chord] node where a chord's positive flow enters
    chord_to: Integers  # [chord] node where it leaves
    outlet_node: Integers  # [outlet] node that feeds an outlet


class Ends(NamedTuple):
    """Heads at the ends of the network and the pump between them."""

    sump_level: float  # m
    pump_law: Floats  # [3] head at no flow, coefficient, exponent, at the pump's speed; unused with points
    pump_flow: Floats  # [point] flows of the pump's curve, m3/s; empty for a pump by law
    pump_head: Floats  # [point] heads of the pump's curve, m
    elevation: Floats  # [outlet] m
    is_open: NDArray[np.uint8]  # [outlet] 1 open, 0 closed


def friction_factor_and_slope(reynolds: float, relative_roughness: float) -> tuple[float, float]:
    """Darcy friction factor f and Re df/dRe, for Re > 0."""
    if reynolds <= LAMINAR_TO:
        laminar = 64.0 / reynolds
        return laminar, -laminar
    return rough_factor_and_slope(reynolds, reynolds**-0.9, relative_roughness)


def rough_factor_and_slope(reynolds: float, power: float, relative_roughness: float) -> tuple[float, float]:
    """The same above the laminar region, with the Reynolds number to the power of -0.9 known."""
    term = 5.74 * power if reynolds >= TURBULENT_FROM else TERM_AT_4000
    inside = relative_roughness / 3.7 + term
    factor, slope = swamee_jain(math.log(inside), inside, term)
    return (factor, slope) if reynolds >= TURBULENT_FROM else between_regimes(reynolds, factor, slope)


def swamee_jain(logarithm: float, inside: float, term: float) -> tuple[float, float]:
    """Friction factor f and Re df/dRe of turbulent flow, from what stands in the law's logarithm."""
    inverse = 1.0 / (-_TWO_OVER_LN10 * logarithm * inside)
    root = inverse * inside
    factor = root * root
    return factor, -1.8 * _TWO_OVER_LN10 * factor * term * inverse


def cubic_between(factor: float, slope: float) -> tuple[float, float, float, float]:
    """Friction factor between laminar and turbulent flow as a cubic of Re/2000, from f and Re df/dRe at 4000."""
    fb = 2.0 * factor + slope
    return (
        7.0 * factor - fb,
        0.128 - 17.0 * factor + 2.5 * fb,
        -0.128 + 13.0 * factor - 2.0 * fb,
        0.032 - 3.0 * factor + 0.5 * fb,
    )


def between_regimes(reynolds: float, factor: float, slope: float) -> tuple[float, float]:
    """Friction factor f and Re df/dRe between laminar and turbulent flow, from those at Reynolds 4000."""
    r = reynolds * (1.0 / LAMINAR_TO)
    x1, x2, x3, x4 = cubic_between(factor, slope)
    return x1 + r * (x2 + r * (x3 + r * x4)), r * (x2 + r * (2.0 * x3 + r * 3.0 * x4))


def laminar_constant(diameter_ratio: float) -> float:
    """Laminar f Re of a concentric annulus with its hydraulic diameter, for a rod over tube between 0 and 1."""
    gap = 1.0 - diameter_ratio
    if gap < _NARROW_GAP:
        return 96.0 * (1.0 - gap * gap / 60.0 * (1.0 + gap + 121.0 / 140.0 * gap * gap))
    square = diameter_ratio * diameter_ratio
    return 64.0 * gap * gap / (1.0 + square + (1.0 - square) / math.log(diameter_ratio))


def chain_loss(chains: Chains, chain: int, flow: float) -> tuple[float, float]:
    """Head lost along a chain, and its derivative with the flow."""
    rows, found = slice(chain, chain + 1), np.empty((2, 1))
    own = chains._replace(start=chains.start[chain : chain + 2], fixed=chains.fixed[rows])
    chain_losses(own, np.array([flow]), found[0], found[1])
    return found[0, 0], found[1, 0]


def chain_losses(chains: Chains, flows: Floats, losses: Floats, slopes: Floats) -> None:
    """Head lost along every chain, and its derivative with the flow."""
    start, per_flow, power = chains.start, chains.reynolds_per_flow, chains.reynolds_power
    friction, roughness, fixed = chains.friction, chains.roughness, chains.fixed
    for chain in range(flows.size):
        size = abs(flows[chain])
        loss = fixed[chain] * size
        slope = 2.0 * loss
        size_power = 0.0  # one power for all segments of the chain
        for segment in range(start[chain], start[chain + 1]):
            if friction[segment] == 0.0:
                continue
            reynolds = per_flow[segment] * size
            if reynolds <= LAMINAR_TO:
                linear = 64.0 * friction[segment] / per_flow[segment]
                loss += linear
                slope += linear
                continue
            if size_power == 0.0:
                size_power = math.exp(-0.9 * math.log(size))  # quicker than a power
            factor, steep = rough_factor_and_slope(reynolds, power[segment] * size_power, roughness[segment])
            loss += factor * friction[segment] * size
            slope += (2.0 * factor + steep) * friction[segment] * size
        losses[chain] = loss * flows[chain]
        slopes[chain] = slope


def bent(step: float, flow: float, loss: float, slope: float) -> float:
    """Bend a straight step as a loss bends that goes with a power of the flow: to the third order."""
    if flow * loss == 0.0:
        return step
    inverse = 1.0 / (flow * loss)
    share, power = step * inverse * loss, slope * flow * inverse * flow
    longer = 1.0 + 0.5 * share * (1.0 - power) * (1.0 + share * (1.0 - 2.0 * power) * (1.0 / 3.0))
    return step * longer if (abs(share) < 0.3) & (power < 4.0) else step


def pump_head(ends: Ends, flow: float) -> tuple[float, float]:
    """Head the pump gives at a flow, and its derivative; beyond the last point along the last line."""
    return pump_curve(ends.pump_law, ends.pump_flow, ends.pump_head, flow)


def pump_curve(law: Floats, flows: Floats, heads: Floats, flow: float) -> tuple[float, float]:
    """The same from a law or, if there are any, from points."""
    if flows.size == 0:
        power = law[2] - 1.0
        steep = law[1] * (max(flow, 0.0) if power == 1.0 else max(flow, 0.0) ** power)
        return law[0] - steep * flow, -law[2] * steep
    place = 1
    while place < flows.size - 1 and flow > flows[place]:
        place += 1
    slope = (heads[place] - heads[place - 1]) / (flows[place] - flows[place - 1])
    return heads[place] + slope * (flow - flows[place]), slope


def run_out(ends: Ends) -> float:
    """Find the flow at which the pump's curve ends."""
    if ends.pump_flow.size:
        return float(ends.pump_flow[-1])
    if ends.pump_law[1] == 0.0:
        return np.inf
    return float((ends.pump_law[0] / ends.pump_law[1]) ** (1.0 / ends.pump_law[2]))


def friction_factors(chains: Chains, flow: Floats) -> Floats:
    """Darcy friction factor of every segment; not-a-number where nothing flows or nothing rubs."""
    factors = np.full(chains.friction.size, np.nan)
    for chain in range(flow.size):
        for segment in range(chains.start[chain], chains.start[chain + 1]):
            reynolds = chains.reynolds_per_flow[segment] * abs(flow[chain])
            if reynolds > 0.0 and chains.friction[segment] > 0.0:
                factors[segment] = friction_factor_and_slope(reynolds, chains.roughness[segment])[0]
    return factors
