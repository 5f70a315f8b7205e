"""What is read off many solved faults at once: of every lumen its flow, its slowest velocity, its least wall shear."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from patency.flow.faults.rows import Rows
from patency.flow.machine_code import Kernel

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from numpy.typing import NDArray

    from patency.flow.batch import ManyFlows
    from patency.flow.faults.fault import NetworkChange
    from patency.flow.faults.fault_network import FaultNetwork, FaultStage
    from patency.flow.from_load import LoadNetwork
    from patency.flow.lumen_paths import LumenKey, LumenPath

    Floats = NDArray[np.float64]


class LumenReadings(NamedTuple):
    """Numbers of every lumen in every scenario, arrays of shape (scenarios, lumens); not-a-number where not solved.

    Parameters
    ----------
    flow_m3_s
        Water that enters the lumen; of a nozzle's water what leaves inside the bore [m³/s].
    velocity_m_s
        Smallest mean velocity along the lumen; of a nozzle's jet the one at its opening [m/s].
    shear_pa
        Smallest wall shear stress along the lumen [Pa]; not-a-number where a nozzle feeds it.
    pressure_pa
        Gauge pressure at the connection, with its velocity head [Pa]; not-a-number where it was not asked for.
    unsure
        Which of the lumen's segments run at a Reynolds number that leaves laminar or turbulent open, one bit each; 0
        where none does.
    """

    flow_m3_s: Floats
    velocity_m_s: Floats
    shear_pa: Floats
    pressure_pa: Floats
    unsure: NDArray[np.int64]


class FaultReader:
    """Knows where every lumen is found in every fault, and reads it off solved stages.

    Parameters
    ----------
    network
        The load's network with everything its faults would open.
    load_network
        The load's network.
    changes
        What each scenario changes.
    with_pressure
        Lumens whose pressure at the connection is asked for: it costs the friction of all that stands before them.
    """

    def __init__(
        self,
        network: FaultNetwork,
        load_network: LoadNetwork,
        changes: Sequence[NetworkChange],
        with_pressure: Collection[LumenKey],
    ) -> None:
        keys = list(load_network.lumens)
        self._lumens = len(keys)
        paths = list(load_network.lumens.values())
        # Behind the lumens as planned stand those that a fault feeds another way; ``moved`` brings them to their place.
        self._moved: list[tuple[int, int, int]] = []
        self._dry: list[tuple[int, int]] = []
        for scenario, change in enumerate(changes):
            self._dry += [(scenario, keys.index(key)) for key in change.dry]
            for key, path in change.moved.items():
                self._moved.append((scenario, keys.index(key), len(paths)))
                paths.append(path)
        compiled = network.compiled
        tree = compiled.tree
        feeding = np.concatenate((tree.parent, tree.chord_from, tree.outlet_node))
        self._entry = np.array([network.chain(path.entry[0]) for path in paths], dtype=np.int64)
        self._share = np.array([1.0 if path.jet is None else path.jet.share_inside for path in paths])
        self._jet = np.array([path.jet is not None for path in paths], dtype=bool)
        self._own = Rows([_own_rows(network, path) for path in paths], network, changes)
        asked = [k for k, key in enumerate(keys) if key in with_pressure]
        asked += [place for _, lumen, place in self._moved if lumen in asked]
        self._asked = np.array(asked, dtype=np.int64)
        self._inlet_m = np.array([paths[k].inlet_elevation_m for k in asked])
        self._node = feeding[self._entry[self._asked]]
        self._before = Rows([_rows_before(network, paths[k]) for k in asked], network, changes)

    def read(self, stage: FaultStage, flows: ManyFlows, kernel: Kernel = Kernel.MACHINE_CODE) -> LumenReadings:
        """Read a stage.

        Parameters
        ----------
        stage
            The stage.
        flows
            Its solutions, one for each change.
        kernel
            How the numbers are worked out.

        Returns
        -------
        LumenReadings
            The numbers, lumens in the order of the load's network.
        """
        velocity, shear, unsure = self._own.read(stage, flows, kernel)
        found = LumenReadings(
            flow_m3_s=flows.flow_m3_s[:, self._entry] * self._share,
            velocity_m_s=velocity,
            shear_pa=np.where(self._jet, np.nan, shear),
            pressure_pa=self._pressures(stage, flows),
            unsure=unsure,
        )
        for scenario, lumen, place in self._moved:
            for values in found:
                values[scenario, lumen] = values[scenario, place]
        for scenario, lumen in self._dry:
            for values in found:
                values[scenario, lumen] = 0.0
        own: dict[str, Any] = {name: values[:, : self._lumens] for name, values in found._asdict().items()}
        return LumenReadings(**own)

    def _pressures(self, stage: FaultStage, flows: ManyFlows) -> Floats:
        pressure = np.full((flows.flow_m3_s.shape[0], self._entry.size), np.nan)
        if self._asked.size:
            weight = stage.compiled.water.density_kg_m3 * stage.compiled.gravity_m_s2
            lost = self._before.pressure_lost_pa(stage, flows)
            at_connection = weight * (flows.head_m[:, self._node] - self._inlet_m) - lost
            running = flows.flow_m3_s[:, self._entry[self._asked]] > 0.0
            pressure[:, self._asked] = np.where(running | ~flows.solved[:, None], at_connection, 0.0)
        return pressure


def _own_rows(network: FaultNetwork, path: LumenPath) -> list[int]:
    """List the segments of a lumen; of a nozzle's jet its opening, the last segment of its path."""
    if path.own:
        return [network.row(place) for place in path.own]
    return [int(network.compiled.segment_start[network.chain(path.entry[0]) + 1]) - 1]


def _rows_before(network: FaultNetwork, path: LumenPath) -> list[int]:
    """List the segments before a lumen in the link or outlet that brings its water."""
    name, before = path.entry
    return [network.row((name, k)) for k in range(before)]
