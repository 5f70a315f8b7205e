"""What is read off a solved load: the same few numbers for every lumen, as arrays, for one solution or hundreds."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from patency.flow import machine_code, reading_kernels
from patency.flow.machine_code import Kernel
from patency.flow.reading_kernels import LumenArrays, Places, Sections
from patency.flow.segment_tables import unsure_bits
from patency.flow.solver import segment_table

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from patency.flow.batch import ManyFlows
    from patency.flow.compiled_network import CompiledNetwork, Geometry
    from patency.flow.from_load import LoadNetwork
    from patency.flow.solver import CompiledFlow

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]


_INNER: tuple[Callable[..., Any], ...] = (
    reading_kernels.friction,
    reading_kernels.least,
    reading_kernels.read_own,
    reading_kernels.read_before,
    reading_kernels.read_lumens,
)


class Readings(NamedTuple):
    """Numbers of one solution; lumens in the order of the load's network.

    Parameters
    ----------
    flow_m3_s
        Shape (lumens,): water that enters the lumen; of a nozzle's water what leaves inside the bore [m³/s].
    velocity_m_s
        Shape (lumens,): smallest mean velocity along the lumen; of a nozzle's jet the one at its opening [m/s].
    reynolds
        Shape (lumens,): Reynolds number where the velocity is read [-].
    shear_pa
        Shape (lumens,): smallest wall shear stress along the lumen [Pa]; not-a-number where a nozzle feeds it.
    pressure_pa
        Shape (lumens,): gauge pressure at the connection, with its velocity head [Pa].
    arm_flow_m3_s
        Shape (arms,): flow of each arm [m³/s].
    open_flow_m3_s
        Shape (open ports,): flow of each port at which nothing stands and that no cap closes [m³/s].
    circulation_pa
        Shape (1,): gauge pressure at the circulation sensor, reckoned at the sump's level [Pa].
    total_m3_s
        Shape (1,): flow of the pump [m³/s].
    """

    flow_m3_s: Floats
    velocity_m_s: Floats
    reynolds: Floats
    shear_pa: Floats
    pressure_pa: Floats
    arm_flow_m3_s: Floats
    open_flow_m3_s: Floats
    circulation_pa: Floats
    total_m3_s: Floats


class Gauge:
    """Knows where in the arrays of a load's network everything stands, and reads it off solutions.

    Parameters
    ----------
    load_network
        The load's network.
    compiled
        The same compiled; solutions of it with other numbers can be read too.
    """

    def __init__(self, load_network: LoadNetwork, compiled: CompiledNetwork) -> None:
        chain = {name: row for row, name in enumerate(compiled.chain_names)}
        start = compiled.segment_start
        feeding = np.concatenate((compiled.tree.parent, compiled.tree.chord_from, compiled.tree.outlet_node))
        paths = list(load_network.lumens.values())
        self._entry = np.array([chain[path.entry[0]] for path in paths], dtype=np.int64)
        first = start[self._entry]
        before = first + np.array([path.entry[1] for path in paths], dtype=np.int64)
        self._node = feeding[self._entry]
        self._inlet_m = np.array([path.inlet_elevation_m for path in paths])
        self._share = np.array([1.0 if path.jet is None else path.jet.share_inside for path in paths])
        self._jet = np.array([path.jet is not None for path in paths], dtype=bool)
        # The opening of a nozzle is the last segment of its path.
        own = [
            [int(start[chain[name]]) + k for name, k in path.own] or [int(start[chain[path.entry[0]] + 1]) - 1]
            for path in paths
        ]
        self._counts = [len(rows) for rows in own]
        ends = np.concatenate(([0], np.cumsum(self._counts)))
        self._own = np.array([row for rows in own for row in rows], dtype=np.int64)
        self._own_start = ends[:-1].astype(np.int64)
        self._first, self._before = first, before
        own_chain = np.searchsorted(start, self._own, side="right") - 1
        places = self._entry, first, before, ends, self._own, own_chain
        self._places = Places(*(np.ascontiguousarray(rows, dtype=np.uint64) for rows in places))
        self._arms = np.array([chain[name] for name in load_network.arms.values()], dtype=np.int64)
        self._open = np.array([chain[name] for name in load_network.open_ports.values()], dtype=np.int64)
        self._circulation = compiled.node_names.index(load_network.circulation_node)

    def read(self, compiled: CompiledNetwork, flow: CompiledFlow, friction: Floats | None = None) -> Readings:
        """Read a solution.

        Parameters
        ----------
        compiled
            The network that was solved.
        flow
            Its solution.
        friction
            Shape (segments,): factor that the network's lengths carry in place of other friction [-]; None for none.

        Returns
        -------
        Readings
            The numbers.
        """
        table = segment_table(compiled, flow)
        other = 1.0 if friction is None else friction
        lost = np.concatenate(([0.0], np.cumsum(table.pressure_drop_pa)))
        return self._numbers(
            compiled,
            flow,
            LumenArrays(
                velocity=self._lowest(table.velocity_m_s),
                reynolds=self._lowest(table.reynolds),
                shear=self._lowest(table.wall_shear_pa * other),
                lost=lost[self._before] - lost[self._first],
            ),
        )

    def read_many(
        self,
        compiled: CompiledNetwork,
        sizes: Geometry,
        flows: ManyFlows,
        friction: Floats,
        kernel: Kernel = Kernel.MACHINE_CODE,
        *,
        with_pressure: bool = True,
    ) -> Readings:
        """Read many solutions of a network whose segments differ in size.

        Parameters
        ----------
        compiled
            The network, with its water.
        sizes
            Shape (scenarios, segments) each, of one row where all have the same: the sizes it was solved with.
        flows
            The solutions.
        friction
            The same shape: factor that lengths carry in place of other friction [-]; 1 for none.
        kernel
            How the numbers are worked out.
        with_pressure
            Whether the pressure at the connection is asked for: it costs the friction of all that stands before the
            lumens, and is not-a-number otherwise.

        Returns
        -------
        Readings
            The numbers, each with the scenarios first.
        """
        sections = Sections(*(np.ascontiguousarray(values, dtype=float) for values in (*sizes, friction)))
        shape = (flows.state.size, self._entry.size)
        found = LumenArrays(*(np.zeros(shape) for _ in LumenArrays._fields))
        water, through = compiled.water, np.ascontiguousarray(flows.flow_m3_s)
        viscosity, density = water.kinematic_viscosity_m2_s, water.density_kg_m3
        _read_lumens(kernel)(self._places, sections, through, viscosity, density, with_pressure, found)
        numbers = self._numbers(compiled, flows, found)
        return numbers if with_pressure else numbers._replace(pressure_pa=np.full(shape, np.nan))

    def _numbers(self, compiled: CompiledNetwork, flow: CompiledFlow | ManyFlows, found: LumenArrays) -> Readings:
        """Put one solution's numbers together, or many whose arrays have the scenarios first."""
        weight = compiled.water.density_kg_m3 * compiled.gravity_m_s2
        entering = flow.flow_m3_s[..., self._entry]
        pressure = weight * (flow.head_m[..., self._node] - self._inlet_m) - found.lost
        return Readings(
            flow_m3_s=entering * self._share,
            velocity_m_s=found.velocity,
            reynolds=found.reynolds,
            shear_pa=np.where(self._jet, np.nan, found.shear),
            pressure_pa=np.where(entering > 0.0, pressure, 0.0),
            arm_flow_m3_s=flow.flow_m3_s[..., self._arms],
            open_flow_m3_s=flow.flow_m3_s[..., self._open],
            circulation_pa=weight * (flow.head_m[..., [self._circulation]] - compiled.pump.sump_level_m),
            total_m3_s=flow.flow_m3_s[..., [0]],
        )

    def unsure(self, equivalent_reynolds: Floats) -> Integers:
        """Tell which segments of each lumen run at a Reynolds number that leaves laminar or turbulent open.

        Parameters
        ----------
        equivalent_reynolds
            Shape (segments,): Reynolds numbers that decide [-].

        Returns
        -------
        NDArray
            Shape (lumens,): a bit for each segment, as `unsure_bits` sets it; none for a nozzle's opening.
        """
        own = np.where(np.repeat(self._jet, self._counts), 0.0, equivalent_reynolds[self._own])
        return unsure_bits(own, self._own_start)

    def _lowest(self, values: Floats) -> Floats:
        """Smallest of a number over each lumen's own segments."""
        if self._own.size == 0:
            return np.empty(0)
        return np.asarray(np.minimum.reduceat(values[self._own], self._own_start))


def _read_lumens(kernel: Kernel) -> Callable[..., None]:
    return reading_kernels.read_lumens if kernel is Kernel.INTERPRETED else _compiled()


@cache
def _compiled() -> Callable[..., None]:
    stamp = machine_code.stamp(reading_kernels)

    def stamped(places, sizes, flows, viscosity, density, with_lost, found):  # type: ignore[no-untyped-def] # noqa: ANN001, ANN202
        if stamp >= 0:  # enclosed, so that the compiler's cache forgets what was made from other functions
            reading_kernels.read_lumens(places, sizes, flows, viscosity, density, with_lost, found)

    return machine_code.compiled_for_threads(stamped, _INNER)
