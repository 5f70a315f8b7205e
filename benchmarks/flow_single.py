"""One solve of one carrier, side by side with the EPANET 2.2 engine: the same networks, the same process, in turns.

Run from the root of the checkout, in the environment of the tests:

    python -m benchmarks.flow_single

Prints medians of CPU time in microseconds and ratios. Which time is which:

* ours, arrays     `solve_compiled`, from a cold start, to 1e-11 m of head left over
* ours, warm       the same from the flows of a slightly different network
* ours, whole      `solve`: check, compile, solve, name every segment
* ours, plain      `solve_compiled` without the compiler
* engine, cold     the engine solves the loaded network from a cold start (ENinitH, ENrunH), tightest accuracy
* engine, default  the same with the engine's default accuracy of 1e-3, which leaves small lumens off by percents
* wntr, whole      read the input text and run wntr's simulator, as most programs would

The engine takes each segment as a link of its own, ours adds a chain's segments up first: that is part of the gain.
"""

from __future__ import annotations

import logging
import statistics
import tempfile
import time
import warnings
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from patency.flow import Orifice, PumpLaw, compile_network, solve
from patency.flow.machine_code import Kernel
from patency.flow.solver import solve_compiled
from tests.flow.random_networks import random_network
from tests.published.epanet_engine import TIGHT, Engine, input_text, not_running

if TYPE_CHECKING:
    from collections.abc import Callable

    from patency.flow import Network, Segment

PUMP = PumpLaw(shutoff_head_m=6.0, coefficient=6.0 / 1.2e-2**2, exponent=2.0)  # enough for nearly every outlet
ROUNDS = 40
IN_A_ROW = 10
SLOW_ROUNDS = 12


def wntr_call(text: str, folder: Path) -> Callable[[], object]:
    """The usual way: a model from the file, then its simulator."""
    import wntr

    place = folder / "wntr.inp"
    place.write_text(text, encoding="ascii")

    def call() -> object:
        model = wntr.network.WaterNetworkModel(str(place))
        return wntr.sim.EpanetSimulator(model).run_sim(file_prefix=str(folder / "run"))

    return call


def medians(calls: dict[str, tuple[Callable[[], object], int]]) -> dict[str, float]:
    """Median CPU time of each call [µs]: some times in a row, in turns so that a busy moment hits all alike."""
    spent: dict[str, list[float]] = {name: [] for name in calls}
    for call, _ in calls.values():
        call()  # load and compile before the clock runs
    for turn in range(max(rounds for _, rounds in calls.values())):
        for name, (call, rounds) in calls.items():
            if turn < rounds:
                repeats = IN_A_ROW if rounds == ROUNDS else 1
                begin = time.process_time_ns()
                for _ in range(repeats):
                    call()
                spent[name].append((time.process_time_ns() - begin) / 1e3 / repeats)
    return {name: statistics.median(times) for name, times in spent.items()}


def compare(title: str, network: Network) -> None:
    """Print one table."""
    result = solve(network)
    compiled = compile_network(network)
    cold = solve_compiled(compiled)
    wider = compiled.geometry.diameter_m * np.linspace(0.99, 1.01, compiled.geometry.diameter_m.size)
    changed = compiled.with_changes(geometry=compiled.geometry._replace(diameter_m=wider))
    without = not_running(network.outlets, result.dry_outlets)
    with tempfile.TemporaryDirectory() as first, tempfile.TemporaryDirectory() as second:
        tight = Engine(input_text(network, without), Path(first))
        loose = Engine(input_text(network, without, "ACCURACY 1e-3"), Path(second))
        tight.solve()
        running = [outlet.id for outlet in network.outlets if outlet.id not in without]
        theirs = tight.flows_m3_s(running)
        worst = max(abs(theirs[name] / result.flows_m3_s[name] - 1) for name in running)
        times = medians(
            {
                "ours, arrays": (lambda: solve_compiled(compiled), ROUNDS),
                "ours, warm": (lambda: solve_compiled(changed, cold), ROUNDS),
                "ours, whole": (lambda: solve(network), SLOW_ROUNDS),
                "ours, plain": (lambda: solve_compiled(compiled, kernel=Kernel.INTERPRETED), SLOW_ROUNDS),
                "engine, cold": (tight.solve, ROUNDS),
                "engine, default": (loose.solve, ROUNDS),
                "wntr, whole": (wntr_call(input_text(network, without, TIGHT), Path(first)), SLOW_ROUNDS),
            }
        )
        tight.close()
        loose.close()
    print(f"\n{title}: {len(running)} outlets running, {len(network.links)} links, {wider.size} segments")
    print(f"largest difference of an outlet's flow from the engine's: {worst:.1e}")
    for name, spent in times.items():
        print(f"  {name:16} {spent:10.1f} us  {spent / times['ours, arrays']:8.1f} x ours, arrays")


def never_smooth(network: Network) -> Network:
    """The same with a nanometre of roughness where there was none: wntr reads no smooth pipes."""

    def rough(segments: tuple[Segment, ...]) -> tuple[Segment, ...]:
        return tuple(
            segment if isinstance(segment, Orifice) else replace(segment, roughness_m=max(segment.roughness_m, 1e-9))
            for segment in segments
        )

    return replace(
        network,
        links=tuple(replace(link, segments=rough(link.segments)) for link in network.links),
        outlets=tuple(replace(outlet, segments=rough(outlet.segments)) for outlet in network.outlets),
    )


def main() -> None:
    """Compare on a tree and on a network with loops."""
    warnings.filterwarnings("ignore", module="wntr")
    logging.getLogger("wntr").setLevel(logging.ERROR)
    for title, loops in (("Tree", 0), ("Four loops", 4)):
        network = random_network(np.random.default_rng(3), nodes=22, outlets=70, loops=loops, dry_share=0.0)
        compare(title, never_smooth(replace(network, pump=PUMP)))


if __name__ == "__main__":
    main()
