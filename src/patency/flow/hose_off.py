"""What the circulation pressure shows of a hose that came off: each one taken off its port, then off its piece."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from patency.flow.compiled_network import compile_network
from patency.flow.solver import solve_compiled

if TYPE_CHECKING:
    from patency.flow.compiled_network import CompiledNetwork
    from patency.flow.from_load import LoadNetwork
    from patency.flow.stage_solution import StageSolution


def compile_with_hoses_off(load_network: LoadNetwork) -> CompiledNetwork | None:
    """Compile a load's network with what would stand open after a hose came off, closed as yet.

    Parameters
    ----------
    load_network
        The load's network.

    Returns
    -------
    CompiledNetwork | None
        The network, its first rows those of the load's; None where nothing hangs on a hose.
    """
    network = load_network.network
    off = [replace(outlet, state="closed") for path in load_network.lumens.values() for outlet in path.hose_off]
    return compile_network(replace(network, outlets=(*network.outlets, *off))) if off else None


def pressure_changes_pa(
    load_network: LoadNetwork, with_hoses: CompiledNetwork, solution: StageSolution
) -> tuple[float, float]:
    """Find the largest and the smallest change of the circulation pressure when any one hose comes off.

    Parameters
    ----------
    load_network
        The load's network.
    with_hoses
        The network of ``compile_with_hoses_off``.
    solution
        The stage as planned.

    Returns
    -------
    tuple[float, float]
        The lowest and the highest change over all hoses and both their ends [Pa]; a fall is negative.

    Raises
    ------
    PhysicsError
        If the pump is driven beyond its run-out.
    """
    planned = solution.compiled
    losses = with_hoses.geometry.minor_loss.copy()
    losses[: planned.geometry.minor_loss.size] = planned.geometry.minor_loss
    elevation = with_hoses.outlets.elevation_m.copy()
    elevation[: planned.outlets.elevation_m.size] = planned.outlets.elevation_m
    stage = with_hoses.with_changes(
        geometry=with_hoses.geometry._replace(minor_loss=losses),
        outlets=with_hoses.outlets._replace(elevation_m=elevation),
        pump=planned.pump,
        water=planned.water,
    )
    first = len(stage.chain_names) - stage.outlets.is_open.size
    row = {name: k for k, name in enumerate(stage.chain_names[first:])}
    node = stage.node_names.index(load_network.circulation_node)
    weight = planned.water.density_kg_m3 * planned.gravity_m_s2
    changes = []
    for path in load_network.lumens.values():
        for outlet in path.hose_off:
            is_open = stage.outlets.is_open.copy()
            is_open[[row[name] for name in path.outlets]] = 0
            is_open[row[outlet.id]] = 1
            fault = stage.with_changes(outlets=stage.outlets._replace(is_open=is_open))
            head = solve_compiled(fault).head_m[node]
            changes.append(float(weight * (head - solution.flow.head_m[node])))
    return min(changes), max(changes)
