"""What is read off a solved load: the same few numbers for every lumen, as arrays, for one solution or hundreds."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.flow.segment_tables import segment_tables, unsure_bits
from patency.flow.solver import segment_table

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.flow.batch import ManyFlows
    from patency.flow.compiled_network import CompiledNetwork, Geometry
    from patency.flow.from_load import LoadNetwork
    from patency.flow.solver import CompiledFlow, SegmentTable

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]


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
    circulation_pa: Floats
    total_m3_s: Floats


class _Places(NamedTuple):
    """Where among segments the lumens are read."""

    first: Integers  # [lumen] where the path that brings its water begins
    before: Integers  # [lumen] and where the lumen does
    own: Integers  # its own segments, lumen after lumen


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
        self._all = _Places(first, before, np.array([row for rows in own for row in rows], dtype=np.int64))
        ways = [np.arange(*way, dtype=np.int64) for way in zip(first, before, strict=True)]
        self._rows = np.unique(np.concatenate((self._all.own, *ways)))
        self._read = _Places(*(np.searchsorted(self._rows, places) for places in self._all))
        self._counts = [len(rows) for rows in own]
        self._own_start = np.concatenate(([0], np.cumsum([len(rows) for rows in own])))[:-1].astype(np.int64)
        self._arms = np.array([chain[name] for name in load_network.arms.values()], dtype=np.int64)
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
        return self._numbers(compiled, table, flow, 1.0 if friction is None else friction, self._all)

    def read_many(self, compiled: CompiledNetwork, sizes: Geometry, flows: ManyFlows, friction: Floats) -> Readings:
        """Read many solutions of a network whose segments differ in size.

        Parameters
        ----------
        compiled
            The network, with its water.
        sizes
            Shape (scenarios, segments) each: the sizes it was solved with.
        flows
            The solutions.
        friction
            Shape (scenarios, segments): factor that lengths carry in place of other friction [-]; 1 for none.

        Returns
        -------
        Readings
            The numbers, each with the scenarios first.
        """
        rows = self._rows
        table = segment_tables(compiled, sizes, flows, rows)
        return self._numbers(compiled, table, flows, friction[:, rows], self._read)

    def _numbers(
        self,
        compiled: CompiledNetwork,
        table: SegmentTable,
        flow: CompiledFlow | ManyFlows,
        friction: Floats | float,
        places: _Places,
    ) -> Readings:
        """Read one solution, or many whose arrays have the scenarios first."""
        weight = compiled.water.density_kg_m3 * compiled.gravity_m_s2
        lost = np.cumsum(table.pressure_drop_pa, axis=-1)
        lost = np.concatenate((np.zeros_like(lost[..., :1]), lost), axis=-1)
        entering = flow.flow_m3_s[..., self._entry]
        above = weight * (flow.head_m[..., self._node] - self._inlet_m)
        pressure = above - (lost[..., places.before] - lost[..., places.first])
        return Readings(
            flow_m3_s=entering * self._share,
            velocity_m_s=self._lowest(table.velocity_m_s, places),
            reynolds=self._lowest(table.reynolds, places),
            shear_pa=np.where(self._jet, np.nan, self._lowest(table.wall_shear_pa * friction, places)),
            pressure_pa=np.where(entering > 0.0, pressure, 0.0),
            arm_flow_m3_s=flow.flow_m3_s[..., self._arms],
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
        own = np.where(np.repeat(self._jet, self._counts), 0.0, equivalent_reynolds[self._all.own])
        return unsure_bits(own, self._own_start)

    def _lowest(self, values: Floats, places: _Places) -> Floats:
        """Smallest of a number over each lumen's own segments."""
        if places.own.size == 0:
            return np.empty((*values.shape[:-1], 0))
        return np.asarray(np.minimum.reduceat(values[..., places.own], self._own_start, axis=-1))
