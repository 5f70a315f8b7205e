"""One stage of a load solved at its nominal sizes, with what depends on the flow itself put in.

Two things do: the loss of developing laminar flow, and the pressure that drives water out of a side hole. The
network's heads are total heads; a hole in the wall sees only what is left without the velocity head of the water
passing it, which here stands as a rise of the hole's height.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.flow.compiled_network import water_state
from patency.flow.development import laminar_development_loss
from patency.flow.kernels import LAMINAR_TO, TURBULENT_FROM
from patency.flow.network import Water
from patency.flow.solver import segment_table, solve_compiled

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.flow.compiled_network import CompiledNetwork
    from patency.flow.from_load import LoadNetwork
    from patency.flow.network import PumpPoints
    from patency.flow.solver import CompiledFlow

    Floats = NDArray[np.float64]

# Both depend on the flow and the flow on them. Each round leaves a tenth of the change of the round before, with side
# holes near an open end about half of it.
_MOST_ROUNDS = 30
_SETTLED = 1e-4  # largest change of a flow in one round, over that flow


@dataclass(frozen=True, slots=True)
class StageSolution:
    """A solved stage.

    Parameters
    ----------
    temperature_c
        Temperature of the water [°C].
    compiled
        The network with the losses of developing flow.
    flow
        Its solution.
    equivalent_reynolds
        Shape (segments,): Reynolds number that decides about laminar and turbulent; for an annulus the equivalent one
        [-].
    """

    temperature_c: float
    compiled: CompiledNetwork
    flow: CompiledFlow
    equivalent_reynolds: Floats


def solve_stage(
    load_network: LoadNetwork, compiled: CompiledNetwork, pump: PumpPoints, temperature_c: float
) -> StageSolution:
    """Solve one stage.

    Parameters
    ----------
    load_network
        The load's network, of any stage.
    compiled
        The same compiled.
    pump
        The pump at the stage's speed.
    temperature_c
        Temperature of the stage's water [°C].

    Returns
    -------
    StageSolution
        The solution.

    Raises
    ------
    PhysicsError
        If the pump is driven beyond its run-out.
    """
    stage = compiled.with_changes(pump=pump, water=water_state(Water(temperature_c=temperature_c)))
    flat, holes = _flat_rows(load_network, stage), _side_holes(load_network, stage)
    flow = solve_compiled(stage)
    for _ in range(_MOST_ROUNDS):
        losses = compiled.geometry.minor_loss.copy()
        table = segment_table(stage, flow)
        deciding = _equivalent(stage, flow)
        for row in flat[(deciding[flat] > 0.0) & (deciding[flat] < TURBULENT_FROM)]:
            losses[row] += _development_loss(stage, int(row), float(table.reynolds[row]), float(deciding[row]))
        elevation = compiled.outlets.elevation_m.copy()
        for outlet, row in holes:
            elevation[outlet] += table.velocity_m_s[row] ** 2 / (2.0 * stage.gravity_m_s2)
        stage = stage.with_changes(
            geometry=stage.geometry._replace(minor_loss=losses),
            outlets=stage.outlets._replace(elevation_m=elevation),
        )
        before, flow = flow, solve_compiled(stage, start=flow)
        if np.all(np.abs(flow.flow_m3_s - before.flow_m3_s) <= _SETTLED * np.abs(flow.flow_m3_s)):
            break
    return StageSolution(temperature_c, stage, flow, _equivalent(stage, flow))


def _side_holes(load_network: LoadNetwork, compiled: CompiledNetwork) -> list[tuple[int, int]]:
    """List the outlets of side holes, each with the segment in which its lumen goes on."""
    first = len(compiled.chain_names) - compiled.outlets.is_open.size
    chain = {name: row for row, name in enumerate(compiled.chain_names)}
    return [
        (chain[opening] - first, int(compiled.segment_start[chain[onward]]))
        for path in load_network.lumens.values()
        for opening, onward in path.side_holes
    ]


def _flat_rows(load_network: LoadNetwork, compiled: CompiledNetwork) -> NDArray[np.int64]:
    """Rows of the segments in which the flow starts out flat."""
    flags = [stretch.starts_flat for name in compiled.chain_names for stretch in load_network.stretches[name]]
    return np.flatnonzero(flags)


def _equivalent(compiled: CompiledNetwork, flow: CompiledFlow) -> Floats:
    counts = np.diff(compiled.segment_start)
    return np.asarray(compiled.chains.reynolds_per_flow * np.repeat(np.abs(flow.flow_m3_s), counts))


def _development_loss(compiled: CompiledNetwork, row: int, reynolds: float, deciding: float) -> float:
    """Loss of one segment; it fades from laminar to turbulent flow, whose development the losses of the steps hold."""
    geometry = compiled.geometry
    ratio = float(geometry.rod_diameter_m[row] / geometry.diameter_m[row])
    loss = laminar_development_loss(
        float(geometry.length_m[row]), float(compiled.hydraulic_diameter_m[row]), reynolds, ratio
    )
    return loss * min(1.0, (TURBULENT_FROM - deciding) / (TURBULENT_FROM - LAMINAR_TO))
