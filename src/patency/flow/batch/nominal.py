"""The network as compiled, as what lanes expand around."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from patency.flow import machine_code
from patency.flow.batch.lane_layout import ANNULUS, BORE, ORIFICE, Nominal
from patency.flow.kernels import LAMINAR_TO, TURBULENT_FROM, chain_loss

if TYPE_CHECKING:
    from patency.flow.compiled_network import CompiledNetwork
    from patency.flow.machine_code import Kernel
    from patency.flow.solver import CompiledFlow

_TWO_OVER_LN10 = 2.0 / math.log(10.0)
_ROUNDS = 6
_SMALL = 1e-6  # relative step for the slope of the friction factor: it serves a first step only


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
    counts = np.diff(chains.start)
    flow = np.where(start.flow_m3_s > 0.0, start.flow_m3_s, chains.usual_flow)
    outlets = compiled.outlets.is_open.size
    warm = np.maximum(start.flow_m3_s[-outlets:], 0.0)
    for outlet in np.flatnonzero(warm == 0.0):
        warm[outlet] = _flow_if_open(compiled, start, int(outlet))
        flow[flow.size - outlets + outlet] = warm[outlet] or flow[flow.size - outlets + outlet]
    friction_factors = machine_code.friction_factors(kernel)
    factor = np.nan_to_num(friction_factors(chains, flow), nan=1.0)
    more = np.nan_to_num(friction_factors(chains, flow * (1.0 + _SMALL)), nan=1.0)
    reynolds = chains.reynolds_per_flow * np.repeat(flow, counts)
    turbulent = np.clip((reynolds - LAMINAR_TO) / (TURBULENT_FROM - LAMINAR_TO), 0.0, 1.0)
    inside = chains.roughness / 3.7 + 5.74 * np.maximum(reynolds, TURBULENT_FROM) ** -0.9
    logarithm = np.log(inside)
    usual_slope = np.add.reduceat(
        np.nan_to_num(friction_factors(chains, chains.usual_flow)) * chains.friction, chains.start[:-1]
    )
    usual_slope = (usual_slope + chains.fixed) * chains.usual_flow
    geometry, tree = compiled.geometry, compiled.tree
    by_reynolds = (more / factor - 1.0) / _SMALL
    by_roughness = turbulent * -2.0 * chains.roughness / 3.7 / (inside * logarithm)
    per_flow = chains.reynolds_per_flow
    ratio = np.where(geometry.rod_diameter_m > 0.0, geometry.rod_diameter_m / geometry.diameter_m, 0.5)
    return Nominal(
        start=chains.start.astype(np.uint64),
        kind=np.where(
            geometry.discharge_coefficient > 0.0, ORIFICE, np.where(geometry.rod_diameter_m > 0.0, ANNULUS, BORE)
        ).astype(np.uint8),
        parent=np.maximum(tree.parent, 0).astype(np.uint64),
        outlet_node=tree.outlet_node.astype(np.uint64),
        of_segment=np.column_stack(
            (
                per_flow,
                per_flow**-0.9,
                chains.roughness,
                inside,
                logarithm,
                factor,
                by_reynolds,
                by_roughness,
                ratio,
                np.log(ratio),
            )
        ),
        of_chain=np.column_stack((chains.usual_flow, usual_slope, flow, flow**-0.9)),
        warm=warm,
        gravity=compiled.gravity_m_s2,
    )


def _flow_if_open(compiled: CompiledNetwork, start: CompiledFlow, outlet: int) -> float:
    """Find about the flow a closed outlet would give at the head at its node, to begin from; 0 where it would not."""
    chain = len(compiled.chain_names) - compiled.outlets.is_open.size + outlet
    head = float(start.head_m[compiled.tree.outlet_node[outlet]] - compiled.outlets.elevation_m[outlet])
    flow = float(compiled.chains.usual_flow[chain])
    for _ in range(_ROUNDS if head > 0.0 else 0):
        loss, slope = chain_loss(compiled.chains, chain, flow)
        flow = max(flow + (head - loss) / slope, 0.1 * flow)
    return flow if head > 0.0 else 0.0
