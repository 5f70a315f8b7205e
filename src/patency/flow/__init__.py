"""How water runs: networks of pump, links and outlets, their solution, and the law of friction."""

from patency.flow.compiled_network import CompiledNetwork, Geometry, Outlets, WaterState, compile_network, water_state
from patency.flow.friction import annulus_constant, equivalent_reynolds, friction_factor, wall_shear_pa
from patency.flow.machine_code import Kernel
from patency.flow.network import (
    STANDARD_GRAVITY_M_S2,
    SUMP,
    Annulus,
    Bore,
    Link,
    Network,
    Orifice,
    Outlet,
    Pump,
    PumpLaw,
    PumpPoints,
    Segment,
    Water,
)
from patency.flow.network_check import check_network
from patency.flow.network_file import network_schema, parse_network, result_to_dict, write_network
from patency.flow.result import FlowResult, SegmentFlow
from patency.flow.solver import CompiledFlow, SegmentTable, segment_table, solve, solve_compiled

__all__ = [
    "STANDARD_GRAVITY_M_S2",
    "SUMP",
    "Annulus",
    "Bore",
    "CompiledFlow",
    "CompiledNetwork",
    "FlowResult",
    "Geometry",
    "Kernel",
    "Link",
    "Network",
    "Orifice",
    "Outlet",
    "Outlets",
    "Pump",
    "PumpLaw",
    "PumpPoints",
    "Segment",
    "SegmentFlow",
    "SegmentTable",
    "Water",
    "WaterState",
    "annulus_constant",
    "check_network",
    "compile_network",
    "equivalent_reynolds",
    "friction_factor",
    "network_schema",
    "parse_network",
    "result_to_dict",
    "segment_table",
    "solve",
    "solve_compiled",
    "wall_shear_pa",
    "water_state",
    "write_network",
]
