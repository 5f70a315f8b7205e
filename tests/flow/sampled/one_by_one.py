"""Samples of a load drawn with numpy, and each solved and read by itself: slow and plain."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.flow.batch import Scenarios
from patency.flow.batch.scenarios import scenario_network
from patency.flow.compiled_network import Geometry
from patency.flow.friction import friction_factor
from patency.flow.solver import solve_compiled
from patency.flow.uncertainty import Side, Source, changes_within_doubts, least_gaps

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.flow.readings import Readings
    from patency.flow.solved_load import SolvedLoad


def one_by_one(solved: SolvedLoad, seed: int, samples: int) -> Iterator[list[Readings]]:
    """Draw, solve and read stage after stage, each sample by itself."""
    chance = np.random.default_rng(seed)
    drawn: dict[str, np.ndarray] = {}

    def number(what: str) -> np.ndarray:
        if what not in drawn:
            drawn[what] = chance.uniform(-1.0, 1.0, samples)
        return drawn[what]

    first = next(iter(solved.stages.values()))
    moved = [c for c in changes_within_doubts(solved.network, first) if c.side is Side.BOTH]
    nominal = first.compiled.geometry
    opening = nominal.discharge_coefficient > 0.0
    sizes = {name: np.tile(size, (samples, 1)) for name, size in nominal._asdict().items()}
    openings = np.where(opening, nominal.discharge_coefficient, 1.0) ** -2
    losses, pump = np.zeros(sizes["diameter_m"].shape), np.ones(samples)
    lost_in_openings = np.tile(openings, (samples, 1))
    for change in moved:
        far = number(change.what)[:, np.newaxis]
        for name in ("diameter_m", "rod_diameter_m"):
            sizes[name] += far * (getattr(change.geometry, name) - getattr(nominal, name))
        losses += far * (change.geometry.minor_loss - nominal.minor_loss)
        after = np.where(opening, change.geometry.discharge_coefficient, 1.0) ** -2
        lost_in_openings += far * (after - openings)
        pump += far[:, 0] * (change.pump_head_factor - 1.0)
    rougher = solved.network.roughness_factor ** number("roughness")[:, np.newaxis]
    sizes["diameter_m"] = np.maximum(sizes["diameter_m"], sizes["rod_diameter_m"] + least_gaps(nominal))
    gap = sizes["diameter_m"] - sizes["rod_diameter_m"]
    sizes["roughness_m"] = np.minimum(nominal.roughness_m * rougher, 0.49 * gap)
    sizes["discharge_coefficient"] = np.where(opening, lost_in_openings**-0.5, 0.0)
    for solution in solved.stages.values():
        compiled, changes = solution.compiled, list(changes_within_doubts(solved.network, solution))
        friction = np.ones(sizes["diameter_m"].shape)
        regimes = [c for c in changes if c.source is Source.REGIME]
        for laminar, turbulent in zip(regimes[::2], regimes[1::2], strict=True):
            share = 0.5 + 0.5 * number(f"regime {laminar.what.partition(' ')[2]}")[:, np.newaxis]
            assert laminar.friction is not None
            assert turbulent.friction is not None
            friction *= laminar.friction + share * (turbulent.friction - laminar.friction)
        for change in changes:
            if change.source is Source.ROD:
                (row,) = np.flatnonzero(change.friction != 1.0)
                reynolds, rough = float(solution.equivalent_reynolds[row]), float(compiled.chains.roughness[row])
                for sample, far in enumerate(number(change.what)):
                    lying = friction_factor((1.0 + 1.5 * far**2) * reynolds, rough)
                    friction[sample, row] *= lying / friction_factor(reynolds, rough)
        in_stage = Geometry(**sizes)._replace(
            length_m=sizes["length_m"] * friction, minor_loss=np.maximum(compiled.geometry.minor_loss + losses, 0.0)
        )
        scenarios = Scenarios(count=samples, pump_head_factor=pump, **in_stage._asdict())
        networks = [scenario_network(compiled, scenarios, sample) for sample in range(samples)]
        yield [solved.gauge.read(n, solve_compiled(n), friction[k]) for k, n in enumerate(networks)]
