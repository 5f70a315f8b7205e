"""Many solves of one carrier, side by side with the EPANET 2.2 engine: the same networks, the same process, in turns.

Run from the root of the checkout, in the environment of the tests:

    python -m benchmarks.flow_batch            # tables
    python -m benchmarks.flow_batch --plot     # and the picture of cost over ports

Both sides work on one core; times are CPU times of the process, medians over rounds taken in turns; `flow_workers`
puts two workers on both sides. The engine is driven through its C interface from a warm start (the flows of the solve
before) at its tightest accuracy, and only what changes is set. Which time is which:

* ours               `solve_many` on arrays, one thread: sizes in, flows and heads out; for ports `PortFaults`
* engine, solve      ENinitH without new flows and ENrunH alone
* engine, whole      the same with the setters for what differs from the scenario before

Networks: loads of the demo joined to 70 and 150 ports (`joined_loads`), and invented carriers, which have fewer
segments for each port. Cases: every diameter evenly within 2 %; none to three ports, chosen at random, put from open to
closed or from closed to open. The engine takes each segment as a link of its own; ours adds a chain's segments up
first, works on 32 scenarios side by side, uses that the network is a tree and leaves out what no water runs through:
all of that is part of the gain.
"""

from __future__ import annotations

import ctypes
import logging
import statistics
import sys
import tempfile
import time
import warnings
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from benchmarks.flow_single import PUMP, never_smooth
from benchmarks.joined_loads import LOADS, joined_loads
from patency.flow import Bore, PortFaults, Scenarios, compile_network, solve, solve_many
from tests.flow.random_networks import random_network
from tests.published.epanet_engine import LITRES_A_SECOND, Engine, input_text, not_running

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from patency.flow import CompiledNetwork, Link, Network, Outlet

    Floats = NDArray[np.float64]

TIGHT = "ACCURACY 1e-5\nHEADERROR 1e-7\nFLOWCHANGE 1e-9"
DEFAULT = "ACCURACY 1e-3"
SIZES = {"70 ports": (22, 70, 3), "150 ports": (43, 150, 2)}  # nodes, outlets, seed
COUNT = 16_384
THEIRS = 200
ROUNDS = 7
LEFT_OUT = 40  # scenarios
SMALL_M3_S = 1e-6 / 60.0  # 1 mL/min
DIAMETER, INITIAL_STATUS, FLOW = 0, 4, 8
PICTURE = Path(__file__).parents[1] / "docs" / "pictures" / "flow-cost.svg"


class WarmEngine:
    """The engine with one network loaded, driven through its C interface."""

    def __init__(self, network: Network, without: set[str], accuracy: str, folder: Path) -> None:
        self.engine = Engine(input_text(network, without, accuracy), folder)
        self.library: Any = self.engine.project.ENlib
        self.handle: Any = self.engine.project._project  # noqa: SLF001 - its C interface is what is timed
        index = self.engine.project.ENgetlinkindex
        self.links = {o.id: index(o.id) for o in network.outlets if o.id not in without}
        self._time = ctypes.c_long()
        self.engine.solve()

    def set(self, link: int, what: int, value: float) -> None:
        """Set a number of a link."""
        self.library.EN_setlinkvalue(self.handle, link, what, ctypes.c_double(value))

    def solve(self) -> None:
        """Solve from the flows of the solve before."""
        self.library.EN_initH(self.handle, 0)
        self.library.EN_runH(self.handle, ctypes.byref(self._time))

    def flow_m3_s(self, name: str) -> float:
        """Flow of an outlet."""
        return float(self.engine.project.ENgetlinkvalue(self.links[name], FLOW)) / LITRES_A_SECOND


def timed(call: Callable[[], object]) -> float:
    """CPU time of one call [s]."""
    begin = time.process_time()
    call()
    return time.process_time() - begin


def bores_only(network: Network) -> Network:
    """The same with annuli as bores of their gap's width, so that a diameter of ours is one of the engine's."""

    def plain(segments: Any) -> Any:  # noqa: ANN401 - a row of segments
        return tuple(
            Bore(
                diameter_m=s.outer_diameter_m - s.inner_diameter_m,
                length_m=s.length_m,
                roughness_m=s.roughness_m,
                minor_loss=s.minor_loss,
            )
            if s.shape == "annulus"
            else s
            for s in segments
            if s.shape != "orifice" or len(segments) == 1
        )

    return replace(
        network,
        links=tuple(replace(link, segments=plain(link.segments)) for link in network.links),
        outlets=tuple(replace(outlet, segments=plain(outlet.segments)) for outlet in network.outlets),
    )


def carrier(nodes: int, outlets: int, seed: int) -> Network:
    """An invented carrier in which every open outlet runs."""
    network = random_network(np.random.default_rng(seed), nodes=nodes, outlets=outlets, dry_share=0.0)
    network = never_smooth(bores_only(replace(network, pump=PUMP)))
    dry = set(solve(network).dry_outlets)
    return replace(network, outlets=tuple(replace(o, state="closed") if o.id in dry else o for o in network.outlets))


def pipe_rows(network: Network, compiled: CompiledNetwork) -> list[tuple[str, int]]:
    """Name of the engine's pipe and row of ours, for every segment that the engine has."""
    rows = []
    closed = not_running(network.outlets, ())
    paths: tuple[Link | Outlet, ...] = (*network.links, *network.outlets)
    for path in paths:
        if path.id in closed:
            continue
        chain = compiled.chain_names.index(path.id)
        first, count = int(compiled.segment_start[chain]), len(path.segments)
        turned = int(compiled.direction[chain]) < 0
        for k in range(count):
            name = path.id if k == 0 else f"{path.id}.{k}"
            rows.append((name, first + (count - 1 - k if turned else k)))
    return rows


def diameters(network: Network, engine: WarmEngine) -> dict[str, float]:
    """All diameters evenly within 2 %: microseconds a scenario, and the largest deviation."""
    compiled = compile_network(network)
    chance = np.random.default_rng(1)
    shape = (COUNT, compiled.geometry.diameter_m.size)
    widths = compiled.geometry.diameter_m * chance.uniform(0.98, 1.02, shape)
    scenarios = Scenarios(count=COUNT, diameter_m=widths)
    index = engine.engine.project.ENgetlinkindex
    rows = [(index(name), row) for name, row in pipe_rows(network, compiled)]
    flows = solve_many(compiled, scenarios, threads=1)

    def put(k: int) -> None:
        for link, row in rows:
            engine.set(link, DIAMETER, widths[k, row] * 1e3)

    return race(compiled, lambda: solve_many(compiled, scenarios, threads=1), engine, put, flows.flow_m3_s)


def faults(network: Network, engine: WarmEngine) -> dict[str, float]:
    """None to three ports changed: microseconds a scenario, and the largest deviation."""
    compiled = compile_network(network)
    chance = np.random.default_rng(2)
    names = [outlet.id for outlet in network.outlets]
    usable = [k for k, name in enumerate(names) if name in engine.links]
    is_open = np.repeat(compiled.outlets.is_open[np.newaxis], COUNT, axis=0)
    changed: list[list[int]] = []
    for k in range(COUNT):
        some = chance.choice(usable, chance.integers(0, 4), replace=False).tolist()
        is_open[k, some] = 1 - is_open[k, some]
        changed.append(some)
    port_faults = PortFaults(compiled)
    begin = time.process_time()
    PortFaults(compiled)
    print(f"  tables of port faults made once in {(time.process_time() - begin) * 1e3:.0f} ms")
    flows = port_faults.solve(is_open, threads=1)
    before: list[int] = []

    def put(k: int) -> None:
        for outlet in before:
            engine.set(engine.links[names[outlet]], INITIAL_STATUS, 1.0)
        for outlet in changed[k]:
            engine.set(engine.links[names[outlet]], INITIAL_STATUS, 0.0)
        before[:] = changed[k]

    found = race(compiled, lambda: port_faults.solve(is_open, threads=1), engine, put, flows.flow_m3_s)
    found["largest deviation, closed ports left out"] = max(
        deviation_without(network, is_open[k], flows.flow_m3_s[k, -len(names) :]) for k in range(LEFT_OUT)
    )
    for outlet in before:
        engine.set(engine.links[names[outlet]], INITIAL_STATUS, 1.0)
    return found


def deviation_without(network: Network, is_open: NDArray[np.uint8], flows: Floats) -> float:
    """Largest deviation from the engine without the closed ports: its closed pipes still conduct a little."""
    without = {outlet.id for outlet, opened in zip(network.outlets, is_open, strict=True) if not opened}
    with tempfile.TemporaryDirectory() as folder:
        engine = WarmEngine(network, without, TIGHT, Path(folder))
        mine = {outlet.id: float(flow) for outlet, flow in zip(network.outlets, flows, strict=True)}
        off = [abs(engine.flow_m3_s(name) / mine[name] - 1.0) for name in engine.links if mine[name] > SMALL_M3_S]
        engine.engine.close()
    return max(off)


def race(
    compiled: CompiledNetwork,
    mine: Callable[[], object],
    engine: WarmEngine,
    put: Callable[[int], None],
    flows: Floats,
) -> dict[str, float]:
    """Time both sides in turns."""
    ours, bare, setting, worst = [], [], [], 0.0
    outlets = len(compiled.chain_names) - compiled.outlets.is_open.size
    names = compiled.chain_names[outlets:]
    for turn in range(ROUNDS):
        ours.append(timed(mine) / COUNT)
        for k in range(turn * THEIRS, (turn + 1) * THEIRS):
            setting.append(timed(lambda k=k: put(k)))  # type: ignore[misc]
            bare.append(timed(engine.solve))
            for row, name in enumerate(names):
                flow = flows[k, outlets + row]
                if name in engine.links and flow > SMALL_M3_S:
                    worst = max(worst, abs(engine.flow_m3_s(name) / flow - 1.0))
    solve_s, whole_s = statistics.median(bare), statistics.median(bare) + statistics.median(setting)
    mine_s = statistics.median(ours)
    return {
        "ours": mine_s * 1e6,
        "engine, solve": solve_s * 1e6,
        "engine, whole": whole_s * 1e6,
        "solve over ours": solve_s / mine_s,
        "whole over ours": whole_s / mine_s,
        "largest deviation": worst,
    }


def default_deviation(network: Network) -> float:
    """How far the engine is off on outlets at most at its default accuracy, warm, all diameters within 2 %."""
    compiled = compile_network(network)
    chance = np.random.default_rng(3)
    widths = compiled.geometry.diameter_m * chance.uniform(0.98, 1.02, (THEIRS, compiled.geometry.diameter_m.size))
    flows = solve_many(compiled, Scenarios(count=THEIRS, diameter_m=widths)).flow_m3_s
    worst = 0.0
    with tempfile.TemporaryDirectory() as folder:
        engine = WarmEngine(network, not_running(network.outlets, ()), DEFAULT, Path(folder))
        index = engine.engine.project.ENgetlinkindex
        rows = [(index(name), row) for name, row in pipe_rows(network, compiled)]
        chains = {name: compiled.chain_names.index(name) for name in engine.links}
        for k in range(THEIRS):
            for link, row in rows:
                engine.set(link, DIAMETER, widths[k, row] * 1e3)
            engine.solve()
            for name, chain in chains.items():
                if flows[k, chain] > SMALL_M3_S:
                    worst = max(worst, abs(engine.flow_m3_s(name) / flows[k, chain] - 1.0))
        engine.engine.close()
    return worst


def cost_over_ports() -> dict[int, tuple[float, float]]:
    """Microseconds a scenario over the number of ports: all diameters changed, ports changed."""
    costs = {}
    for ports in (25, 50, 100, 200, 400):
        compiled = compile_network(carrier(max(ports // 3, 2), ports, 5))
        chance = np.random.default_rng(1)
        widths = compiled.geometry.diameter_m * chance.uniform(0.98, 1.02, (4096, compiled.geometry.diameter_m.size))
        is_open = np.where(
            chance.random((4096, ports)) < 1.5 / ports, 1 - compiled.outlets.is_open, compiled.outlets.is_open
        )
        wide, port_faults = Scenarios(count=4096, diameter_m=widths), PortFaults(compiled)
        spent = []
        for case in (
            lambda wide=wide, compiled=compiled: solve_many(compiled, wide, threads=1),
            lambda is_open=is_open, port_faults=port_faults: port_faults.solve(is_open, threads=1),
        ):
            case()
            spent.append(min(timed(case) for _ in range(5)) / 4096 * 1e6)
        costs[ports] = (spent[0], spent[1])
    return costs


def main() -> None:
    """Print the tables; with --plot draw the picture."""
    warnings.filterwarnings("ignore", module="wntr")
    logging.getLogger("wntr").setLevel(logging.ERROR)
    print("engine's settings:", TIGHT.replace("\n", ", "), "(flow change in L/s)")
    for title, size in SIZES.items():
        network = carrier(*size)
        with tempfile.TemporaryDirectory() as folder:
            engine = WarmEngine(network, not_running(network.outlets, ()), TIGHT, Path(folder))
            cases = {"all diameters +-2 %": diameters(network, engine)}
            for link, width_mm in nominal_diameters(network, engine):
                engine.set(link, DIAMETER, width_mm)
            cases["none to three ports"] = faults(network, engine)
            engine.engine.close()
        print(f"\n{title}, {compile_network(network).geometry.diameter_m.size} segments")
        for name, figures in cases.items():
            print(f"  {name:22}", "  ".join(f"{word} {value:.3g}" for word, value in figures.items()))
        print(f"  engine at its default accuracy of 1e-3: up to {default_deviation(network):.2%} off on an outlet")
    for title, names in LOADS.items():
        diameters_alone(title, joined_loads(names))
    costs = cost_over_ports()
    print("\nports   all diameters   ports changed   [us a scenario]")
    for ports, (wide, faulty) in costs.items():
        print(f"{ports:5} {wide:15.2f} {faulty:15.2f}")
    if "--plot" in sys.argv:
        draw(costs)


def diameters_alone(title: str, network: Network) -> None:
    """Print what varying all diameters of a network takes on one core and on two."""
    with tempfile.TemporaryDirectory() as folder:
        engine = WarmEngine(network, not_running(network.outlets, ()), TIGHT, Path(folder))
        figures = diameters(network, engine)
        pipes = len(pipe_rows(network, compile_network(network)))
        engine.engine.close()
    segments = compile_network(network).geometry.diameter_m.size
    print(f"\n{title} of loads, {segments} segments, {pipes} of them pipes of the engine")
    print(f"  {'all diameters +-2 %':22}", "  ".join(f"{word} {value:.3g}" for word, value in figures.items()))
    print(f"  engine at its default accuracy of 1e-3: up to {default_deviation(network):.2%} off on an outlet")


def nominal_diameters(network: Network, engine: WarmEngine) -> list[tuple[int, float]]:
    """The engine's links with their widths as compiled [mm]."""
    compiled = compile_network(network)
    index = engine.engine.project.ENgetlinkindex
    return [(index(name), compiled.geometry.diameter_m[row] * 1e3) for name, row in pipe_rows(network, compiled)]


def draw(costs: dict[int, tuple[float, float]]) -> None:
    """Draw cost over ports."""
    import matplotlib as mpl
    from matplotlib.figure import Figure

    mpl.rcParams["svg.hashsalt"] = "flow-cost"
    figure = Figure(figsize=(6.0, 3.6), layout="constrained")
    axes = figure.subplots()
    lines = (("every diameter within 2 %", "o-"), ("none to three ports changed", "s--"))  # told apart without colour
    for column, (word, form) in enumerate(lines):
        axes.plot(list(costs), [cost[column] for cost in costs.values()], form, color="#111111", label=word)
    axes.set_xlabel("ports")
    axes.set_ylabel("CPU time of a scenario [µs]")
    axes.set_xlim(left=0)
    axes.set_ylim(bottom=0)
    axes.legend(frameon=False)
    figure.savefig(PICTURE, metadata={"Date": None})


if __name__ == "__main__":
    main()
