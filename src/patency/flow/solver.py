"""How the water runs: from a network to flows, heads and what happens in every segment."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.errors import PhysicsError
from patency.flow import machine_code
from patency.flow.compiled_network import compile_network
from patency.flow.kernels import pump_head
from patency.flow.machine_code import Kernel
from patency.flow.newton_kernels import room_of
from patency.flow.result import FlowResult, SegmentFlow

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.flow.compiled_network import CompiledNetwork
    from patency.flow.network import Network

    Floats = NDArray[np.float64]

_LEFT_OVER = 1e-13  # of the largest head around: where rounding ends and a head left over begins
_LEFT_OVER_M = 1e-11
_NO_FLOWS = np.empty(0)


class RunOut(PhysicsError):
    """The network would pull more out of the pump than its curve knows."""


@dataclass(frozen=True, slots=True)
class CompiledFlow:
    """The flows of a compiled network, in its order of rows.

    Parameters
    ----------
    flow_m3_s
        Shape (chains,): flows, away from the sump positive [m³/s].
    head_m
        Shape (nodes,): total heads in the frame of the outlets' elevations [m].
    iterations
        Newton steps taken.
    """

    flow_m3_s: Floats
    head_m: Floats
    iterations: int


@dataclass(frozen=True, slots=True)
class SegmentTable:
    """What happens in every segment, arrays of shape (segments,).

    Parameters
    ----------
    velocity_m_s
        Mean velocities [m/s], away from the sump positive.
    reynolds
        Reynolds numbers with the hydraulic diameter [-].
    friction_factor
        Darcy friction factors [-]; not-a-number where nothing flows and for an orifice.
    wall_shear_pa
        Wall shear stresses f rho v²/8 [Pa]; not-a-number for an orifice.
    pressure_drop_pa
        Pressure lost to friction and single losses [Pa], with the velocity's sign.
    """

    velocity_m_s: Floats
    reynolds: Floats
    friction_factor: Floats
    wall_shear_pa: Floats
    pressure_drop_pa: Floats


def solve(network: Network, kernel: Kernel = Kernel.MACHINE_CODE) -> FlowResult:
    """Find how the water runs through a network.

    One state exists, as the pump's curve falls, every loss rises with its flow and an open outlet only
    gives. Newton's method finds it from any start; the balances reached are in the result.

    Parameters
    ----------
    network
        The network.
    kernel
        How the numbers are worked out.

    Returns
    -------
    FlowResult
        Flows, heads and segments by name.

    Raises
    ------
    InputErrors
        If the network is not sound.
    PhysicsError
        If the pump is driven beyond its run-out, or the numbers lie too far apart to balance.
    """
    compiled = compile_network(network)
    return flow_result(compiled, solve_compiled(compiled, kernel=kernel), network, kernel)


def solve_compiled(
    compiled: CompiledNetwork, start: CompiledFlow | None = None, kernel: Kernel = Kernel.MACHINE_CODE
) -> CompiledFlow:
    """Find the flows of a compiled network; the way for thousands of networks that differ in numbers only.

    Parameters
    ----------
    compiled
        The network.
    start
        Flows of a similar network to begin from; the answer does not depend on it.
    kernel
        How the numbers are worked out.

    Returns
    -------
    CompiledFlow
        Flows and heads.

    Raises
    ------
    PhysicsError
        If the pump is driven beyond its run-out, or the numbers lie too far apart to balance.
    """
    free = _NO_FLOWS if start is None else start.flow_m3_s[compiled.tree.parent.size :]
    tolerance = max(_LEFT_OVER_M, _LEFT_OVER * compiled.greatest_head_m)
    find = machine_code.newton(kernel)
    flow, head, room = (
        np.empty(compiled.chains.fixed.size),
        np.empty(compiled.tree.parent.size),
        np.empty(room_of(compiled.tree)),
    )
    given = compiled.chains, compiled.tree, compiled.ends, free, tolerance, flow, head, room
    try:
        if kernel is Kernel.INTERPRETED:
            with np.errstate(all="ignore"):
                steps, worst = find(*given)
        else:
            steps, worst = find(*given)
    except (ArithmeticError, ValueError) as error:
        raise _no_balance() from error
    through_pump = float(flow[0])  # the sum of all that leaves: finite only if all is
    if not (worst <= tolerance and math.isfinite(through_pump)):
        raise _no_balance()
    if through_pump > compiled.run_out_m3_s:
        raise _run_out(compiled, through_pump)
    return CompiledFlow(flow, head, steps)


def _no_balance() -> PhysicsError:
    return PhysicsError("network", "no balance found: sizes too far apart to compute with", "sizes of real things")


def _run_out(compiled: CompiledNetwork, flow_m3_s: float) -> RunOut:
    most = compiled.run_out_m3_s
    return RunOut(
        "pump",
        f"beyond its run-out: the network draws {flow_m3_s * 6e4:.4g} L/min",
        f"at most {most * 6e4:.4g} L/min, where its curve ends",
    )


def segment_table(compiled: CompiledNetwork, flow: CompiledFlow, kernel: Kernel = Kernel.MACHINE_CODE) -> SegmentTable:
    """Work out velocity, friction, shear and pressure drop of every segment.

    Parameters
    ----------
    compiled
        The network.
    flow
        Its flows.
    kernel
        How the numbers are worked out.

    Returns
    -------
    SegmentTable
        One row for each segment, in the order of the compiled network.
    """
    geometry, density = compiled.geometry, compiled.water.density_kg_m3
    rubs = geometry.discharge_coefficient == 0.0
    counts = np.diff(compiled.segment_start)
    velocity = np.repeat(flow.flow_m3_s, counts) / compiled.area_m2
    factor = machine_code.friction_factors(kernel)(compiled.chains, flow.flow_m3_s)
    rubbing = np.nan_to_num(factor)
    coefficient = np.where(rubs, 1.0, geometry.discharge_coefficient)
    losses = np.where(
        rubs, rubbing * geometry.length_m / compiled.hydraulic_diameter_m + geometry.minor_loss, coefficient**-2
    )
    return SegmentTable(
        velocity_m_s=velocity,
        reynolds=np.abs(velocity) * compiled.hydraulic_diameter_m / compiled.water.kinematic_viscosity_m2_s,
        friction_factor=factor,
        wall_shear_pa=np.where(rubs, rubbing * density * velocity**2 / 8.0, np.nan),
        pressure_drop_pa=losses * density * velocity * np.abs(velocity) / 2.0,
    )


def flow_result(compiled: CompiledNetwork, flow: CompiledFlow, network: Network, kernel: Kernel) -> FlowResult:
    """Put names to the numbers, in the order and the directions of the network, and close the balances.

    Parameters
    ----------
    compiled
        The compiled network.
    flow
        Its flows.
    network
        The network it was compiled from.
    kernel
        How the numbers are worked out.

    Returns
    -------
    FlowResult
        Flows, heads and segments by name.
    """
    table = segment_table(compiled, flow, kernel)
    row = {name: place for place, name in enumerate(compiled.chain_names)}
    names = [*(link.id for link in network.links), *(outlet.id for outlet in network.outlets)]
    signed = flow.flow_m3_s * compiled.direction
    mass_error, energy_error = flow_balance(compiled, flow, table)
    first_outlet = len(compiled.chain_names) - len(network.outlets)
    dry = (compiled.outlets.is_open == 1) & (flow.flow_m3_s[first_outlet:] == 0.0)
    return FlowResult(
        flows_m3_s={name: float(signed[row[name]]) for name in names},
        heads_m={
            name: float(head) - compiled.pump.sump_level_m
            for name, head in zip(compiled.node_names, flow.head_m, strict=True)
        },
        segments={name: _segments(compiled, table, row[name]) for name in names},
        dry_outlets=tuple(outlet.id for outlet, is_dry in zip(network.outlets, dry, strict=True) if is_dry),
        mass_balance_error_m3_s=mass_error,
        energy_error_m=energy_error,
        iterations=flow.iterations,
    )


def _segments(compiled: CompiledNetwork, table: SegmentTable, chain: int) -> tuple[SegmentFlow, ...]:
    """The segments of one chain in the order and direction its link is written."""
    turned = int(compiled.direction[chain])
    rows = range(int(compiled.segment_start[chain]), int(compiled.segment_start[chain + 1]))[::turned]

    def known(value: float) -> float | None:
        return None if np.isnan(value) else float(value)

    return tuple(
        SegmentFlow(
            velocity_m_s=turned * float(table.velocity_m_s[k]),
            reynolds=float(table.reynolds[k]),
            friction_factor=known(table.friction_factor[k]),
            wall_shear_pa=known(table.wall_shear_pa[k]),
            pressure_drop_pa=turned * float(table.pressure_drop_pa[k]),
        )
        for k in rows
    )


def flow_balance(compiled: CompiledNetwork, flow: CompiledFlow, table: SegmentTable) -> tuple[float, float]:
    """Say how well a solution balances, worked out anew from what its segments lose.

    Parameters
    ----------
    compiled
        The network.
    flow
        Its flows.
    table
        What happens in its segments at these flows.

    Returns
    -------
    tuple[float, float]
        Largest difference between inflow and outflow at a node [m³/s]; largest difference between the heads at the
        ends of a path and what the path loses [m].
    """
    nodes = compiled.tree.parent.size
    return _mass_balance_error(compiled, flow.flow_m3_s, nodes), _energy_error(compiled, flow, table)


def _mass_balance_error(compiled: CompiledNetwork, flow: Floats, nodes: int) -> float:
    """Largest difference between what enters a node and what leaves it."""
    tree = compiled.tree
    left = flow[:nodes].copy()
    np.subtract.at(left, tree.parent[1:], flow[1:nodes])
    chords = flow[nodes : nodes + tree.chord_from.size]
    np.subtract.at(left, tree.chord_from, chords)
    np.add.at(left, tree.chord_to, chords)
    np.subtract.at(left, tree.outlet_node, flow[nodes + chords.size :])
    return float(np.abs(left).max())


def _energy_error(compiled: CompiledNetwork, flow: CompiledFlow, table: SegmentTable) -> float:
    """Largest difference between the heads at a path's ends and what its segments lose, where water may run."""
    tree, outlets, nodes = compiled.tree, compiled.outlets, compiled.tree.parent.size
    weight = compiled.water.density_kg_m3 * compiled.gravity_m_s2
    lost = np.add.reduceat(table.pressure_drop_pa, compiled.segment_start[:-1]) / weight
    last = compiled.segment_start[1:][-outlets.exit_loss.size :] - 1
    jet = np.where(compiled.geometry.discharge_coefficient[last] == 0.0, outlets.exit_loss, 0.0)
    lost[-last.size :] += jet * table.velocity_m_s[last] ** 2 / (2.0 * compiled.gravity_m_s2)
    above = np.concatenate((flow.head_m, [compiled.pump.sump_level_m]))  # the sump's row is -1, the last
    end = np.concatenate((flow.head_m, flow.head_m[tree.chord_to], outlets.elevation_m))
    begin = above[np.concatenate((tree.parent, tree.chord_from, tree.outlet_node))]
    begin[0] += pump_head(compiled.ends, float(flow.flow_m3_s[0]))[0]
    runs = np.concatenate((np.ones(nodes + tree.chord_from.size, dtype=bool), flow.flow_m3_s[-last.size :] > 0.0))
    return float(np.abs((begin - end - lost)[runs]).max())
