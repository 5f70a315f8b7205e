"""Every single fault of a load with 100 hose ports, side by side with solving each fault's network by itself.

Run from the root of the checkout, in the environment of the tests:

    python -m benchmarks.single_faults

The department is invented: four circuits of 25 hose ports, each with the same forceps on it, one wet stage. Prints
medians of several rounds in milliseconds, the least and the most behind them: time that passes, and processor time of
all threads together. Which time is which:

* all faults       solve and read every fault in one batch and judge every lumen, on what a planned load has ready: its
                   network with all that faults would open, its intervals
* network          drawing all that faults would open, compiling it, where what is read: once for a load
* intervals        the intervals at eight speeds of the pump: once for a load
* one by one       the same networks, each solved by itself with `solve_compiled`, nothing read
* from scratch     each fault's network written out by names, compiled and solved anew, from every 25th fault
"""

from __future__ import annotations

import time
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import Department, read_department
from patency.flow import faults_of_load, solve_load
from patency.flow.batch import solve_one_by_one
from patency.flow.faults.effects import FaultRun
from patency.flow.faults.fault_network import FaultNetwork, scenarios_of
from patency.flow.faults.margins import MarginScale, limits_of_lumens
from patency.flow.faults.sensing import fitted_sensors
from patency.load import Connection, Load, PlacedPiece
from tests.flow.faults.from_scratch import solved_from_scratch
from tests.small_plan import LOAD, SMALL_PLAN, forceps
from tests.small_site import SMALL_SITE

if TYPE_CHECKING:
    from collections.abc import Callable

CIRCUITS, PORTS_EACH = 4, 25


def large_department() -> Department:
    """Return the small department with a carrier of 100 hose ports, and one wet stage."""
    small = read_department(SMALL_SITE)
    wren = small.carriers["Wren"]
    hose, circuit = wren.ports["H1"], wren.circuits["hoses"]
    ports, circuits = {}, {"riser": wren.circuits["riser"]}
    for row in range(CIRCUITS):
        circuits[f"rail {row}"] = circuit.model_copy(update={"branches_at_m": 0.1 * (row + 1)})
        for place in range(PORTS_EACH):
            update = {"circuit": f"rail {row}", "along_m": 0.03 * (place + 1)}
            ports[f"H{row * PORTS_EACH + place + 1}"] = hose.model_copy(update=update)
    carrier = wren.model_copy(update={"ports": ports, "circuits": circuits})
    gentle = small.programmes["gentle"]
    cleaning = gentle.model_copy(update={"stages": [stage for stage in gentle.stages if stage.name == "cleaning"]})
    many = small.sets["Noon"].model_copy(update={"contents": {"fix5": CIRCUITS * PORTS_EACH}})
    return small.model_copy(
        update={
            "carriers": {"Wren": carrier},
            "programmes": {"gentle": cleaning},
            "sets": {**small.sets, "Noon": many},
        }
    )


def large_load() -> Load:
    """Return a load with a forceps on every port."""
    pieces: list[PlacedPiece] = []
    for number in range(1, CIRCUITS * PORTS_EACH + 1):
        port = f"H{number}"
        connection = Connection(lumen="shaft", port=port, chain=())
        update = {"piece": f"fix5/{number}/whole", "lumens": (connection,)}
        pieces.append(forceps("Noon", port).model_copy(update=update))
    return LOAD.model_copy(update={"sets": ("Noon",), "pieces": tuple(pieces), "capped_ports": ()})


def times_ms(work: Callable[[], object], rounds: int) -> tuple[list[float], list[float]]:
    """Return the time that passed and the processor time of several rounds."""
    passed, used = [], []
    for _ in range(rounds):
        start = time.perf_counter(), time.process_time()
        work()
        passed.append(1e3 * (time.perf_counter() - start[0]))
        used.append(1e3 * (time.process_time() - start[1]))
    return passed, used


def told(title: str, times: tuple[list[float], list[float]], share: float = 1.0) -> str:
    """Write medians, each with the least and the most."""
    words = (f"{share * median(t):8.1f} ms ({share * min(t):.1f} to {share * max(t):.1f})" for t in times)
    return f"{title:12} {' passed, '.join(words)} of processor time"


def main() -> None:
    """Measure and print."""
    department, load = large_department(), large_load()
    solved = solve_load(department, load)
    keys = list(solved.network.lumens)
    limits = limits_of_lumens(department, load, keys, SMALL_PLAN.day)
    scale = MarginScale(solved, limits)

    def prepared() -> FaultRun:
        faults = faults_of_load(department, load, solved.network)
        return FaultRun(solved, faults, fitted_sensors(department, load), scale, set(), dict.fromkeys(keys, ()))

    run = prepared()
    effects = run.effects()
    faults = faults_of_load(department, load, solved.network)
    print(f"{len(keys)} lumens, {len(effects.faults)} faults, {len(effects.stages)} stage")
    network = FaultNetwork(faults)
    ((_, solution),) = solved.stages.items()
    stage = network.stage(solution)
    table = network.table([case.change for case in faults.cases])
    scenarios = scenarios_of(stage, table, np.arange(len(faults.cases)), stage.whole)
    few = list(enumerate(faults.cases))[::25]
    print(told("all faults", times_ms(run.effects, 40)))
    print(told("network", times_ms(prepared, 9)))
    print(told("intervals", times_ms(lambda: MarginScale(solved, limits), 7)))
    print(told("one by one", times_ms(lambda: solve_one_by_one(stage.compiled, scenarios), 3)))
    scratch = times_ms(lambda: [solved_from_scratch(solved, faults, solution, case.change) for _, case in few], 3)
    print(told("from scratch", scratch, len(faults.cases) / len(few)))
    checked = 0.0
    for row, case in few:
        readings, _, _ = solved_from_scratch(solved, faults, solution, case.change)
        wet = [place for place, key in enumerate(keys) if key not in case.change.dry and readings.flow_m3_s[place] > 0]
        apart = effects.flow_m3_s[0, row, wet] / readings.flow_m3_s[wet] - 1.0
        checked = max(checked, float(np.abs(apart).max()))
    print(f"largest relative deviation from scratch {checked:.1e}")


if __name__ == "__main__":
    main()
