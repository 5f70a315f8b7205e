"""Samples drawn, solved and read in kernels and threads are those of the plain way: one after the other, with numpy."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.flow import Kernel, Measure, sampled_margin, solve_compiled
from patency.flow.batch import Scenarios
from patency.flow.batch.scenarios import scenario_network
from patency.flow.compiled_network import Geometry
from patency.flow.faults.margins import limits_of_lumens
from patency.flow.friction import friction_factor
from patency.flow.sampled.draws import LoadDraws
from patency.flow.sampled.sample_numbers import read_samples
from patency.flow.solved_load import solve_load
from patency.flow.uncertainty import Side, Source, changes_within_doubts, least_gaps
from tests.flow.one_port import bore, connected, one_load, one_port
from tests.flow.test_uncertainty import ANNULUS
from tests.small_plan import LOAD
from tests.small_site import SMALL_SITE, small_department

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue import Department
    from patency.flow.readings import Readings
    from patency.flow.solved_load import SolvedLoad
    from patency.load import Load

DAY = date(2026, 5, 12)
CASES = {
    "several lumens": (small_department(SMALL_SITE), LOAD),
    "a rod": (one_port(connected(ANNULUS)), one_load()),
    "between laminar and turbulent": (one_port(connected(bore("1.2 mm"))), one_load()),
}


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


@pytest.mark.parametrize("kernel", list(Kernel))
@pytest.mark.parametrize("case", CASES)
def test_the_samples_are_those_of_the_plain_way(case: str, kernel: Kernel) -> None:
    department, load = CASES[case]
    samples = 12 if kernel is Kernel.INTERPRETED else 60
    solved = solve_load(department, load)
    limits = limits_of_lumens(department, load, list(solved.network.lumens), DAY)
    draws = LoadDraws(solved.network, list(solved.stages.values()), np.random.default_rng(5), samples, kernel)
    found = read_samples(solved, limits, draws, None, kernel)
    assert set(found.ratio) == {measure for measure in Measure if np.isfinite(limits[measure]).any()}
    for stage, plain in enumerate(one_by_one(solved, 5, samples)):
        flow, shear = np.array([one.flow_m3_s for one in plain]), np.array([one.shear_pa for one in plain])
        np.testing.assert_allclose(found.flow_m3_s[stage], flow, rtol=1e-7)
        np.testing.assert_allclose(found.shear_pa[stage], shear, rtol=1e-7)
        assert (flow.std(axis=0) > 0.0).all()


def margins(department: Department, load: Load, threads: int | None) -> object:
    return sampled_margin(department, load, DAY, np.random.default_rng(3), 4000, threads=threads)


def test_the_number_of_threads_changes_nothing() -> None:
    department, load = CASES["several lumens"]
    assert margins(department, load, 1) == margins(department, load, 2) == margins(department, load, 3)
