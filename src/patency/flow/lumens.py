"""The water in a load, stage by stage: solve each wet stage at its own temperature and let the worst decide."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue import fit_in_force
from patency.errors import InputError
from patency.flow.carrier_paths import pump_at
from patency.flow.compiled_network import compile_network
from patency.flow.from_load import network_of_load
from patency.flow.hose_off import compile_with_hoses_off, pressure_changes_pa
from patency.flow.load_flow import LoadFlow
from patency.flow.readings import Gauge
from patency.flow.stage_numbers import stage_flow, worst_of_stages
from patency.flow.stage_solution import solve_stage
from patency.flow.uncertainty import bounds

if TYPE_CHECKING:
    from patency.catalogue import Department, Programme, Stage
    from patency.flow.from_load import LoadNetwork
    from patency.flow.stage_solution import StageSolution
    from patency.load import Load


def wet_stages(programme: Programme) -> dict[str, Stage]:
    """List the stages in which water circulates.

    Parameters
    ----------
    programme
        The programme.

    Returns
    -------
    dict[str, Stage]
        Stages by name, in order; a name that comes again gets a number behind it.
    """
    found: dict[str, Stage] = {}
    for stage in programme.stages:
        if stage.kind.wet:
            again = sum(1 for other in found.values() if other.name == stage.name)
            found[f"{stage.name} {again + 1}" if again else stage.name] = stage
    return found


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
    ``patency.flow.uncertainty``. About half a second for forty lumens and five stages.
    """
    load_network, solutions, gauge = _solved(department, load)
    stages = {}
    for name, solution in solutions.items():
        nominal = gauge.read(solution.compiled, solution.flow)
        ends = bounds(load_network, solution, gauge)
        stages[name] = stage_flow(load_network, solution.temperature_c, nominal, ends)
    with_hoses = compile_with_hoses_off(load_network)
    changes = {
        name: pressure_changes_pa(load_network, with_hoses, solution)
        for name, solution in solutions.items()
        if with_hoses is not None
    }
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
    load_network, solutions, gauge = _solved(department, load)
    stages = {}
    for name, solution in solutions.items():
        nominal = gauge.read(solution.compiled, solution.flow)
        stages[name] = stage_flow(load_network, solution.temperature_c, nominal, (nominal, nominal))
    lumens = worst_of_stages(load_network, stages)
    return LoadFlow(stages, lumens, {}, load_network, load_network.defaults, with_intervals=False)


def _solved(department: Department, load: Load) -> tuple[LoadNetwork, dict[str, StageSolution], Gauge]:
    """Build the load's network once and solve it for each wet stage."""
    if load.programme not in department.programmes:
        raise InputError(f"load {load.id}", f"no programme {load.programme!r}", ", ".join(department.programmes))
    stages = wet_stages(department.programmes[load.programme])
    if not stages:
        raise InputError(f"programme {load.programme}", "no wet stage", "at least one stage with water")
    load_network = network_of_load(department, load, next(iter(stages.values())))
    compiled = compile_network(load_network.network)
    machine = department.machine_kinds[load.machine_kind]
    fit = fit_in_force(department, load.carrier, load.machine_kind)
    solutions = {
        name: solve_stage(load_network, compiled, pump_at(machine, stage.pump_speed, fit), stage.temperature_c)
        for name, stage in stages.items()
    }
    return load_network, solutions, Gauge(load_network, compiled)
