"""Many solves of one network at once: what differs between them goes in as arrays, flows and heads come out."""

from patency.flow.batch.many_flows import ManyFlows, SolveState
from patency.flow.batch.port_faults import PortFaults
from patency.flow.batch.scenarios import Scenarios, scenario_network
from patency.flow.batch.solving import solve_many, solve_one_by_one

__all__ = [
    "ManyFlows",
    "PortFaults",
    "Scenarios",
    "SolveState",
    "scenario_network",
    "solve_many",
    "solve_one_by_one",
]
