"""What the circulation pressure shows of a hose that came off, its port or its piece: the least and the most."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.errors import PhysicsError
from patency.flow.faults.fault import FaultKind, NetworkChange
from patency.flow.faults.fault_network import FaultNetwork

if TYPE_CHECKING:
    from patency.flow.faults.listing import FaultList
    from patency.flow.solved_load import SolvedLoad

_HOSE_OFF = {FaultKind.HOSE_OFF_PORT, FaultKind.HOSE_OFF_PIECE}


def hose_off_pressure_changes_pa(fault_list: FaultList, solved: SolvedLoad) -> dict[str, tuple[float, float]]:
    """Find the largest and the smallest change of the circulation pressure when any one hose comes off.

    Parameters
    ----------
    fault_list
        The faults of the load.
    solved
        The load as planned.

    Returns
    -------
    dict[str, tuple[float, float]]
        For each stage the lowest and the highest change over all hoses and both their ends [Pa], a fall negative;
        empty where nothing hangs on a hose.

    Raises
    ------
    PhysicsError
        If the pump is driven beyond its run-out by every hose that comes off.
    """
    changes = [case.change for case in fault_list.cases if case.fault.kind in _HOSE_OFF]
    if not changes:
        return {}
    network = FaultNetwork(fault_list)
    table = network.table([NetworkChange(), *changes])
    node = network.compiled.node_names.index(solved.network.circulation_node)
    found = {}
    for name, solution in solved.stages.items():
        compiled = solution.compiled
        flows = network.solve(network.stage(solution), table)
        shown = compiled.water.density_kg_m3 * compiled.gravity_m_s2 * flows.head_m[:, node]
        if not flows.solved[1:].any():
            raise PhysicsError("pump", "beyond its run-out with any hose off", "a pump that feeds one open port")
        moved = shown[1:] - shown[0]
        found[name] = (float(np.nanmin(moved)), float(np.nanmax(moved)))
    return found
