"""The water in a load, stage by stage: solve each wet stage at its own temperature and let the worst decide."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.flow.faults.hose_off import hose_off_pressure_changes_pa
from patency.flow.faults.listing import faults_of_load
from patency.flow.load_flow import LoadFlow
from patency.flow.solved_load import solve_load
from patency.flow.stage_numbers import stage_flow, worst_of_stages
from patency.flow.uncertainty import bounds

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.load import Load


def flow_of_load(department: Department, load: Load) -> LoadFlow:
    """Compute the water in every lumen of a load, with intervals.

    Parameters
    ----------
    department
        The department.
    load
        The load.

    Returns
    -------
    LoadFlow
        Every wet stage, every lumen, and what a hose that comes off would do to the pressure.

    Raises
    ------
    InputError
        If the load names something the department does not have, or its programme has no wet stage.
    PhysicsError
        If the pump is driven beyond its run-out.

    Notes
    -----
    The intervals are of first order: every tolerance moved alone, the effects summed in quadrature; see
    ``patency.flow.uncertainty``. About two tenths of a second for forty lumens and five stages.
    """
    solved = solve_load(department, load)
    load_network = solved.network
    stages = {}
    for name, solution in solved.stages.items():
        nominal = solved.gauge.read(solution.compiled, solution.flow)
        ends = bounds(load_network, solution, solved.gauge)
        stages[name] = stage_flow(load_network, solution.temperature_c, nominal, ends)
    changes = hose_off_pressure_changes_pa(faults_of_load(department, load, load_network), solved)
    lumens = worst_of_stages(load_network, stages)
    return LoadFlow(stages, lumens, changes, load_network, load_network.defaults, with_intervals=True)


def nominal_flow_of_load(department: Department, load: Load) -> LoadFlow:
    """Compute the water in every lumen of a load at nominal sizes only: for planning, where many loads are tried.

    Parameters
    ----------
    department
        The department.
    load
        The load.

    Returns
    -------
    LoadFlow
        As of ``flow_of_load``, each interval only its nominal value, and nothing about hoses; it never answers
        ``fed`` with yes. A few milliseconds.

    Raises
    ------
    InputError
        If the load names something the department does not have, or its programme has no wet stage.
    PhysicsError
        If the pump is driven beyond its run-out.
    """
    solved = solve_load(department, load)
    load_network = solved.network
    stages = {}
    for name, solution in solved.stages.items():
        nominal = solved.gauge.read(solution.compiled, solution.flow)
        stages[name] = stage_flow(load_network, solution.temperature_c, nominal, (nominal, nominal))
    lumens = worst_of_stages(load_network, stages)
    return LoadFlow(stages, lumens, {}, load_network, load_network.defaults, with_intervals=False)
