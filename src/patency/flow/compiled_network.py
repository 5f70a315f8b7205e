"""A network as arrays: what the kernels read, and what is cheap to change a thousand times.

Order of rows. Chains: first the links that make the tree from the sump, each after the one that feeds it;
then the links that close loops; then the outlets in the order of the network. Segments: in flow order,
chain by chain. A tree link written against its direction from the sump has its segments turned round
and ``direction`` -1.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from patency.errors import InputError
from patency.flow.friction import annulus_constant
from patency.flow.kernels import (
    LAMINAR_TO,
    TURBULENT_FROM,
    Chains,
    Ends,
    Tree,
    between_regimes,
    pump_head,
    run_out,
    swamee_jain,
)
from patency.flow.network import Annulus, Orifice, PumpPoints
from patency.flow.network_check import check_network
from patency.flow.tree_order import tree_order
from patency.quantities import water_density_kg_m3, water_kinematic_viscosity_m2_s

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.flow.network import Network, Pump, Segment, Water

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]

_HUGE = 1e60  # numbers up to here, and down to its inverse, can be multiplied without leaving the range of floats


class Geometry(NamedTuple):
    """The segments, one row each, in SI units."""

    diameter_m: Floats  # of a bore, of an annulus' tube, of an orifice
    rod_diameter_m: Floats  # of an annulus' rod; 0 for the others
    length_m: Floats  # 0 for an orifice
    roughness_m: Floats  # 0 for an orifice
    minor_loss: Floats  # 0 for an orifice
    discharge_coefficient: Floats  # of an orifice; 0 for the others: this tells them apart


class Outlets(NamedTuple):
    """The outlets, one row each."""

    elevation_m: Floats
    exit_loss: Floats
    is_open: NDArray[np.uint8]  # 1 open, 0 closed


class WaterState(NamedTuple):
    """The two properties that matter."""

    density_kg_m3: float
    kinematic_viscosity_m2_s: float


@dataclass(frozen=True)
class CompiledNetwork:
    """A network as arrays, made by `compile_network`; change it with `with_changes`.

    Parameters
    ----------
    chain_names
        Names of links and outlets in the order of chains.
    node_names
        Names of the nodes; node i is fed by chain i.
    direction
        Shape (chains,): -1 where a link's own positive direction runs towards the sump.
    tree
        How chains hang together.
    segment_start
        Shape (chains + 1,): where the segments of each chain begin.
    geometry
        The segments, arrays of shape (segments,).
    outlets
        The outlets, arrays of shape (outlets,).
    pump
        The pump.
    water
        Density and viscosity.
    gravity_m_s2
        Acceleration of free fall [m/s²].
    """

    chain_names: tuple[str, ...]
    node_names: tuple[str, ...]
    direction: Integers
    tree: Tree
    segment_start: Integers
    geometry: Geometry
    outlets: Outlets
    pump: Pump
    water: WaterState
    gravity_m_s2: float

    @cached_property
    def hydraulic_diameter_m(self) -> Floats:
        """Shape (segments,): the bore's diameter, the annulus' tube less its rod [m]."""
        return self.geometry.diameter_m - self.geometry.rod_diameter_m

    @cached_property
    def area_m2(self) -> Floats:
        """Shape (segments,): what the water passes through [m²]."""
        return np.pi / 4.0 * (self.geometry.diameter_m**2 - self.geometry.rod_diameter_m**2)

    @cached_property
    def chains(self) -> Chains:
        """What the kernels read of the segments."""
        return _chains(self)

    @cached_property
    def ends(self) -> Ends:
        """What the kernels read of pump and outlets."""
        return Ends(self.pump.sump_level_m, *_pump_arrays(self.pump), self.outlets.elevation_m, self.outlets.is_open)

    @cached_property
    def greatest_head_m(self) -> float:
        """What pump and deepest open outlet can pull together: the size against which digits are counted [m]."""
        shutoff, _ = pump_head(self.ends, 0.0)
        depths = -self.outlets.elevation_m[self.outlets.is_open == 1]
        return float(shutoff + abs(self.pump.sump_level_m) + max(depths.max(initial=0.0), 0.0))

    @cached_property
    def run_out_m3_s(self) -> float:
        """Largest flow the pump's curve knows, with a little for rounding [m³/s]; infinite for a constant head."""
        return run_out(self.ends) * (1.0 + 1e-12)

    def rows(self, name: str) -> slice:
        """Where the segments of a link or an outlet stand in the arrays of `geometry`.

        Parameters
        ----------
        name
            Name of the link or outlet.

        Returns
        -------
        slice
            The rows, in flow order.

        Raises
        ------
        InputError
            If no link or outlet has this name.
        """
        if name not in self.chain_names:
            raise InputError("link or outlet", repr(name), "a name of the network")
        chain = self.chain_names.index(name)
        return slice(int(self.segment_start[chain]), int(self.segment_start[chain + 1]))

    def with_changes(
        self,
        *,
        geometry: Geometry | None = None,
        outlets: Outlets | None = None,
        pump: Pump | None = None,
        water: WaterState | None = None,
    ) -> CompiledNetwork:
        """The same network with other numbers; what is not given stays, and no array is shared for writing.

        Parameters
        ----------
        geometry
            New segments, same shapes; take the old with ``geometry._replace(diameter_m=...)``.
        outlets
            New outlets, same shapes.
        pump
            New pump.
        water
            New properties of water.

        Returns
        -------
        CompiledNetwork
            The changed network; this one stays as it is.

        Raises
        ------
        InputError
            If a shape differs or a size cannot be computed with: not finite, not positive, a rod as thick
            as its tube.
        """
        geometry = self.geometry if geometry is None else geometry
        outlets = self.outlets if outlets is None else outlets
        if [a.shape for a in geometry] != [a.shape for a in self.geometry]:
            raise InputError("geometry", "arrays of another shape", f"{self.geometry.diameter_m.size} rows each")
        if [a.shape for a in outlets] != [a.shape for a in self.outlets]:
            raise InputError("outlets", "arrays of another shape", f"{self.outlets.elevation_m.size} rows each")
        changed = replace(
            self,
            geometry=geometry,
            outlets=outlets,
            pump=self.pump if pump is None else pump,
            water=self.water if water is None else water,
        )
        return _usable(changed)


def compile_network(network: Network) -> CompiledNetwork:
    """Put a network into arrays.

    Parameters
    ----------
    network
        The network.

    Returns
    -------
    CompiledNetwork
        The arrays, ready for `solve_compiled`.

    Raises
    ------
    InputErrors
        If the network is not sound.
    InputError
        If a size is too extreme to compute with.
    """
    check_network(network)
    order = tree_order(network.links)
    segments = [*order.segments, *(outlet.segments for outlet in network.outlets)]
    node = {name: row for row, name in enumerate(order.nodes)}
    compiled = CompiledNetwork(
        chain_names=(*order.names, *(outlet.id for outlet in network.outlets)),
        node_names=tuple(order.nodes),
        direction=np.array([*order.directions, *[1] * len(network.outlets)], dtype=np.int64),
        tree=Tree(
            parent=np.array(order.parents, dtype=np.int64),
            chord_from=np.array([node[link.from_node] for link in order.chords], dtype=np.int64),
            chord_to=np.array([node[link.to_node] for link in order.chords], dtype=np.int64),
            outlet_node=np.array([node[outlet.node] for outlet in network.outlets], dtype=np.int64),
        ),
        segment_start=np.concatenate(([0], np.cumsum([len(row) for row in segments]))).astype(np.int64),
        geometry=_geometry([segment for row in segments for segment in row]),
        outlets=Outlets(
            np.array([outlet.elevation_m for outlet in network.outlets], dtype=float),
            np.array([outlet.exit_loss for outlet in network.outlets], dtype=float),
            np.array([outlet.state == "open" for outlet in network.outlets], dtype=np.uint8),
        ),
        pump=network.pump,
        water=water_state(network.water),
        gravity_m_s2=network.gravity_m_s2,
    )
    return _usable(compiled)


def water_state(water: Water) -> WaterState:
    """Density and viscosity of the water: given ones, or those of its temperature.

    Parameters
    ----------
    water
        The water.

    Returns
    -------
    WaterState
        Density and kinematic viscosity.

    Raises
    ------
    InputError
        If the temperature lies outside 0 to 100 °C and a property is not given.
    """
    density, viscosity = water.density_kg_m3, water.kinematic_viscosity_m2_s
    return WaterState(
        water_density_kg_m3(water.temperature_c) if density is None else density,
        water_kinematic_viscosity_m2_s(water.temperature_c) if viscosity is None else viscosity,
    )


def _geometry(segments: Sequence[Segment]) -> Geometry:
    """Write segments of all shapes into one table."""
    rows = []
    for segment in segments:
        if isinstance(segment, Orifice):
            rows.append((segment.diameter_m, 0.0, 0.0, 0.0, 0.0, segment.discharge_coefficient))
        elif isinstance(segment, Annulus):
            wide, rod = segment.outer_diameter_m, segment.inner_diameter_m
            rows.append((wide, rod, segment.length_m, segment.roughness_m, segment.minor_loss, 0.0))
        else:
            rows.append((segment.diameter_m, 0.0, segment.length_m, segment.roughness_m, segment.minor_loss, 0.0))
    return Geometry(*np.ascontiguousarray(np.array(rows, dtype=float).T))


def _pump_arrays(pump: Pump) -> tuple[Floats, Floats, Floats]:
    """The pump at its speed, by the affinity laws: flow goes with speed, head with its square."""
    speed, nothing = np.float64(pump.relative_speed), np.empty(0)
    if isinstance(pump, PumpPoints):
        flow, head = np.array(pump.points, dtype=float).T
        return np.zeros(3), np.ascontiguousarray(flow * speed), np.ascontiguousarray(head * speed**2)
    law = (pump.shutoff_head_m * speed**2, pump.coefficient * speed ** (2.0 - pump.exponent), pump.exponent)
    return np.array(law, dtype=float), nothing, nothing


def _chains(compiled: CompiledNetwork) -> Chains:
    """Reduce the segments to what a head loss needs: h = sum of f R q|q| + M q|q|."""
    geometry, start = compiled.geometry, compiled.segment_start
    diameter, area = compiled.hydraulic_diameter_m, compiled.area_m2
    rubs = geometry.discharge_coefficient == 0.0
    per_head = 1.0 / (2.0 * compiled.gravity_m_s2 * area**2)
    equivalent = np.ones(diameter.size)
    for row in np.flatnonzero(geometry.rod_diameter_m):
        equivalent[row] = 64.0 / annulus_constant(geometry.rod_diameter_m[row] / geometry.diameter_m[row])
    coefficient = np.where(rubs, 1.0, geometry.discharge_coefficient)
    fixed = np.add.reduceat(np.where(rubs, geometry.minor_loss, coefficient**-2) * per_head, start[:-1])
    last = start[1:] - 1
    exits = last[-compiled.outlets.exit_loss.size :]
    fixed[-exits.size :] += np.where(rubs[exits], compiled.outlets.exit_loss, 0.0) * per_head[exits]
    reynolds_per_flow = diameter * equivalent / (area * compiled.water.kinematic_viscosity_m2_s)
    chains = Chains(
        start=start,
        reynolds_per_flow=reynolds_per_flow,
        reynolds_power=reynolds_per_flow**-0.9,
        friction=np.where(rubs, geometry.length_m / diameter * per_head, 0.0),
        roughness=geometry.roughness_m / diameter,
        fixed=fixed,
        usual_flow=np.minimum.reduceat(area, start[:-1]),
        usual_slope=np.zeros(start.size - 1),
    )
    return chains._replace(usual_slope=_usual_slope(chains))


def _usual_slope(chains: Chains) -> Floats:
    """Loss over flow of every chain at its usual flow."""
    reynolds = chains.reynolds_per_flow * np.repeat(chains.usual_flow, np.diff(chains.start))
    term = 5.74 * np.maximum(reynolds, TURBULENT_FROM) ** -0.9
    inside = chains.roughness / 3.7 + term
    law: Any = swamee_jain, between_regimes  # of numbers in the kernels, here of arrays
    turbulent, steep = law[0](np.log(inside), inside, term)
    between, _ = law[1](reynolds, turbulent, steep)
    factor = np.where(reynolds >= TURBULENT_FROM, turbulent, between)
    factor = np.where(reynolds <= LAMINAR_TO, 64.0 / reynolds, factor)
    losses = np.add.reduceat(factor * chains.friction, chains.start[:-1])
    return np.asarray((losses + chains.fixed) * chains.usual_flow)


def _usable(compiled: CompiledNetwork) -> CompiledNetwork:
    """Hand the network back if its numbers make sense and can be computed with."""
    geometry, outlets = compiled.geometry, compiled.outlets
    rubs = geometry.discharge_coefficient == 0.0
    smooth = (geometry.roughness_m >= 0.0) & (geometry.roughness_m < compiled.hydraulic_diameter_m / 2)
    rules = (
        ("rod_diameter_m", geometry.rod_diameter_m, geometry.rod_diameter_m >= 0.0, "0 or more"),
        ("diameter_m", geometry.diameter_m, geometry.diameter_m > geometry.rod_diameter_m, "wider than the rod"),
        ("length_m", geometry.length_m, (geometry.length_m > 0.0) | ~rubs, "more than 0"),
        ("roughness_m", geometry.roughness_m, smooth, "0 or more, less than half the hydraulic diameter"),
        ("minor_loss", geometry.minor_loss, geometry.minor_loss >= 0.0, "0 or more"),
        ("discharge_coefficient", geometry.discharge_coefficient, geometry.discharge_coefficient >= 0.0, "0 or more"),
        ("exit_loss", outlets.exit_loss, outlets.exit_loss >= 0.0, "0 or more"),
        ("elevation_m", outlets.elevation_m, np.isfinite(outlets.elevation_m), "a finite number"),
    )
    for name, values, fine, expected in rules:
        if not fine.all():
            row = int(np.argmin(fine))
            raise InputError(f"{name}, row {row}", f"{values[row]:g}", expected)
    with np.errstate(all="ignore"):  # what overflows is refused in one line
        columns = (*geometry, outlets.exit_loss, *compiled.chains[1:], *compiled.ends[1:4])
        numbers = np.abs(np.concatenate(([*compiled.water, compiled.gravity_m_s2], *columns)))
    if not ((numbers == 0.0) | ((numbers > 1.0 / _HUGE) & (numbers < _HUGE))).all():
        raise InputError("network", "a size or a property too extreme to compute with", "sizes of real things")
    return compiled
