"""Some segments of many paths, with the sizes they have in each of many scenarios, and what the water does in them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.flow.friction import annulus_constant
from patency.flow.network import Annulus, Orifice
from patency.flow.segment_tables import many_friction_factors, unsure_bits
from patency.flow.uncertainty import lying_rod_factor

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.flow.batch import ManyFlows
    from patency.flow.faults.fault import NetworkChange
    from patency.flow.faults.fault_network import FaultNetwork, FaultStage
    from patency.flow.network import Segment

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]


class Rows:
    """Some segments of each of several paths.

    Parameters
    ----------
    rows
        The segments of each path, as rows of the compiled network; no row twice.
    network
        The network.
    changes
        What each scenario changes.
    """

    def __init__(self, rows: Sequence[Sequence[int]], network: FaultNetwork, changes: Sequence[NetworkChange]) -> None:
        compiled = network.compiled
        self._starts = np.concatenate(([0], np.cumsum([len(one) for one in rows]))).astype(np.int64)
        self._rows = np.array([row for one in rows for row in one], dtype=np.int64)
        self._chain = np.searchsorted(compiled.segment_start, self._rows, side="right") - 1
        geometry = compiled.geometry
        self._rod = geometry.rod_diameter_m[self._rows]
        self._length = geometry.length_m[self._rows]
        self._opening = geometry.discharge_coefficient[self._rows] > 0.0
        self._coefficient = np.where(self._opening, geometry.discharge_coefficient[self._rows], 1.0)
        self._wide = np.tile(geometry.diameter_m[self._rows], (len(changes), 1))
        self._rough = np.tile(geometry.roughness_m[self._rows], (len(changes), 1))
        self._added = np.zeros(self._wide.shape)
        self._round = np.ones(self._wide.shape)
        for annulus in np.flatnonzero(self._rod):
            self._round[:, annulus] = 64.0 / annulus_constant(float(self._rod[annulus] / self._wide[0, annulus]))
        self._lying: list[tuple[int, int]] = []
        place = {int(row): k for k, row in enumerate(self._rows)}
        for scenario, change in enumerate(changes):
            for where, segment in change.segments.items():
                if (k := place.get(network.row(where))) is not None:
                    self._change(scenario, k, segment, float(geometry.minor_loss[self._rows[k]]))
            found = (place.get(network.row(where)) for where in change.lying_rods)
            self._lying += [(scenario, k) for k in found if k is not None]
        self.area_m2 = np.pi / 4.0 * (self._wide**2 - self._rod**2)
        self._gap = self._wide - self._rod

    def _change(self, scenario: int, k: int, segment: Segment, loss_before: float) -> None:
        """Give one segment other sizes in one scenario; what it is, and the rod in it, stay."""
        if isinstance(segment, Annulus):
            self._wide[scenario, k] = segment.outer_diameter_m
            self._round[scenario, k] = 64.0 / annulus_constant(segment.inner_diameter_m / segment.outer_diameter_m)
        else:
            self._wide[scenario, k] = segment.diameter_m
        if not isinstance(segment, Orifice):
            self._rough[scenario, k] = segment.roughness_m
            self._added[scenario, k] = segment.minor_loss - loss_before

    def flow_m3_s(self, flows: ManyFlows) -> Floats:
        """Take the flow through each segment.

        Parameters
        ----------
        flows
            The solutions.

        Returns
        -------
        NDArray
            Shape (scenarios, segments) [m³/s].
        """
        return np.asarray(flows.flow_m3_s[:, self._chain])

    def _reynolds(self, stage: FaultStage, flow: Floats) -> Floats:
        """Reynolds numbers that decide about laminar and turbulent."""
        viscosity = stage.compiled.water.kinematic_viscosity_m2_s
        return np.asarray(np.abs(flow) * self._gap * self._round / (self.area_m2 * viscosity))

    def unsure(self, stage: FaultStage, flow: Floats) -> Integers:
        """Tell which segments of each path run at a Reynolds number that leaves laminar or turbulent open.

        Parameters
        ----------
        stage
            The stage.
        flow
            Shape (scenarios, segments): the flow through each [m³/s].

        Returns
        -------
        NDArray
            Shape (scenarios, paths): a bit for each segment of a path, as `unsure_bits` sets it.
        """
        return unsure_bits(np.where(self._opening, 0.0, self._reynolds(stage, flow)), self._starts[:-1])

    def _friction(self, stage: FaultStage, flow: Floats) -> Floats:
        """Friction factors, of lying rods as a share of that of the centred one; 0 where nothing rubs."""
        factor = np.nan_to_num(many_friction_factors(self._reynolds(stage, flow), self._rough / self._gap))
        factor[:, self._opening] = 0.0
        roughness = stage.compiled.chains.roughness
        for scenario, k in self._lying:
            row = self._rows[k]
            factor[scenario, k] *= lying_rod_factor(float(stage.reynolds[row]), float(roughness[row]))
        return factor

    def shear_pa(self, stage: FaultStage, flow: Floats) -> Floats:
        """Work out the wall shear stress in each segment.

        Parameters
        ----------
        stage
            The stage.
        flow
            Shape (scenarios, segments): the flow through each [m³/s].

        Returns
        -------
        NDArray
            Shape (scenarios, segments) [Pa]; 0 in openings.
        """
        velocity = flow / self.area_m2
        return np.asarray(self._friction(stage, flow) * stage.compiled.water.density_kg_m3 * velocity**2 / 8.0)

    def pressure_drop_pa(self, stage: FaultStage, flow: Floats) -> Floats:
        """Work out the pressure lost in each segment.

        Parameters
        ----------
        stage
            The stage.
        flow
            Shape (scenarios, segments): the flow through each, with the water [m³/s].

        Returns
        -------
        NDArray
            Shape (scenarios, segments) [Pa].
        """
        rubbing = self._friction(stage, flow) * self._length / self._gap
        single = stage.compiled.geometry.minor_loss[self._rows] + self._added
        losses = np.where(self._opening, self._coefficient**-2, rubbing + single)
        return np.asarray(losses * stage.compiled.water.density_kg_m3 * (flow / self.area_m2) ** 2 / 2.0)

    def lowest(self, values: Floats) -> Floats:
        """Take the smallest of a number over each path.

        Parameters
        ----------
        values
            Shape (scenarios, segments).

        Returns
        -------
        NDArray
            Shape (scenarios, paths).
        """
        if self._rows.size == 0:
            return np.empty((values.shape[0], 0))
        return np.asarray(np.minimum.reduceat(values, self._starts[:-1], axis=1))

    def sums(self, values: Floats) -> Floats:
        """Sum a number over each path.

        Parameters
        ----------
        values
            Shape (scenarios, segments).

        Returns
        -------
        NDArray
            Shape (scenarios, paths); 0 for a path without segments.
        """
        whole = np.concatenate((np.zeros((values.shape[0], 1)), np.cumsum(values, axis=1)), axis=1)
        return np.asarray(whole[:, self._starts[1:]] - whole[:, self._starts[:-1]])
