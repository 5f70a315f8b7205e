"""The probability of an alarm, held against simulation, and what it is made of."""

from __future__ import annotations

import math
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.flow import SolvedLoad, faults_of_load, solve_load, solve_many
from patency.flow.batch import Scenarios
from patency.flow.detection.alarm import detection_probabilities
from patency.flow.detection.chance import threshold
from patency.flow.detection.doubts import AGAINST_THE_MODEL, AGAINST_THE_SAME_LOAD, reading_doubts
from patency.flow.faults.effects import shown_in_faults
from patency.flow.faults.fault import FaultKind, NetworkChange
from patency.flow.faults.fault_network import FaultNetwork
from patency.flow.faults.sensing import Measured, SensorPoint, fitted_sensors, shown_by, thought_of
from patency.flow.uncertainty import Side, Source, changes_within_doubts
from tests.small_plan import LOAD
from tests.small_site import SMALL_SITE, changed, small_department

if TYPE_CHECKING:
    from patency.catalogue import Department

RUNS = 10_000
SHARPER = changed(
    SMALL_SITE,
    "unit: mbar, uncertainty: 5, ",
    "unit: mbar, uncertainty: 2, ",
)
WITH_FLOW = changed(
    SHARPER,
    "      T1: {quantity: temperature, place: chamber,",
    "      Q1: {quantity: flow, place: dock, unit: L/min, uncertainty: 0.4}\n"
    "      T1: {quantity: temperature, place: chamber,",
)


@cache
def department() -> Department:
    """Return the small department with a flow sensor, its programme cut to one wet stage."""
    whole = small_department(WITH_FLOW)
    gentle = whole.programmes["gentle"]
    cleaning = next(stage for stage in gentle.stages if stage.name == "cleaning")
    return whole.model_copy(update={"programmes": {"gentle": gentle.model_copy(update={"stages": [cleaning]})}})


@cache
def solved() -> SolvedLoad:
    return solve_load(department(), LOAD)


def points() -> tuple[SensorPoint, ...]:
    return fitted_sensors(department(), LOAD)


def test_without_fault_the_alarm_goes_off_as_often_as_allowed_and_more_often_the_larger_the_fault() -> None:
    covariance = np.array([[4.0, 1.0], [1.0, 9.0]])
    moved = np.array([[0.0, 0.0], [1.0, 0.0], [4.0, 0.0], [40.0, -40.0], [np.nan, 0.0]])
    none, small, large, certain, unknown = detection_probabilities(moved, covariance, 0.03)
    assert none == pytest.approx(0.03, abs=1e-12)
    assert 0.03 < small < large < certain == pytest.approx(1.0)
    assert unknown == 0.0


def test_a_sensor_of_unknown_uncertainty_and_no_sensor_at_all_show_nothing() -> None:
    covariance = np.diag([4.0, np.inf])
    moved = np.array([[5.0, 1e9]])
    assert detection_probabilities(moved, covariance, 0.01, [1]).tolist() == [0.0]
    assert detection_probabilities(moved, covariance, 0.01, []).tolist() == [0.0]
    both, first = (detection_probabilities(moved, covariance, 0.01, sensors) for sensors in (None, [0]))
    assert both == pytest.approx(first)


def test_the_scale_of_units_does_not_matter() -> None:
    covariance = np.array([[4.0, 1.0], [1.0, 9.0]])
    moved = np.array([[3.0, -2.0]])
    scale = np.array([1e4, 1e-6])
    scaled = detection_probabilities(moved * scale, covariance * np.outer(scale, scale), 0.01)
    assert scaled == pytest.approx(detection_probabilities(moved, covariance, 0.01))


def test_in_ten_thousand_drawn_cycles_the_alarm_goes_off_as_often_as_computed() -> None:
    random = np.random.default_rng(20_260_302)
    covariance = np.array([[4.0, 1.5, 0.0], [1.5, 9.0, -1.0], [0.0, -1.0, 1.0]])
    moved = np.array([[0.0, 0.0, 0.0], [3.0, -1.0, 0.5], [-2.0, 6.0, 2.0], [4.0, 9.0, 0.0]])
    above = threshold(0.01, 3)
    inverse = np.linalg.inv(covariance)
    for probability, shift in zip(detection_probabilities(moved, covariance, 0.01), moved, strict=True):
        readings = shift + random.multivariate_normal(np.zeros(3), covariance, RUNS)
        alarms = (np.einsum("ij,jk,ik->i", readings, inverse, readings) > above).mean()
        assert abs(alarms - probability) < 4.0 * math.sqrt(probability * (1.0 - probability) / RUNS) + 1e-9


def simulated_readings(change: NetworkChange, random: np.random.Generator) -> np.ndarray:
    """Draw every doubt anew for each run, solve the network itself, read the sensors with their own errors."""
    load = solved()
    faults = faults_of_load(department(), LOAD, load.network)
    network = FaultNetwork(faults)
    ((_, solution),) = load.stages.items()
    stage = network.stage(solution)
    whole = stage.compiled.geometry
    every = np.arange(whole.length_m.size)
    rows = np.concatenate([every[stage.compiled.rows(name)] for name in solution.compiled.chain_names])
    geometry = {name: np.tile(getattr(whole, name), (RUNS, 1)) for name in whole._fields}
    factor = np.ones(RUNS)
    for moved in changes_within_doubts(load.network, solution):
        share = random.normal(0.0, 3.0**-0.5 if moved.side is Side.BOTH else 6.0**-0.5, RUNS)
        factor += share * (moved.pump_head_factor - 1.0)
        for name, values in geometry.items():
            step = getattr(moved.geometry, name) - getattr(solution.compiled.geometry, name)
            if step.any():
                values[:, rows] += share[:, None] * step
    for name, least in (("roughness_m", 1e-9), ("length_m", 1e-4)):  # however far a normal number lies out
        geometry[name] = np.where(getattr(whole, name) > 0.0, np.clip(geometry[name], least, None), 0.0)
    opened = network.table([change]).is_open
    machine = department().machine_kinds[LOAD.machine_kind]
    warmth = random.normal(0.0, (machine.sensors["T1"].uncertainty or 0.0) / 2.0, RUNS)
    scenarios = Scenarios(
        count=RUNS,
        is_open=np.broadcast_to(opened, (RUNS, opened.shape[1])),
        pump_head_factor=factor,
        temperature_c=solution.temperature_c + warmth,
        **geometry,
    )
    flows = solve_many(stage.compiled, scenarios, start=None)
    assert flows.solved.all()
    shown = shown_by(points(), stage.compiled, flows)
    own = np.array([point.deviation for point in points()]) * math.hypot(1.0, AGAINST_THE_MODEL.noise)
    fresh = random.normal(0.0, AGAINST_THE_MODEL.process, shown.shape) * shown
    return np.asarray(shown + fresh + random.normal(0.0, own, shown.shape))


@pytest.mark.parametrize("name", ["", "hose off at the port, H2", "lumen blocked, H1", "piece off its nozzle, N1"])
def test_in_ten_thousand_cycles_of_the_network_itself_the_alarm_goes_off_about_as_often_as_computed(name: str) -> None:
    # Doubts are taken to move readings in proportion; the network itself does not quite. That may cost 3 in 100.
    load = solved()
    faults = faults_of_load(department(), LOAD, load.network)
    changes = {"": NetworkChange(), **{case.fault.name: case.change for case in faults.cases}}
    planned, shown = shown_in_faults(load, faults, points())
    moved = (shown - planned[:, None, :]).mean(axis=0)
    covariance = reading_doubts(load, points(), 0.25).covariance(AGAINST_THE_MODEL)
    shift = moved[[case.fault.name for case in faults.cases].index(name)] if name else np.zeros(len(points()))
    (probability,) = detection_probabilities(shift[None, :], covariance, 0.05)
    off = simulated_readings(changes[name], np.random.default_rng(20_260_303)) - planned[0]
    alarms = (np.einsum("ij,jk,ik->i", off, np.linalg.inv(covariance), off) > threshold(0.05, len(points()))).mean()
    assert abs(alarms - probability) < 4.0 * math.sqrt(probability * (1.0 - probability) / RUNS) + 0.03


def test_doubts_of_the_pump_move_the_pressure_by_their_share_of_its_head() -> None:
    # The pump's head is 5 % in doubt, half width of a rectangle; the pressure's own share of the head is nearly 1.
    doubts = reading_doubts(solved(), points(), 0.25)
    pump = doubts.shifts[list(doubts.sources).index(Source.PUMP), 1]
    (stage,) = solved().stages.values()
    head = stage.flow.head_m[stage.compiled.node_names.index("machine")]
    pressure = stage.compiled.water.density_kg_m3 * 9.80665 * (head - stage.compiled.pump.sump_level_m)
    assert abs(pump) == pytest.approx(0.05 / math.sqrt(3.0) * pressure, rel=0.1)


def test_a_comparison_with_the_same_load_leaves_less_doubt_than_one_with_the_model() -> None:
    doubts = reading_doubts(solved(), points(), 0.25)
    model, same = (np.diag(doubts.covariance(one)) for one in (AGAINST_THE_MODEL, AGAINST_THE_SAME_LOAD))
    assert (same < 0.2 * model).all()
    assert (same > 0.0).all()


def test_a_warmer_water_moves_readings_and_its_doubt_is_kept_apart() -> None:
    one, two = (reading_doubts(solved(), points(), kelvin).temperature for kelvin in (0.5, 1.0))
    assert two == pytest.approx(2.0 * one, rel=0.02)


def test_every_place_without_a_sensor_is_thought_of() -> None:
    machine, carrier = department().machine_kinds["front_loader"], department().carriers["Wren"]
    names = [point.name for point in thought_of(machine, carrier, {Measured.PRESSURE: 1.0, Measured.FLOW: 1.0})]
    assert names == [
        "flow at circulation",
        "pressure at dock",
        "pressure at riser",
        "flow at riser",
        "pressure at hoses",
        "flow at hoses",
    ]
    assert [(point.name, point.deviation) for point in points()] == [("Q1", pytest.approx(0.2 / 60_000)), ("P1", 100.0)]


def test_kinds_of_faults_that_take_no_water_move_no_reading() -> None:
    load = solved()
    faults = faults_of_load(department(), LOAD, load.network)
    planned, shown = shown_in_faults(load, faults, points())
    # A sleeve narrower than its tube stays shut without its end cap.
    unmoved = {FaultKind.PIECE_OFF_NOZZLE, FaultKind.ARM_STUCK, FaultKind.END_CAP_MISSING}
    still = [fault.kind in unmoved for fault in faults.faults]
    moved = np.abs((shown - planned[:, None, :]).mean(axis=0)[:, 1])
    assert moved[still] == pytest.approx(np.zeros(sum(still)), abs=1e-6)
    assert (moved[~np.array(still)] > 0.01).all()
