"""What it leaves out that developing flow and side holes are kept as planned: measured, and bounded."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from patency.flow import FaultKind, compile_network, faults_of_load, solve_load
from patency.flow.faults.fault import NetworkChange
from patency.flow.faults.fault_network import FaultNetwork
from patency.flow.faults.reading import FaultReader
from patency.flow.readings import Gauge
from patency.flow.stage_solution import solve_stage
from tests.demo.larkmere import hand_made_load, larkmere

if TYPE_CHECKING:
    from patency.flow import Segment, SolvedLoad
    from patency.flow.faults.listing import FaultList
    from patency.flow.stage_solution import StageSolution

COMING_OFF = {FaultKind.HOSE_OFF_PORT, FaultKind.HOSE_OFF_PIECE, FaultKind.PIECE_OFF_PORT, FaultKind.CAP_MISSING}
NO_FLOW_M3_S = 1e-12


@pytest.mark.parametrize(("load_id", "every"), [("L2", 5), ("D1", 4)])
def test_losses_of_developing_flow_kept_as_planned_hardly_move_the_flows_of_a_fault(load_id: str, every: int) -> None:
    # Reached, all faults of both loads: half of all differences are below 0.04 %, hoses off and caps missing below 1 %;
    # the largest is 5.2 %, of a lumen half blocked whose own flow then develops otherwise.
    load = hand_made_load(load_id)
    solved = solve_load(larkmere(), load)
    faults = faults_of_load(larkmere(), load, solved.network)
    cases = [case for case in faults.cases[::every] if not case.change.lying_rods]
    changes = [case.change for case in cases]
    network = FaultNetwork(faults)
    differences: dict[FaultKind, list[float]] = {}
    for name in ("cold rinse", "thermal disinfection"):
        solution = solved.stages[name]
        stage = network.stage(solution)
        flows = network.solve(stage, network.table(changes))
        found = FaultReader(network, solved.network, changes, set()).read(stage, flows).flow_m3_s
        for row, case in enumerate(cases):
            if case.change.pump_speed == 1.0:
                flow = with_its_own_losses(solved, faults, solution, case.change)
                wet = (found[row] > NO_FLOW_M3_S) & (flow > NO_FLOW_M3_S)
                most = float(np.abs(found[row][wet] / flow[wet] - 1.0).max())
                differences.setdefault(case.fault.kind, []).append(most)
    everything = [one for ones in differences.values() for one in ones]
    assert float(np.median(everything)) < 0.001
    assert max(one for kind, ones in differences.items() if kind in COMING_OFF for one in ones) < 0.01
    assert max(everything) < 0.06


def with_its_own_losses(
    solved: SolvedLoad, faults: FaultList, solution: StageSolution, change: NetworkChange
) -> np.ndarray:
    """Solve the network of a fault with its own developing flow and its own pressure behind side holes."""

    def resized(name: str, segments: tuple[Segment, ...]) -> tuple[Segment, ...]:
        return tuple(change.segments.get((name, place), segment) for place, segment in enumerate(segments))

    states: dict[str, Any] = dict.fromkeys(change.closes, "closed") | dict.fromkeys(change.opens, "open")
    network = replace(
        faults.network,
        links=tuple(replace(link, segments=resized(link.id, link.segments)) for link in faults.network.links),
        outlets=tuple(
            replace(one, state=states.get(one.id, one.state), segments=resized(one.id, one.segments))
            for one in faults.network.outlets
        ),
    )
    lumens = {key: change.moved.get(key, path) for key, path in solved.network.lumens.items()}
    whole = replace(solved.network, network=network, stretches=faults.stretches, lumens=lumens)
    compiled = compile_network(network)
    own = solve_stage(whole, compiled, solution.compiled.pump, solution.temperature_c)  # type: ignore[arg-type]
    return Gauge(whole, compiled).read(own.compiled, own.flow).flow_m3_s
