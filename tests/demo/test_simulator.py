"""The simulated machine behaves as water, heat and sensors do, and does what its faults say."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from patency.catalogue import MachineKind, Programme, read_department
from patency.demo import (
    MachineModel,
    MissedDose,
    PowerDip,
    Recorder,
    SensorError,
    SimulatedSensor,
    dip_leaving,
    larkmere_texts,
    run_cycle,
    sensors_of,
    simulate,
)
from patency.evidence import a0, read_description, read_record

DEPARTMENT = read_department(larkmere_texts())
GENTLE: Programme = DEPARTMENT.programmes["gentle_lumen"]
KIND: MachineKind = DEPARTMENT.machine_kinds["four-arm lumen washer"]
PRESSURES = {stage.name: 20000.0 + 500 * place for place, stage in enumerate(GENTLE.stages) if stage.kind.wet}
DISINFECTION = "thermal disinfection"
EXACT = (
    SimulatedSensor("T1", "temperature", "degC", "chamber"),
    SimulatedSensor("T2", "temperature", "degC", "load"),
    SimulatedSensor("P1", "pressure", "mbar", "circulation"),
    SimulatedSensor("arm", "rotation", "rpm", "top arm"),
    SimulatedSensor("cond", "conductivity", "uS/cm", "chamber"),
    SimulatedSensor("dose", "dosed volume", "mL", "detergent"),
)


def rng() -> np.random.Generator:
    return np.random.default_rng(7)


def test_each_stage_reaches_its_temperature_and_holds_it_for_its_time() -> None:
    course = run_cycle(GENTLE, PRESSURES)
    words = np.array(course.stages)
    for stage in GENTLE.stages:
        part = course.chamber_c[words == stage.kind.value]
        if stage.kind.value in {"clean", "disinfect"}:
            assert (part >= stage.temperature_c).sum() >= stage.hold_s
            assert part.max() <= stage.temperature_c + 2.0


def test_water_heats_by_no_more_than_the_heater_gives() -> None:
    machine = MachineModel()
    course = run_cycle(GENTLE, PRESSURES, machine=machine)
    rise = np.diff(course.chamber_c)[np.array(course.stages)[1:] == "disinfect"]
    fill = machine.fill_s
    capacity = machine.water_kg * 4180 + machine.metal_j_k
    assert rise[fill + 1 :].max() <= machine.heater_w / capacity + 1e-9


def test_the_load_lags_behind_the_water() -> None:
    course = run_cycle(GENTLE, PRESSURES)
    heating = np.flatnonzero(np.array(course.stages) == "disinfect")[100:300]
    assert (course.load_c[heating] < course.chamber_c[heating]).all()


def test_the_pressure_of_each_stage_is_the_one_given() -> None:
    course = run_cycle(GENTLE, PRESSURES)
    words = np.array(course.stages)
    for word, name in (("flush", "cold rinse"), ("clean", "cleaning"), ("disinfect", DISINFECTION)):
        assert course.pressure_pa[words == word].max() == pytest.approx(PRESSURES[name], rel=1e-6)
    assert course.pressure_pa[words == "dry"].max() < 1.0


def test_the_dose_arrives_in_its_stage_and_makes_the_water_conduct() -> None:
    course = run_cycle(GENTLE, PRESSURES)
    words = np.array(course.stages)
    (agent,) = course.dosed_m3
    assert course.dosed_m3[agent][words == "flush"].max() == 0.0
    assert course.dosed_m3[agent][words == "clean"][-1] == pytest.approx(120e-6)
    assert course.conductivity_us_cm[words == "clean"].max() > 2000
    assert course.conductivity_us_cm[words == "disinfect"][-1] < 10


def test_the_air_of_the_drying_is_hot_for_the_time_prescribed() -> None:
    course = run_cycle(GENTLE, PRESSURES)
    air = course.chamber_c[np.array(course.stages) == "dry"]
    drying = GENTLE.stages[-1]
    assert (np.abs(air - drying.temperature_c) <= 5.0).sum() >= drying.hold_s
    assert air.max() <= drying.temperature_c + MachineModel().control_margin_k


def test_a_sensor_shows_its_offset_and_the_column_of_water_below_its_tap() -> None:
    offsets = DEPARTMENT.machines["Alder"].sensor_offsets
    shown = next(sensor for sensor in sensors_of(KIND, rng(), offsets) if sensor.column == "P1")
    own = next(sensor for sensor in sensors_of(KIND, rng()) if sensor.column == "P1")
    assert shown.offset - own.offset == offsets["P1"].value == 1.5
    assert own.height_m == pytest.approx(0.06)
    exact = (SimulatedSensor("P1", "pressure", "mbar", "circulation", height_m=0.06),)
    text, description = simulate(GENTLE, PRESSURES, exact, [], rng(), recorder=Recorder(jitter_s=0.0))
    read = read_record(text, read_description(description)).traces["P1"].values
    assert read.max() == pytest.approx(max(PRESSURES.values()) - 0.06 * 980 * 9.80665, abs=10)
    assert read.min() == 0.0


def test_a_missed_dose_never_arrives() -> None:
    (dose,) = GENTLE.stages[1].doses or []
    agent = dose.agent
    course = run_cycle(GENTLE, PRESSURES, [MissedDose("cleaning", agent)])
    assert course.dosed_m3[agent].max() == 0.0


def test_a_power_dip_stops_pump_and_heater_and_costs_heat() -> None:
    whole = run_cycle(GENTLE, PRESSURES)
    dipped = run_cycle(GENTLE, PRESSURES, [PowerDip(DISINFECTION, after_s=60.0)])
    disinfection = np.array(dipped.stages) == "disinfect"
    wet = [sum(word != "dry" for word in course.stages) for course in (whole, dipped)]
    assert wet[0] == wet[1]  # the timer runs on
    assert dipped.chamber_c[wet[0] - 30] < whole.chamber_c[wet[0] - 30] - 5
    at_rest = ((dipped.pressure_pa < 2000) & disinfection)[: wet[0]] & (whole.pressure_pa > 20000)[: wet[0]]
    assert 8 <= at_rest.sum() <= 15
    assert np.array_equal(dipped.chamber_c[:1000], whole.chamber_c[:1000])


def test_a_dip_can_be_placed_to_leave_a_certain_a0() -> None:
    dip = dip_leaving(2140.0, PowerDip(DISINFECTION, after_s=0.0), GENTLE, PRESSURES)
    course = run_cycle(GENTLE, PRESSURES, [dip])
    wet = np.array(course.stages) != "dry"
    assert a0(course.time_s[wet], course.load_c[wet]).a0_s == pytest.approx(2140.0, abs=20)
    assert 0 < dip.after_s < 300


@pytest.mark.parametrize("wanted", [10.0, 50000.0])
def test_a_dip_that_cannot_leave_the_wanted_a0_is_refused(wanted: float) -> None:
    with pytest.raises(ValueError, match=r"leaves an A0 of \d+ to \d+ s, not"):
        dip_leaving(wanted, PowerDip(DISINFECTION, after_s=0.0), GENTLE, PRESSURES)


def test_exact_sensors_record_the_truth() -> None:
    text, description = simulate(GENTLE, PRESSURES, EXACT, [], rng(), recorder=Recorder(jitter_s=0.0))
    record = read_record(text, read_description(description))
    course = run_cycle(GENTLE, PRESSURES)
    assert record.findings == ()
    assert record.time_s == pytest.approx(course.time_s)
    assert record.stages == course.stages
    for column, truth in (("T1", course.chamber_c), ("T2", course.load_c), ("arm", course.rotation_rpm)):
        assert record.traces[column].values == pytest.approx(truth, abs=0.06)
    assert record.traces["P1"].values == pytest.approx(course.pressure_pa, abs=6)
    assert record.traces["cond"].values == pytest.approx(course.conductivity_us_cm, abs=0.06)
    assert record.traces["dose"].values[-1] == pytest.approx(120e-6)


def test_sensors_err_within_their_uncertainty() -> None:
    sensors = sensors_of(KIND, rng())
    assert [sensor.column for sensor in sensors] == list(KIND.sensors)
    text, description = simulate(GENTLE, PRESSURES, sensors, [], rng())
    record = read_record(text, read_description(description))
    error = record.traces["T2"].values - run_cycle(GENTLE, PRESSURES).load_c
    assert abs(error.mean()) < 0.3
    assert 0.02 < error.std() < 0.1


def test_a_sensor_without_stated_uncertainty_errs_not_at_all() -> None:
    unsure = {name: sensor.model_copy(update={"uncertainty": None}) for name, sensor in KIND.sensors.items()}
    sensors = sensors_of(KIND.model_copy(update={"sensors": unsure}), rng())
    assert {(sensor.offset, sensor.noise) for sensor in sensors} == {(0.0, 0.0)}
    _, description = simulate(GENTLE, PRESSURES, sensors, [], rng())
    assert "uncertainty" not in description


def test_an_error_of_a_sensor_changes_its_column_and_nothing_else() -> None:
    low = SensorError("P1", offset=1.0, factor=0.97)
    right, description = simulate(GENTLE, PRESSURES, EXACT, [], rng())
    wrong, _ = simulate(GENTLE, PRESSURES, EXACT, [low], rng())
    first, second = (read_record(text, read_description(description)).traces for text in (right, wrong))
    assert second["P1"].values == pytest.approx(first["P1"].values * 0.97 + 100, abs=12)
    assert np.array_equal(second["T1"].values, first["T1"].values)


def test_the_same_generator_gives_the_same_record() -> None:
    sensors = sensors_of(KIND, rng())
    first, second = (simulate(GENTLE, PRESSURES, sensors, [], rng()) for _ in range(2))
    assert first == second
    assert simulate(GENTLE, PRESSURES, sensors, [], np.random.default_rng(8)) != first


def test_the_recorder_names_machine_and_programme_and_may_leave_out_the_stages() -> None:
    recorder = Recorder(stage_column=None, machine="Alder", programme="gentle_lumen")
    text, description = simulate(GENTLE, PRESSURES, EXACT, [], rng(), recorder=recorder)
    told = read_description(description)
    assert (told.machine, told.programme) == ("Alder", "gentle_lumen")
    assert "step" not in text.splitlines()[0]
    assert read_record(text, told).stages is None


def test_a_meter_of_an_agent_nobody_doses_counts_nothing() -> None:
    meter = replace(EXACT[5], place="rinse aid")
    text, description = simulate(GENTLE, PRESSURES, [meter], [], rng())
    assert read_record(text, read_description(description)).traces["dose"].values.max() == 0.0
