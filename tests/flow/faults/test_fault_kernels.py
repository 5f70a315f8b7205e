"""Lumens read and held against their limits in kernels: compiled or not, and the plain way with numpy."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from patency.flow import solve_load
from patency.flow.faults import fault_kernels
from patency.flow.faults.fault import NetworkChange
from patency.flow.faults.fault_network import FaultNetwork
from patency.flow.faults.listing import faults_of_load
from patency.flow.faults.margins import MarginScale, limits_of_lumens
from patency.flow.faults.reading import FaultReader
from patency.flow.machine_code import Kernel
from tests.small_plan import MORNING_LOAD
from tests.small_site import SMALL_SITE, small_department

DAY = date(2026, 5, 12)


def test_machine_code_reads_and_judges_as_the_interpreter_does() -> None:
    department = small_department(SMALL_SITE)
    solved = solve_load(department, MORNING_LOAD)
    faults = faults_of_load(department, MORNING_LOAD, solved.network)
    changes = [NetworkChange(), *(case.change for case in faults.cases)]
    network = FaultNetwork(faults)
    keys = list(solved.network.lumens)
    reader = FaultReader(network, solved.network, changes, set(keys))
    scale = MarginScale(solved, limits_of_lumens(department, MORNING_LOAD, keys, DAY))
    found = []
    for kernel in Kernel:
        readings = {}
        for name, solution in solved.stages.items():
            stage = network.stage(solution)
            readings[name] = reader.read(stage, network.solve(stage, network.table(changes)), kernel)
        found.append((readings, scale.margins(readings, kernel)))
    (one, margins), (other, others) = found
    for name, read in one.items():
        for values, same in zip(read, other[name], strict=True):
            np.testing.assert_allclose(values, same, rtol=1e-12)
    np.testing.assert_allclose(margins, others, rtol=1e-12)
    assert (margins[1:] < margins[0]).any()


def plain_shares(flow: float, bits: int, flow_at: np.ndarray, unsure_at: np.ndarray, shares: np.ndarray) -> float:
    """Read a share at a flow off those of the speeds that count, with numpy's own interpolation."""
    counts = unsure_at == bits
    counts = counts if counts.any() else np.ones(counts.size, dtype=bool)
    return float(np.interp(flow, flow_at[counts][::-1], shares[counts][::-1]))


@pytest.mark.parametrize("seed", range(40))
def test_a_share_lies_between_those_at_which_the_same_segments_are_unsure(seed: int) -> None:
    chance = np.random.default_rng(seed)
    flow_at = np.sort(chance.uniform(1.0, 2.0, 8))[::-1]
    # The same states stand together: a segment passes the unsure region once.
    unsure_at = np.sort(chance.integers(0, 3, 8))
    shares, flow = chance.uniform(0.5, 1.0, 8), float(chance.uniform(0.8, 2.2))
    bits = int(chance.integers(0, 4))
    below, above, weight = fault_kernels.share_between(flow, bits, 0, flow_at[:, np.newaxis], unsure_at[:, np.newaxis])
    found = (1.0 - weight) * shares[below] + weight * shares[above]
    assert found == pytest.approx(plain_shares(flow, bits, flow_at, unsure_at, shares), rel=1e-12)
