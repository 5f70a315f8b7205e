"""A set-up or stage solved with other factors: its flows and heads, and their exact derivatives by every factor."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from patency.flow.commissioning.sensitivity import loss_gradients, tangent
from patency.flow.fitted import PUMP_FLOW, PUMP_HEAD
from patency.flow.kernels import pump_head
from patency.flow.machine_code import Kernel, friction_factors
from patency.flow.network import PumpPoints
from patency.flow.solver import solve_compiled

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from patency.flow.commissioning.bench import Bench
    from patency.flow.compiled_network import CompiledNetwork
    from patency.flow.solver import CompiledFlow

    Floats = NDArray[np.float64]


@lru_cache(maxsize=128)
def membership(bench: Bench, names: tuple[str, ...]) -> Floats:
    """Say which parameters hold for which segments.

    Parameters
    ----------
    bench
        The set-up.
    names
        Names of the parameters.

    Returns
    -------
    NDArray
        Shape (segments, parameters): 1 where the parameter multiplies the segment's resistance, else 0.
    """
    row = {name: column for column, name in enumerate(names)}
    belongs = np.zeros((len(bench.stretches), len(names)))
    for segment, stretch in enumerate(bench.stretches):
        for name in stretch.fitted_as:
            if name in row:
                belongs[segment, row[name]] = 1.0
    return belongs


def with_factors(compiled: CompiledNetwork, resistance: Floats, head: float, flow: float) -> CompiledNetwork:
    """Multiply the resistances of all segments and the pump's curve.

    Parameters
    ----------
    compiled
        The network as described.
    resistance
        Shape (segments,): factors [-].
    head
        Factor of the pump's heads [-].
    flow
        Factor of the pump's flows [-].

    Returns
    -------
    CompiledNetwork
        The changed network.
    """
    geometry, pump = compiled.geometry, compiled.pump
    assert isinstance(pump, PumpPoints)  # noqa: S101 - the network of a bench has no other
    points = tuple((at * flow, height * head) for at, height in pump.points)
    return compiled.with_changes(
        geometry=geometry._replace(
            length_m=geometry.length_m * resistance,
            minor_loss=geometry.minor_loss * resistance,
            discharge_coefficient=geometry.discharge_coefficient / np.sqrt(resistance),
        ),
        pump=PumpPoints(points=points, relative_speed=pump.relative_speed, sump_level_m=pump.sump_level_m),
    )


def pump_elasticities(benches: Iterable[Bench], names: tuple[str, ...], values: Floats) -> Floats:
    """Compute by how much the logarithm of the pump's head changes with its two factors in each set-up or stage.

    Parameters
    ----------
    benches
        Set-ups or stages.
    names
        Names of the parameters.
    values
        Shape (parameters,): logarithms of their factors.

    Returns
    -------
    NDArray
        Shape (set-ups, parameters).
    """
    rows = []
    for bench in benches:
        compiled = _with_values(bench, names, values)
        flow = float(solve_compiled(compiled).flow_m3_s[0])
        head, slope = pump_head(compiled.ends, flow)
        rows.append([{PUMP_HEAD: 1.0, PUMP_FLOW: -slope * flow / head}.get(name, 0.0) for name in names])
    return np.array(rows)


def _with_values(bench: Bench, names: tuple[str, ...], values: Floats) -> CompiledNetwork:
    factor = dict(zip(names, np.exp(values), strict=True))
    resistance = np.exp(membership(bench, names) @ values)
    return with_factors(bench.compiled, resistance, factor.get(PUMP_HEAD, 1.0), factor.get(PUMP_FLOW, 1.0))


@dataclass(frozen=True, slots=True)
class Observed:
    """Flows and heads of a set-up or stage with other factors, and their derivatives by the logarithms of these.

    Parameters
    ----------
    flow_m3_s
        Shape (chains asked for,) [m³/s].
    flow_jacobian
        Shape (chains asked for, parameters) [m³/s].
    above_sump_pa
        Shape (nodes asked for,): pressures above the surroundings at the level of the sump's water [Pa].
    pressure_jacobian
        Shape (nodes asked for, parameters) [Pa].
    weight_n_m3
        Specific weight of the water [N/m³].
    sump_level_m
        Level of the sump's water [m].
    """

    flow_m3_s: Floats
    flow_jacobian: Floats
    above_sump_pa: Floats
    pressure_jacobian: Floats
    weight_n_m3: float
    sump_level_m: float


def observe(
    bench: Bench, names: tuple[str, ...], values: Floats, chains: list[int], nodes: list[int], kernel: Kernel
) -> Observed:
    """Solve a set-up or stage with other factors and look at some of its flows and heads.

    Parameters
    ----------
    bench
        The set-up or stage as described.
    names
        Names of the parameters.
    values
        Shape (parameters,): logarithms of their factors.
    chains
        Rows of the chains whose flow is asked for.
    nodes
        Rows of the nodes whose pressure is asked for.
    kernel
        How the numbers are worked out.

    Returns
    -------
    Observed
        Numbers and derivatives.

    Raises
    ------
    PhysicsError
        If the pump is driven beyond its run-out.
    """
    compiled = _with_values(bench, names, values)
    flow = solve_compiled(compiled, kernel=kernel)
    by_flow, by_head = loss_gradients(tangent(compiled, flow), chains, nodes)
    losses = _loss_derivatives(compiled, flow, membership(bench, names), names, kernel)
    weight, level = compiled.water.density_kg_m3 * compiled.gravity_m_s2, compiled.pump.sump_level_m
    return Observed(
        flow_m3_s=flow.flow_m3_s[chains],
        flow_jacobian=by_flow @ losses,
        above_sump_pa=weight * (flow.head_m[nodes] - level),
        pressure_jacobian=weight * (by_head @ losses),
        weight_n_m3=weight,
        sump_level_m=level,
    )


def _loss_derivatives(
    compiled: CompiledNetwork, flow: CompiledFlow, belongs: Floats, names: tuple[str, ...], kernel: Kernel
) -> Floats:
    """By how much each chain's lost head changes with each parameter while the flows stay: (chains, parameters)."""
    geometry = compiled.geometry
    counts = np.diff(compiled.segment_start)
    factor = np.nan_to_num(friction_factors(kernel)(compiled.chains, flow.flow_m3_s))
    opening = geometry.discharge_coefficient > 0.0
    per_opening = np.where(opening, geometry.discharge_coefficient, 1.0) ** -2.0
    fixed = np.where(opening, per_opening, geometry.minor_loss) / (2.0 * compiled.gravity_m_s2 * compiled.area_m2**2)
    signed = np.repeat(flow.flow_m3_s * np.abs(flow.flow_m3_s), counts)
    lost = (factor * compiled.chains.friction + fixed) * signed
    derivatives = np.add.reduceat(lost[:, None] * belongs, compiled.segment_start[:-1], axis=0)
    head, slope = pump_head(compiled.ends, float(flow.flow_m3_s[0]))
    for column, name in enumerate(names):
        if name == PUMP_HEAD:
            derivatives[0, column] -= head
        elif name == PUMP_FLOW:
            derivatives[0, column] += slope * flow.flow_m3_s[0]
    return derivatives
