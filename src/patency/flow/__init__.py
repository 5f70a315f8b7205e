"""How water runs: networks of pump, links and outlets, their solution, and the law of friction."""

from patency.flow.batch import (
    ManyFlows,
    PortFaults,
    Scenarios,
    SolveState,
    scenario_network,
    solve_many,
    solve_one_by_one,
)
from patency.flow.blind_spots.advisor import Advice, Option, SensorAdvice, advise_sensors
from patency.flow.blind_spots.eye_checks import EyeCheck, Look, When
from patency.flow.blind_spots.seeing import NO_BASELINE, BlindSpots, blind_spots_of_load
from patency.flow.commissioning.design import Criterion
from patency.flow.commissioning.drift import Drift
from patency.flow.commissioning.entry import entry_of, reading_ids
from patency.flow.commissioning.fitting import BenchFit, ComparedReading, fit_readings
from patency.flow.commissioning.model import BenchModel
from patency.flow.commissioning.parameters import Factors, described_parameters, updated_by
from patency.flow.commissioning.proposal import Lesson, Proposal, propose_readings
from patency.flow.commissioning.watching import WatchedPort, watch_ports
from patency.flow.compiled_network import CompiledNetwork, Geometry, Outlets, WaterState, compile_network, water_state
from patency.flow.detection.alarm import Alarm, alarm_of_site
from patency.flow.detection.baseline import Baseline
from patency.flow.detection.doubts import AGAINST_THE_MODEL, AGAINST_THE_SAME_LOAD
from patency.flow.detection.rotation import false_alarms_of_each
from patency.flow.diagnosis.diagnosing import Detectability, Diagnosis, Explanation, Visibility, diagnose
from patency.flow.diagnosis.observed import Observation, StageReading
from patency.flow.diagnosis.rates import Rates
from patency.flow.diagnosis.rates_file import rates_schema, read_rates
from patency.flow.diagnosis.simulating import DiagnosisScore, calibration
from patency.flow.envelope.load_envelope import LoadEnvelope, LumenStanding, envelope_of_load
from patency.flow.envelope.requalification import ProbeMeasure, Requalification, propose_requalification
from patency.flow.envelope.standing import Difference, PointCompared, Standing
from patency.flow.faults.effects import FaultEffects, effects_of_faults
from patency.flow.faults.fault import Fault, FaultCase, FaultKind, NetworkChange
from patency.flow.faults.fault_network import ChangeTable, FaultNetwork, FaultStage
from patency.flow.faults.listing import FaultList, faults_of_load
from patency.flow.faults.sensing import Measured, SensorPoint, fitted_sensors
from patency.flow.feeding import fed
from patency.flow.friction import annulus_constant, equivalent_reynolds, friction_factor, wall_shear_pa
from patency.flow.from_load import LoadNetwork, network_of_load
from patency.flow.load_flow import JetFlow, LoadFlow, LumenFlow, StageFlow, StageLumen, predicted_pressures
from patency.flow.losses import sudden_contraction, sudden_expansion
from patency.flow.lumen_paths import LumenKey, LumenPath
from patency.flow.lumens import flow_of_load, nominal_flow_of_load
from patency.flow.machine_code import Kernel
from patency.flow.manifold import ManifoldPlace, pressure_along_manifold
from patency.flow.needed_values import LeastValue, LeastValues, least_values
from patency.flow.needs import Measure
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
from patency.flow.sampled import LoadMargin, LumenMargin, Spread, sampled_margin
from patency.flow.solved_load import SolvedLoad, solve_load, wet_stages
from patency.flow.solver import CompiledFlow, SegmentTable, segment_table, solve, solve_compiled
from patency.flow.uncertainty import Source

__all__ = [
    "AGAINST_THE_MODEL",
    "AGAINST_THE_SAME_LOAD",
    "NO_BASELINE",
    "STANDARD_GRAVITY_M_S2",
    "SUMP",
    "Advice",
    "Alarm",
    "Annulus",
    "Baseline",
    "BenchFit",
    "BenchModel",
    "BlindSpots",
    "Bore",
    "ChangeTable",
    "ComparedReading",
    "CompiledFlow",
    "CompiledNetwork",
    "Criterion",
    "Detectability",
    "Diagnosis",
    "DiagnosisScore",
    "Difference",
    "Drift",
    "Explanation",
    "EyeCheck",
    "Factors",
    "Fault",
    "FaultCase",
    "FaultEffects",
    "FaultKind",
    "FaultList",
    "FaultNetwork",
    "FaultStage",
    "FlowResult",
    "Geometry",
    "JetFlow",
    "Kernel",
    "LeastValue",
    "LeastValues",
    "Lesson",
    "Link",
    "LoadEnvelope",
    "LoadFlow",
    "LoadMargin",
    "LoadNetwork",
    "Look",
    "LumenFlow",
    "LumenKey",
    "LumenMargin",
    "LumenPath",
    "LumenStanding",
    "ManifoldPlace",
    "ManyFlows",
    "Measure",
    "Measured",
    "Network",
    "NetworkChange",
    "Observation",
    "Option",
    "Orifice",
    "Outlet",
    "Outlets",
    "PointCompared",
    "PortFaults",
    "ProbeMeasure",
    "Proposal",
    "Pump",
    "PumpLaw",
    "PumpPoints",
    "Rates",
    "Requalification",
    "Scenarios",
    "Segment",
    "SegmentFlow",
    "SegmentTable",
    "SensorAdvice",
    "SensorPoint",
    "SolveState",
    "SolvedLoad",
    "Source",
    "Spread",
    "StageFlow",
    "StageLumen",
    "StageReading",
    "Standing",
    "Visibility",
    "WatchedPort",
    "Water",
    "WaterState",
    "When",
    "advise_sensors",
    "alarm_of_site",
    "annulus_constant",
    "blind_spots_of_load",
    "calibration",
    "check_network",
    "compile_network",
    "described_parameters",
    "diagnose",
    "effects_of_faults",
    "entry_of",
    "envelope_of_load",
    "equivalent_reynolds",
    "false_alarms_of_each",
    "faults_of_load",
    "fed",
    "fit_readings",
    "fitted_sensors",
    "flow_of_load",
    "friction_factor",
    "least_values",
    "network_of_load",
    "network_schema",
    "nominal_flow_of_load",
    "parse_network",
    "predicted_pressures",
    "pressure_along_manifold",
    "propose_readings",
    "propose_requalification",
    "rates_schema",
    "read_rates",
    "reading_ids",
    "result_to_dict",
    "sampled_margin",
    "scenario_network",
    "segment_table",
    "solve",
    "solve_compiled",
    "solve_load",
    "solve_many",
    "solve_one_by_one",
    "sudden_contraction",
    "sudden_expansion",
    "updated_by",
    "wall_shear_pa",
    "watch_ports",
    "water_state",
    "wet_stages",
    "write_network",
]
