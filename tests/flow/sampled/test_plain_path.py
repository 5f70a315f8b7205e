"""Samples drawn, solved and read in kernels and threads are those of the plain way: one after the other, with numpy."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.flow import sampled_margin
from patency.flow.faults.margins import limits_of_lumens
from patency.flow.machine_code import Kernel
from patency.flow.needs import Measure
from patency.flow.sampled.draws import LoadDraws
from patency.flow.sampled.sample_numbers import read_samples
from patency.flow.solved_load import solve_load
from tests.flow.one_port import bore, connected, one_load, one_port
from tests.flow.sampled.one_by_one import one_by_one
from tests.flow.test_uncertainty import ANNULUS
from tests.small_plan import LOAD
from tests.small_site import SMALL_SITE, small_department

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.load import Load

DAY = date(2026, 5, 12)
CASES = {
    "several lumens": (small_department(SMALL_SITE), LOAD),
    "a rod": (one_port(connected(ANNULUS)), one_load()),
    "between laminar and turbulent": (one_port(connected(bore("1.2 mm"))), one_load()),
}


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
