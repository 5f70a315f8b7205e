"""Many solves of one carrier by two workers: two threads of ours, two processes with an EPANET 2.2 engine each.

Run from the root of the checkout, in the environment of the tests:

    python -m benchmarks.flow_workers

Times are microseconds a scenario by the clock, medians of rounds taken in turns, every diameter evenly within 2 %; the
engine's hold its setters. A process with an engine loads its network before the clock runs.
"""

from __future__ import annotations

import logging
import statistics
import tempfile
import time
import warnings
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from benchmarks.flow_batch import DIAMETER, TIGHT, WarmEngine, bores_only, pipe_rows
from benchmarks.flow_single import PUMP, never_smooth
from benchmarks.joined_loads import LOADS, joined_loads
from patency.flow import Scenarios, compile_network, solve, solve_many
from tests.flow.random_networks import random_network
from tests.published.epanet_engine import not_running

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.flow import Network

    Floats = NDArray[np.float64]

COUNT = 8192
THEIRS = 400  # scenarios of each process
ROUNDS = 5
_IN_PROCESS: list[Any] = []  # a worker's engine, and its links with their rows of ours


def open_engine(network: Network) -> None:
    """Load a network into this process' engine."""
    folder = tempfile.mkdtemp()
    engine = WarmEngine(network, not_running(network.outlets, ()), TIGHT, Path(folder))
    index = engine.engine.project.ENgetlinkindex
    _IN_PROCESS[:] = [engine, [(index(name), row) for name, row in pipe_rows(network, compile_network(network))]]


def solve_in_process(widths: Floats) -> float:
    """Solve some scenarios with this process' engine; the time by the clock [s]."""
    engine, rows = _IN_PROCESS
    begin = time.perf_counter()
    for own in widths * 1e3:
        for link, row in rows:
            engine.set(link, DIAMETER, own[row])
        engine.solve()
    return time.perf_counter() - begin


def two_workers(network: Network) -> str:
    """Two threads of ours beside two processes with an engine each, all diameters within 2 %."""
    compiled = compile_network(network)
    chance = np.random.default_rng(4)
    widths = compiled.geometry.diameter_m * chance.uniform(0.98, 1.02, (COUNT, compiled.geometry.diameter_m.size))
    scenarios = Scenarios(count=COUNT, diameter_m=widths)
    one = solve_many(compiled, scenarios, threads=1)
    two = solve_many(compiled, scenarios, threads=2)
    same = np.array_equal(one.flow_m3_s, two.flow_m3_s) and np.array_equal(one.head_m, two.head_m)
    ours, theirs = [], []
    with get_context("spawn").Pool(2, open_engine, (network,)) as pool:
        for _ in range(ROUNDS):
            begin = time.perf_counter()
            solve_many(compiled, scenarios, threads=2)
            ours.append((time.perf_counter() - begin) / COUNT)
            parts = widths[: 2 * THEIRS].reshape(2, THEIRS, -1)
            theirs.append(max(pool.map(solve_in_process, parts, chunksize=1)) / (2 * THEIRS))
    mine_s, engine_s = statistics.median(ours), statistics.median(theirs)
    times = f"ours {mine_s * 1e6:.3g}, engine {engine_s * 1e6:.3g}, {engine_s / mine_s:.3g} times"
    return f"{times}; ours the same to the last digit with one thread: {'yes' if same else 'NO'}"


def with_loops() -> Network:
    """Return an invented carrier with four loops, without what no water runs through."""
    looped = random_network(np.random.default_rng(3), nodes=22, outlets=70, loops=4, dry_share=0.0)
    network = never_smooth(bores_only(replace(looped, pump=PUMP)))
    dry = set(solve(network).dry_outlets)
    return replace(network, outlets=tuple(replace(o, state="closed") if o.id in dry else o for o in network.outlets))


def main() -> None:
    """Print one line for each network."""
    warnings.filterwarnings("ignore", module="wntr")
    logging.getLogger("wntr").setLevel(logging.ERROR)
    networks = {f"{title} of loads": joined_loads(names) for title, names in LOADS.items()}
    networks["70 ports, four loops, invented"] = with_loops()
    for title, network in networks.items():
        print(f"{title}: {two_workers(network)}")


if __name__ == "__main__":
    main()
