"""How water runs: networks of pump, links and outlets, their solution, and the law of friction."""

from patency.flow.batch import ManyFlows, PortFaults, Scenarios, solve_many
from patency.flow.blind_spots.advisor import Advice, Option, SensorAdvice, advise_sensors
from patency.flow.blind_spots.eye_checks import EyeCheck, Look, When
from patency.flow.blind_spots.seeing import BlindSpots, blind_spots_of_load
from patency.flow.commissioning.cycles import CyclesModel, KeptCycles
from patency.flow.commissioning.design import Criterion
from patency.flow.commissioning.drift import Drift
from patency.flow.commissioning.entry import entry_of, entry_of_cycles, reading_ids
from patency.flow.commissioning.fitting import BenchFit, ComparedReading, fit_readings
from patency.flow.commissioning.model import BenchModel
from patency.flow.commissioning.parameters import described_parameters, updated_by
from patency.flow.commissioning.proposal import Proposal, propose_readings
from patency.flow.commissioning.telling_apart import Confounded
from patency.flow.commissioning.watching import WatchedPort, watch_ports
from patency.flow.commissioning.watching_cycles import WatchedFault, WatchedSensor, watch_cycles
from patency.flow.compiled_network import CompiledNetwork, compile_network
from patency.flow.detection.alarm import Alarm, alarm_of_site
from patency.flow.detection.baseline import Baseline
from patency.flow.detection.doubts import AGAINST_THE_MODEL, AGAINST_THE_SAME_LOAD
from patency.flow.detection.rotation import false_alarms_of_each
from patency.flow.diagnosis.diagnosing import NEVER_SHOWN, Detectability, Diagnosis, Explanation, Visibility, diagnose
from patency.flow.diagnosis.observed import Observation, StageReading
from patency.flow.diagnosis.rates import Rates
from patency.flow.diagnosis.rates_file import rates_schema, read_rates
from patency.flow.diagnosis.simulating import DiagnosisScore, calibration
from patency.flow.envelope.load_envelope import LoadEnvelope, LumenStanding, envelope_of_load
from patency.flow.envelope.requalification import ProbeMeasure, Requalification, propose_requalification
from patency.flow.envelope.standing import Difference, PointCompared, Standing
from patency.flow.faults.effects import FaultEffects, effects_of_faults
from patency.flow.faults.fault import Fault, FaultKind
from patency.flow.faults.found_off import StillReached, still_reached
from patency.flow.faults.listing import faults_of_load
from patency.flow.feeding import fed
from patency.flow.friction import annulus_constant, friction_factor, wall_shear_pa
from patency.flow.from_load import LoadNetwork, network_of_load
from patency.flow.load_flow import LoadFlow, LumenFlow
from patency.flow.lumen_paths import LumenKey
from patency.flow.lumens import flow_of_load, nominal_flow_of_load
from patency.flow.manifold import ManifoldPlace, pressure_along_manifold
from patency.flow.needed_values import LeastValue, LeastValues, least_values
from patency.flow.network import (
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
from patency.flow.result import FlowResult
from patency.flow.sampled import LoadMargin, LumenMargin, sampled_margin
from patency.flow.solved_load import SolvedLoad, solve_load
from patency.flow.solver import solve

__all__ = [
    "AGAINST_THE_MODEL",
    "AGAINST_THE_SAME_LOAD",
    "NEVER_SHOWN",
    "SUMP",
    "Advice",
    "Alarm",
    "Annulus",
    "Baseline",
    "BenchFit",
    "BenchModel",
    "BlindSpots",
    "Bore",
    "ComparedReading",
    "CompiledNetwork",
    "Confounded",
    "Criterion",
    "CyclesModel",
    "Detectability",
    "Diagnosis",
    "DiagnosisScore",
    "Difference",
    "Drift",
    "Explanation",
    "EyeCheck",
    "Fault",
    "FaultEffects",
    "FaultKind",
    "FlowResult",
    "KeptCycles",
    "LeastValue",
    "LeastValues",
    "Link",
    "LoadEnvelope",
    "LoadFlow",
    "LoadMargin",
    "LoadNetwork",
    "Look",
    "LumenFlow",
    "LumenKey",
    "LumenMargin",
    "LumenStanding",
    "ManifoldPlace",
    "ManyFlows",
    "Network",
    "Observation",
    "Option",
    "Orifice",
    "Outlet",
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
    "SensorAdvice",
    "SolvedLoad",
    "StageReading",
    "Standing",
    "StillReached",
    "Visibility",
    "WatchedFault",
    "WatchedPort",
    "WatchedSensor",
    "Water",
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
    "entry_of_cycles",
    "envelope_of_load",
    "false_alarms_of_each",
    "faults_of_load",
    "fed",
    "fit_readings",
    "flow_of_load",
    "friction_factor",
    "least_values",
    "network_of_load",
    "network_schema",
    "nominal_flow_of_load",
    "parse_network",
    "pressure_along_manifold",
    "propose_readings",
    "propose_requalification",
    "rates_schema",
    "read_rates",
    "reading_ids",
    "result_to_dict",
    "sampled_margin",
    "solve",
    "solve_load",
    "solve_many",
    "still_reached",
    "updated_by",
    "wall_shear_pa",
    "watch_cycles",
    "watch_ports",
    "write_network",
]
