"""Some segments of many paths, with the sizes they have in each of many scenarios, and what the water does in them."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np

from patency.flow import machine_code, reading_kernels
from patency.flow.faults import fault_kernels
from patency.flow.faults.fault_kernels import PathRows
from patency.flow.friction import annulus_constant
from patency.flow.kernels import TERM_AT_4000, swamee_jain
from patency.flow.machine_code import Kernel
from patency.flow.network import Annulus, Orifice
from patency.flow.segment_tables import many_friction_factors

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from patency.flow.batch import ManyFlows
    from patency.flow.faults.fault import NetworkChange
    from patency.flow.faults.fault_network import FaultNetwork, FaultStage
    from patency.flow.network import Segment

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]

_PIECE = 128  # faults that one thread reads at a time


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
        self._area = np.pi / 4.0 * (self._wide**2 - self._rod**2)
        self._gap = self._wide - self._rod
        self._roughness = self._rough / self._gap
        inside = self._roughness / 3.7 + TERM_AT_4000
        self._at_4000 = [np.asarray(each) for each in swamee_jain(np.log(inside), inside, TERM_AT_4000)]
        lying = np.array(self._lying, dtype=np.int64).reshape(-1, 2)
        self._lies = lying[:, 0], lying[:, 1], self._rows[lying[:, 1]]

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

    def read(
        self, stage: FaultStage, flows: ManyFlows, kernel: Kernel = Kernel.MACHINE_CODE
    ) -> tuple[Floats, Floats, Integers]:
        """Read every path in every scenario.

        Parameters
        ----------
        stage
            The stage.
        flows
            The solutions.
        kernel
            How the numbers are worked out.

        Returns
        -------
        tuple[NDArray, NDArray, NDArray]
            Shape (scenarios, paths) each: the smallest velocity along the path [m/s], the smallest wall shear stress,
            0 in an opening [Pa], and a bit for each segment whose Reynolds number leaves laminar or turbulent open, as
            `unsure_bits` sets it.
        """
        shape = (flows.state.size, self._starts.size - 1)
        found = np.empty(shape), np.empty(shape), np.empty(shape, dtype=np.int64)
        sizes = self._area, self._gap, self._round, self._roughness, *self._at_4000, self._other_friction(stage)
        water, read_paths = stage.compiled.water, _read_paths(kernel)

        def read_piece(first: int) -> None:
            rows = slice(first, first + _PIECE)
            paths = PathRows(self._starts, self._chain, self._opening, *(size[rows] for size in sizes))
            properties = water.kinematic_viscosity_m2_s, water.density_kg_m3
            read_paths(paths, flows.flow_m3_s[rows], *properties, *(values[rows] for values in found))

        with ThreadPoolExecutor() as pool:
            list(pool.map(read_piece, range(0, shape[0], _PIECE)))
        return found

    def _other_friction(self, stage: FaultStage) -> Floats:
        """Friction over that by the law: of a lying rod as a share of that of the centred one."""
        other = np.ones(self._wide.shape)
        scenario, row, segment = self._lies
        other[scenario, row] = stage.lying_rod[segment]
        return other

    def _friction(self, stage: FaultStage, flow: Floats) -> Floats:
        """Friction factors; 0 where nothing rubs."""
        viscosity = stage.compiled.water.kinematic_viscosity_m2_s
        reynolds = np.abs(flow) * self._gap * self._round / (self._area * viscosity)
        factor = np.nan_to_num(many_friction_factors(reynolds, self._roughness)) * self._other_friction(stage)
        factor[:, self._opening] = 0.0
        return np.asarray(factor)

    def pressure_lost_pa(self, stage: FaultStage, flows: ManyFlows) -> Floats:
        """Work out the pressure lost along each path.

        Parameters
        ----------
        stage
            The stage.
        flows
            The solutions.

        Returns
        -------
        NDArray
            Shape (scenarios, paths); 0 for a path without segments [Pa].
        """
        flow = flows.flow_m3_s[:, self._chain]
        rubbing = self._friction(stage, flow) * self._length / self._gap
        single = stage.compiled.geometry.minor_loss[self._rows] + self._added
        losses = np.where(self._opening, self._coefficient**-2, rubbing + single)
        lost = losses * stage.compiled.water.density_kg_m3 * (flow / self._area) ** 2 / 2.0
        whole = np.concatenate((np.zeros((lost.shape[0], 1)), np.cumsum(lost, axis=1)), axis=1)
        return np.asarray(whole[:, self._starts[1:]] - whole[:, self._starts[:-1]])


_INNER: tuple[Callable[..., Any], ...] = (
    reading_kernels.friction,
    reading_kernels.least,
    fault_kernels.read_paths,
)


def _read_paths(kernel: Kernel) -> Callable[..., None]:
    return fault_kernels.read_paths if kernel is Kernel.INTERPRETED else _compiled()


@cache
def _compiled() -> Callable[..., None]:
    stamp = machine_code.stamp(reading_kernels, fault_kernels)

    def stamped(rows, flows, viscosity, density, velocity, shear, unsure):  # type: ignore[no-untyped-def] # noqa: ANN001, ANN202
        if stamp >= 0:  # enclosed, so that the compiler's cache forgets what was made from other functions
            fault_kernels.read_paths(rows, flows, viscosity, density, velocity, shear, unsure)

    return machine_code.compiled_for_threads(stamped, _INNER, makes_arrays=False)
