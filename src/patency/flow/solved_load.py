"""A load's network solved at its nominal sizes in every wet stage: what intervals, faults and sensors start from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import fit_in_force
from patency.errors import InputError
from patency.flow.carrier_paths import pump_at
from patency.flow.compiled_network import compile_network
from patency.flow.from_load import network_of_load
from patency.flow.readings import Gauge
from patency.flow.stage_solution import solve_stage

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.catalogue import Department, Programme, Stage
    from patency.flow.compiled_network import CompiledNetwork
    from patency.flow.from_load import LoadNetwork
    from patency.flow.stage_solution import StageSolution
    from patency.load import Load


@dataclass(frozen=True, slots=True)
class SolvedLoad:
    """A load's network and its solution in every wet stage.

    Parameters
    ----------
    network
        The load's network in its first wet stage, with the maps from lumens to it.
    stages
        Each wet stage, solved at nominal sizes, by its name.
    gauge
        Reads the solutions.
    nominal
        The network compiled, without what developing flow costs.
    """

    network: LoadNetwork
    stages: Mapping[str, StageSolution]
    gauge: Gauge
    nominal: CompiledNetwork


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


def solve_load(department: Department, load: Load) -> SolvedLoad:
    """Build a load's network once and solve it for each wet stage.

    Parameters
    ----------
    department
        The department.
    load
        The load.

    Returns
    -------
    SolvedLoad
        Network and solutions.

    Raises
    ------
    InputError
        If the load names something the department does not have, or its programme has no wet stage.
    PhysicsError
        If the pump is driven beyond its run-out.
    """
    stages = _stages_of(department, load)
    return solve_stages(department, load, network_of_load(department, load, next(iter(stages.values()))))


def solve_stages(department: Department, load: Load, load_network: LoadNetwork) -> SolvedLoad:
    """Solve a load's network, or one like it, for each wet stage.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    load_network
        The network.

    Returns
    -------
    SolvedLoad
        Network and solutions.

    Raises
    ------
    InputError
        If the department has no such programme, or it has no wet stage.
    PhysicsError
        If the pump is driven beyond its run-out.
    """
    compiled = compile_network(load_network.network)
    machine = department.machine_kinds[load.machine_kind]
    fit = fit_in_force(department, load.carrier, load.machine_kind)
    solutions = {
        name: solve_stage(load_network, compiled, pump_at(machine, stage.pump_speed, fit), stage.temperature_c)
        for name, stage in _stages_of(department, load).items()
    }
    return SolvedLoad(load_network, solutions, Gauge(load_network, compiled), compiled)


def _stages_of(department: Department, load: Load) -> dict[str, Stage]:
    if load.programme not in department.programmes:
        raise InputError(f"load {load.id}", f"no programme {load.programme!r}", ", ".join(department.programmes))
    stages = wet_stages(department.programmes[load.programme])
    if not stages:
        raise InputError(f"programme {load.programme}", "no wet stage", "at least one stage with water")
    return stages
