"""Moves sizes, losses, roughness and the pump's head of a network all at once, for cycles that are played.

How far readings can be off is said elsewhere, to first order (`patency.flow.detection.doubts`). Here the water itself
is solved, so that what first order leaves out shows. Each score moves what its tolerance moves together: the stretches
of one pipe, the losses of the machine, those of the chains, the roughness of all walls, the pump's head. A score of one
is one standard deviation.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from patency.flow.batch import Scenarios
from patency.flow.kept_open import LEAST_GAP, LEAST_GAP_OVER_ROUGHNESS, MOST_ROUGHNESS
from patency.flow.tolerances import OF_A_TOLERANCE
from patency.flow.uncertainty import lying_rod_factor

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.flow.faults.fault_network import ChangeTable, FaultNetwork, FaultStage
    from patency.flow.faults.listing import FaultList
    from patency.flow.from_load import LoadNetwork

    Floats = NDArray[np.float64]

_LEAST_SHARE = 0.2  # a size never falls below this share of itself, however far a score lies out


class ModelDoubts:
    """The scores of one load's network.

    Parameters
    ----------
    network
        The network with everything its faults would open.
    fault_list
        The load's faults, with every segment's doubts.
    load_network
        The load's network.
    """

    def __init__(
        self,
        network: FaultNetwork,
        fault_list: FaultList,
        load_network: LoadNetwork,
    ) -> None:
        names = network.compiled.chain_names
        rows = [(name, stretch) for name in names for stretch in fault_list.stretches[name]]
        shared = np.array([name in load_network.shared for name, _ in rows])
        parts = _numbered([stretch.part or str(row) for row, (_, stretch) in enumerate(rows)])
        self._diameter = _moved([stretch.diameter_doubt_m for _, stretch in rows], parts)
        self._rod = _moved([stretch.rod_doubt_m for _, stretch in rows], parts)
        self._loss = np.array([stretch.loss_doubt for _, stretch in rows]) * OF_A_TOLERANCE
        self._of_loss = np.where(shared, 0, 1)
        self._roughness = float(np.log(load_network.roughness_factor)) * OF_A_TOLERANCE
        self._pump = load_network.pump_doubt * OF_A_TOLERANCE
        self.count = self._diameter.shape[0] + self._rod.shape[0] + 4

    def scenarios(self, stage: FaultStage, table: ChangeTable, scores: Floats) -> Scenarios:
        """Write scenarios in which both faults and scores have moved the network.

        Parameters
        ----------
        stage
            The stage.
        table
            The faults, one row for each scenario.
        scores
            Shape (scenarios, scores): by how many standard deviations each is moved [-].

        Returns
        -------
        Scenarios
            To be solved.
        """
        geometry, count = stage.compiled.geometry, scores.shape[0]
        bores, rods = self._diameter.shape[0], self._rod.shape[0]
        fields: dict[str, Floats] = {
            "diameter_m": geometry.diameter_m + scores[:, :bores] @ self._diameter * OF_A_TOLERANCE,
            "rod_diameter_m": geometry.rod_diameter_m + scores[:, bores : bores + rods] @ self._rod * OF_A_TOLERANCE,
            "roughness_m": geometry.roughness_m * np.exp(self._roughness * scores[:, -2:-1]),
            "length_m": np.tile(geometry.length_m, (count, 1)),
        }
        added = scores[:, bores + rods : bores + rods + 2][:, self._of_loss] * self._loss
        opening = geometry.discharge_coefficient > 0.0
        fields["minor_loss"] = np.where(opening, 0.0, np.maximum(geometry.minor_loss + added, 0.0))
        resistance = np.where(opening, geometry.discharge_coefficient, 1.0) ** -2
        fields["discharge_coefficient"] = np.where(
            opening, np.maximum(resistance + added, _LEAST_SHARE * resistance) ** -0.5, 0.0
        )
        for scenario, row, name, size in table.sizes:
            fields[name][scenario, row] += size
        for scenario, row in table.lying:
            roughness = float(stage.compiled.chains.roughness[row])
            fields["length_m"][scenario, row] *= lying_rod_factor(float(stage.reynolds[row]), roughness)
        _keep_open(fields, geometry.diameter_m)
        more: dict[str, Any] = {
            "relative_speed": stage.compiled.pump.relative_speed * table.speed,
            "pump_head_factor": np.maximum(1.0 + self._pump * scores[:, -1], _LEAST_SHARE),
        }
        return Scenarios(count=count, is_open=table.is_open, **fields, **more)


def _keep_open(fields: dict[str, Floats], nominal_m: Floats) -> None:
    """Keep every bore and gap open and its walls smoother than it is wide, however far the scores lie out."""
    fields["diameter_m"] = np.maximum(fields["diameter_m"], _LEAST_SHARE * nominal_m)
    gap = np.maximum(LEAST_GAP * fields["diameter_m"], LEAST_GAP_OVER_ROUGHNESS * fields["roughness_m"])
    rod = np.maximum(fields["rod_diameter_m"], 0.0)
    fields["rod_diameter_m"] = np.where(rod > 0.0, np.minimum(rod, fields["diameter_m"] - gap), 0.0)
    hydraulic = fields["diameter_m"] - fields["rod_diameter_m"]
    fields["roughness_m"] = np.minimum(fields["roughness_m"], MOST_ROUGHNESS * hydraulic)


def _numbered(names: Sequence[str]) -> list[int]:
    numbers: dict[str, int] = {}
    return [numbers.setdefault(name, len(numbers)) for name in names]


def _moved(doubts: Sequence[float], parts: Sequence[int]) -> Floats:
    """Shape (scores, segments): how far one score moves each segment; a part without doubt has no score."""
    found: dict[int, Floats] = {}
    for row, (doubt, part) in enumerate(zip(doubts, parts, strict=True)):
        if doubt > 0.0:
            found.setdefault(part, np.zeros(len(doubts)))[row] = doubt
    return np.array(list(found.values())).reshape(len(found), len(doubts))
