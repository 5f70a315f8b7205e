"""The network as compiled, as what lanes expand around."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from patency.flow import machine_code
from patency.flow.batch.lane_layout import ANNULUS, BETWEEN, BORE, LAMINAR, ORIFICE, TURBULENT, Nominal
from patency.flow.batch.near_one import DEGREE, fitted, places_near_one
from patency.flow.kernels import LAMINAR_TO, TURBULENT_FROM, chain_loss

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.flow.compiled_network import CompiledNetwork
    from patency.flow.machine_code import Kernel
    from patency.flow.solver import CompiledFlow

    Floats = NDArray[np.float64]

_ROUNDS = 6
_SURELY_LAMINAR, _SURELY_TURBULENT = 0.9 * LAMINAR_TO, 1.15 * TURBULENT_FROM
_SLOPE_DEGREE = 5  # of the polynomial for slopes: they serve the way, not where it ends


def nominal_of(compiled: CompiledNetwork, start: CompiledFlow, kernel: Kernel) -> Nominal:
    """Work out what lanes expand around.

    Parameters
    ----------
    compiled
        The network.
    start
        Its flows, or those of one like it.
    kernel
        How the numbers are worked out.

    Returns
    -------
    Nominal
        The arrays.
    """
    chains = compiled.chains
    flow = np.where(start.flow_m3_s > 0.0, start.flow_m3_s, chains.usual_flow)
    outlets = compiled.outlets.is_open.size
    warm = np.maximum(start.flow_m3_s[-outlets:], 0.0)
    for outlet in np.flatnonzero(warm == 0.0):
        warm[outlet] = _flow_if_open(compiled, start, int(outlet))
        flow[flow.size - outlets + outlet] = warm[outlet] or flow[flow.size - outlets + outlet]
    geometry, tree = compiled.geometry, compiled.tree
    reynolds = chains.reynolds_per_flow * np.repeat(flow, np.diff(chains.start))
    return Nominal(
        start=chains.start.astype(np.uint64),
        kind=np.where(
            geometry.discharge_coefficient > 0.0, ORIFICE, np.where(geometry.rod_diameter_m > 0.0, ANNULUS, BORE)
        ).astype(np.uint8),
        regime=np.where(
            reynolds < _SURELY_LAMINAR, LAMINAR, np.where(reynolds > _SURELY_TURBULENT, TURBULENT, BETWEEN)
        ).astype(np.uint8),
        parent=np.maximum(tree.parent, 0).astype(np.uint64),
        outlet_node=tree.outlet_node.astype(np.uint64),
        of_segment=_of_segment(compiled, reynolds, _by_reynolds(compiled, flow, kernel)),
        of_chain=np.column_stack((chains.usual_flow, chains.usual_slope, flow, flow**-0.9)),
        warm=warm,
        heads=np.ascontiguousarray(start.head_m),
        gravity=compiled.gravity_m_s2,
    )


def _of_segment(compiled: CompiledNetwork, reynolds: Floats, by_reynolds: Floats) -> Floats:
    """Fill the columns of the segments."""
    chains, geometry = compiled.chains, compiled.geometry
    rough, term = chains.roughness / 3.7, 5.74 * np.maximum(reynolds, TURBULENT_FROM) ** -0.9
    inside = rough + term
    logarithm = np.log(inside)
    ratio = np.where(geometry.rod_diameter_m > 0.0, geometry.rod_diameter_m / geometry.diameter_m, 0.5)

    def factor(degree: int) -> Floats:
        """Turbulent friction factor at the places of a fit of what stands in the logarithm."""
        off = np.log1p(places_near_one(degree))
        return (0.5 * math.log(10.0) / (logarithm[:, np.newaxis] + off)) ** 2

    off = places_near_one(_SLOPE_DEGREE)
    steep = -2.0 * factor(_SLOPE_DEGREE) / (1.0 + off) / (logarithm[:, np.newaxis] + np.log1p(off))
    by_roughness = -2.0 * (0.5 * math.log(10.0) / logarithm) ** 2 / (inside * logarithm)
    found = np.column_stack(
        (
            chains.reynolds_per_flow,
            5.74 * chains.reynolds_power,
            rough,
            inside,
            logarithm,
            ratio,
            np.log(ratio),
            geometry.diameter_m,
            chains.friction,
            0.5 / (compiled.gravity_m_s2 * compiled.area_m2**2),
            geometry.minor_loss,
            by_roughness * np.clip((reynolds - LAMINAR_TO) / (TURBULENT_FROM - LAMINAR_TO), 0.0, 1.0),
            by_reynolds,
            fitted(factor(DEGREE), DEGREE)[:, ::-1],
            -0.9 / inside[:, np.newaxis] * fitted(steep, _SLOPE_DEGREE)[:, ::-1],
            twist(inside, logarithm, term),
        )
    )
    return np.ascontiguousarray(found)


def twist(inside: Floats, logarithm: Floats, term: Floats) -> Floats:
    """Work out half of Re² times the second derivative of the turbulent friction factor.

    Parameters
    ----------
    inside
        What stands in the law's logarithm [-].
    logarithm
        Its logarithm [-].
    term
        The part of it that falls with the Reynolds number [-].

    Returns
    -------
    NDArray
        One number for each of those given [-].
    """
    share = 0.9 * term / inside  # by which what stands in the logarithm falls as the Reynolds number rises
    factor = (0.5 * math.log(10.0) / logarithm) ** 2
    steep = 2.0 * share / logarithm * factor
    return np.asarray(0.5 * steep * (steep / factor - 1.9 + share * (1.0 + 1.0 / logarithm)))


def _by_reynolds(compiled: CompiledNetwork, flow: Floats, kernel: Kernel) -> Floats:
    """Find the friction factor near the nominal as a cubic of the Reynolds number over the nominal one."""
    find = machine_code.friction_factors(kernel)
    factors = np.column_stack([find(compiled.chains, flow * (1.0 + off)) for off in places_near_one(3)])
    a0, a1, a2, a3 = fitted(np.nan_to_num(factors, nan=1.0), 3).T
    return np.column_stack((a0 - a1 + a2 - a3, a1 - 2.0 * a2 + 3.0 * a3, a2 - 3.0 * a3, a3))


def _flow_if_open(compiled: CompiledNetwork, start: CompiledFlow, outlet: int) -> float:
    """Find about the flow a closed outlet would give at the head at its node, to begin from; 0 where it would not."""
    chain = len(compiled.chain_names) - compiled.outlets.is_open.size + outlet
    head = float(start.head_m[compiled.tree.outlet_node[outlet]] - compiled.outlets.elevation_m[outlet])
    flow = float(compiled.chains.usual_flow[chain])
    for _ in range(_ROUNDS if head > 0.0 else 0):
        loss, slope = chain_loss(compiled.chains, chain, flow)
        flow = max(flow + (head - loss) / slope, 0.1 * flow)
    return flow if head > 0.0 else 0.0
