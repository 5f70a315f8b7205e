"""What glances show, and that together they show every fault that some glance can show."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from patency.flow import (
    AGAINST_THE_MODEL,
    AGAINST_THE_SAME_LOAD,
    Alarm,
    Baseline,
    BlindSpots,
    EyeCheck,
    Fault,
    FaultKind,
    Look,
    When,
    advise_sensors,
    blind_spots_of_load,
    effects_of_faults,
    solve_load,
)
from patency.flow.blind_spots import advisor
from patency.flow.blind_spots.advisor import (
    ORIFICE_PRESSURE_SHARE,
    orifice_bores_m,
    orifice_doubt_m,
    with_orifices,
)
from patency.flow.blind_spots.eye_checks import eye_checks, seen_by_nobody
from patency.flow.blind_spots.seeing import NO_BASELINE
from patency.flow.carrier_paths import circuit_entry
from patency.flow.solved_load import solve_stages
from patency.flow.tolerances import OF_A_TOLERANCE
from tests.demo.larkmere import hand_made_load, larkmere
from tests.flow.faults.test_effects import DAY, effects_in_larkmere
from tests.small_plan import MORNING_LOAD
from tests.small_site import SMALL_SITE, changed, small_department

K = FaultKind


@cache
def morning(uncertainty: str = "5") -> BlindSpots:
    department = small_department(
        changed(SMALL_SITE, "unit: mbar, uncertainty: 5", f"unit: mbar, uncertainty: {uncertainty}")
    )
    effects = effects_of_faults(department, MORNING_LOAD, DAY)
    return blind_spots_of_load(
        department, MORNING_LOAD, solve_load(department, MORNING_LOAD), effects, Alarm(), assumed=AGAINST_THE_MODEL
    )


def shown_by_checks(spots: BlindSpots, load_carrier: str) -> set[tuple[int, When]]:
    """Return every fault with its time that the chosen glances show, worked out from the list of all glances."""
    department = small_department(SMALL_SITE) if load_carrier == "Wren" else larkmere()
    looked_for = [spots.faults[place] for place in spots.blind]
    offered = eye_checks(department.carriers[load_carrier], looked_for)
    return {(spots.blind[place], when) for check in spots.checks for place, when in offered[check]}


def test_every_blind_fault_is_shown_by_a_glance_or_named_as_seen_by_nobody() -> None:
    spots = morning()
    shown = {place for place, _ in shown_by_checks(spots, "Wren")}
    assert shown | set(spots.unseen) == set(spots.blind)
    assert not shown & set(spots.unseen)
    assert len(spots.checks) == spots.least_checks


def test_a_hose_is_looked_at_when_loading_and_when_unloading_and_a_nozzle_only_before() -> None:
    spots = morning()
    times: dict[FaultKind, set[When]] = {}
    for place, when in shown_by_checks(spots, "Wren"):
        times.setdefault(spots.faults[place].kind, set()).add(when)
    assert times[K.HOSE_OFF_PIECE] == times[K.CAP_MISSING] == {When.LOADING, When.UNLOADING}
    assert times[K.BLOCKED] == times[K.ARM_STUCK] == {When.LOADING}


def test_the_list_follows_the_walk_when_loading_first_and_ends_with_what_is_not_on_a_port() -> None:
    spots = morning()
    walk = list(small_department(SMALL_SITE).carriers["Wren"].ports)
    for when in When:
        checks = [check for check in spots.checks if check.when is when]
        on_ports = [check for check in checks if check.look not in {Look.CAPS, Look.ARMS, Look.SIEVE}]
        first = [min(walk.index(place) for place in check.places) for check in on_ports]
        assert first == sorted(first)
        assert checks[: len(on_ports)] == on_ports
    assert [check.when for check in spots.checks] == sorted(
        (check.when for check in spots.checks), key=list(When).index
    )


def test_one_look_at_all_caps_takes_the_place_of_looks_at_two_levels() -> None:
    faults = [Fault(K.CAP_MISSING, "N1", level="low"), Fault(K.CAP_MISSING, "H1", level="high")]
    offered = eye_checks(small_department(SMALL_SITE).carriers["Wren"], faults)
    assert {check.look for check, shown in offered.items() if len(shown) == 2} == {Look.CAPS}
    assert {check.look for check, shown in offered.items() if len(shown) == 1} == {Look.PORTS}


def test_a_nozzle_that_is_blocked_is_seen_at_the_nozzle_and_a_lumen_against_the_light() -> None:
    lumen = ("Morning", "mod5/1/tube", "bore")
    carrier = small_department(SMALL_SITE).carriers["Wren"]
    at_nozzle = eye_checks(carrier, [Fault(K.BLOCKED, "N1", lumen, "low", "at its nozzle")])
    through = eye_checks(carrier, [Fault(K.BLOCKED, "H1", lumen, "low")])
    assert list(at_nozzle) == [EyeCheck(Look.NOZZLES, When.LOADING, "low", places=("N1",))]
    assert list(through) == [EyeCheck(Look.LUMENS, When.LOADING, set="Morning", piece="mod5/1/tube", places=("H1",))]


def test_a_rod_on_the_wall_and_a_slow_pump_are_seen_by_nobody() -> None:
    faults = [Fault(K.ROD_LYING, "H1"), Fault(K.PUMP_AT_90, "machine"), Fault(K.CAP_MISSING, "H2")]
    assert seen_by_nobody(faults) == (0, 1)


def test_every_kind_of_fault_is_seen_by_some_glance_or_known_to_be_seen_by_none() -> None:
    places = seen_by_nobody([Fault(kind, "X") for kind in K])
    assert {list(K)[place] for place in places} == {K.ROD_LYING, K.PUMP_AT_90, K.PUMP_AT_80}


def test_from_the_circulation_pressure_alone_no_hose_off_and_no_blocked_lumen_is_seen() -> None:
    # A finding of the first studies of this project; the demo's sensor reads to 2 mbar.
    effects = effects_in_larkmere()
    load = hand_made_load("L3")
    spots = blind_spots_of_load(larkmere(), load, solve_load(larkmere(), load), effects, Alarm())
    hidden = {K.HOSE_OFF_PORT, K.HOSE_OFF_PIECE, K.BLOCKED, K.HALF_BLOCKED, K.PIECE_OFF_NOZZLE}
    for probability in spots.probability.values():
        of_hidden = [one for one, fault in zip(probability, spots.faults, strict=True) if fault.kind in hidden]
        assert max(of_hidden) < 0.95
    computed = spots.probability["against the computed value"]
    assert max(one for one, fault in zip(computed, spots.faults, strict=True) if fault.kind in hidden) < 0.05
    seen = {(fault.kind, fault.place) for fault, one in zip(spots.faults, computed, strict=True) if one > 0.99}
    assert {kind for kind, _ in seen} == {K.ARM_LOST, K.ARM_STUCK, K.SIEVE_CLOGGED, K.PUMP_AT_90, K.PUMP_AT_80}
    assert {place for kind, place in seen if kind is K.ARM_STUCK} == {"top arm"}
    caps = {f.place: one for f, one in zip(spots.faults, computed, strict=True) if f.kind is K.CAP_MISSING}
    assert max(caps, key=lambda place: caps[place]) == "T1"
    assert round(100 * caps["T1"]) == 98  # as the page on faults says


def test_an_arm_with_a_sensor_of_rotation_is_seen_to_stand_still_and_one_without_is_not() -> None:
    spots = morning()
    for one in spots.probability.values():
        stuck = {fault.place: one[k] for k, fault in enumerate(spots.faults) if fault.kind is K.ARM_STUCK}
        assert stuck["upper"] > 0.999
        assert stuck["lower"] == pytest.approx(0.01 / 2, abs=1e-9)  # half of the false alarms are the upper arm's


def test_a_sensor_that_states_no_uncertainty_sees_nothing_but_what_turns() -> None:
    kinds = {spots_kind.kind for spots_kind in (morning("null").faults[k] for k in morning("null").blind)}
    assert kinds >= {K.PUMP_AT_80, K.SIEVE_CLOGGED, K.CAP_MISSING}
    assert set(morning("null").unseen) >= {
        k for k, fault in enumerate(morning("null").faults) if fault.kind in {K.PUMP_AT_90, K.PUMP_AT_80}
    }


@pytest.mark.parametrize(
    ("said", "unsaid", "why"),
    [
        ("pump_tolerance:", None, "the site states no pump tolerance"),
        (
            "inlet: [{shape: bore, bore: 25 mm, length: 300 mm, loss: 1.1}]",
            "inlet: [{shape: bore, bore: 25 mm, length: 300 mm}]",
            "a loss in the inlet of circuit riser is not stated",
        ),
    ],
)
def test_what_is_not_stated_makes_no_sensor_sharper(said: str, unsaid: str | None, why: str) -> None:
    (line,) = [row for text in SMALL_SITE.values() for row in text.splitlines(keepends=True) if said in row]
    site = changed(SMALL_SITE, line, "" if unsaid is None else line.replace(said, unsaid))
    department = small_department(site)
    effects = effects_of_faults(department, MORNING_LOAD, DAY)
    spots = blind_spots_of_load(
        department, MORNING_LOAD, solve_load(department, MORNING_LOAD), effects, Alarm(), assumed=AGAINST_THE_MODEL
    )
    assert spots.not_known == why
    assert set(morning().blind) < set(spots.blind)
    turning = {K.ARM_STUCK}
    assert {fault.kind for k, fault in enumerate(spots.faults) if k not in spots.blind} <= turning


def test_what_repeated_cycles_show_shortens_the_list() -> None:
    effects = effects_in_larkmere()
    load = hand_made_load("L3")
    solved = solve_load(larkmere(), load)
    alarm = Alarm(least_probability=0.5)
    without, against_model, same_load = (
        blind_spots_of_load(larkmere(), load, solved, effects, alarm, assumed=one)
        for one in (None, AGAINST_THE_MODEL, AGAINST_THE_SAME_LOAD)
    )
    assert without.comparison == NO_BASELINE
    assert set(same_load.blind) < set(against_model.blind) < set(without.blind)
    kinds = {fault.kind for row, fault in enumerate(without.faults) if row not in without.blind}
    assert kinds == {K.ARM_STUCK, K.ARM_LOST}


def test_a_baseline_decides_what_is_blind_and_the_alarm_on_it_is_told_by_its_name() -> None:
    """Twenty cycles that scatter by 0.2 mbar show more than the computed value does, and few of them show nothing."""
    effects, load = effects_in_larkmere(), hand_made_load("L3")
    solved, rng = solve_load(larkmere(), load), np.random.default_rng(3)
    columns = tuple((stage, sensor.name) for sensor in effects.sensors for stage in effects.stages)
    planned = effects.planned_shown.T.ravel()
    scatter = 20.0 * rng.standard_normal((20, 1)) + 5.0 * rng.standard_normal((20, planned.size))
    kept = Baseline(load.machine, columns, planned + scatter, tuple(f"{row:064x}" for row in range(20)))
    few = Baseline(load.machine, columns, kept.readings[:1], kept.records[:1])
    by_many, by_few, by_none = (
        blind_spots_of_load(larkmere(), load, solved, effects, Alarm(least_probability=0.5), baseline)
        for baseline in (kept, few, None)
    )
    assert by_many.comparison == kept.name == "against a baseline of 20 earlier cycles of the same load in Alder"
    assert set(by_many.blind) < set(by_none.blind) == set(by_few.blind)
    assert "cap missing, T1" in {fault.name for row, fault in enumerate(by_many.faults) if row not in by_many.blind}


def test_advice_finds_by_trying_every_pair_at_least_what_taking_one_after_the_other_finds() -> None:
    load = hand_made_load("D1")
    solved = solve_load(larkmere(), load)
    advice = advise_sensors(larkmere(), load, solved, Alarm())
    for one in (*advice.as_built.values(), *advice.with_orifices.values()):
        assert one.as_fitted.seen <= one.best_one.seen <= one.greedy_two.seen <= one.best_two.seen
        assert one.best_one.sensors[0] in one.greedy_two.sensors
        assert (len(one.best_one.sensors), len(one.best_two.sensors)) == (1, 2)
    same = AGAINST_THE_SAME_LOAD.name
    # First studies: an orifice and a pressure sensor in every circuit act as a flow meter each.
    assert advice.with_orifices[same].all_pressures.seen > 1.2 * advice.as_built[same].all_pressures.seen
    assert 0.0 < advice.largest_flow_loss < 0.3


def test_what_is_in_doubt_about_an_orifice_makes_its_sensors_show_less(monkeypatch: pytest.MonkeyPatch) -> None:
    load = hand_made_load("D1")
    solved = solve_load(larkmere(), load)
    carrier = larkmere().carriers["Dunlin"]
    bores = orifice_bores_m(carrier, solved)
    network = with_orifices(solved.network, carrier, bores)
    for name, bore in bores.items():
        first = network.stretches[circuit_entry(carrier, name)[1]][0]
        assert first.diameter_doubt_m == orifice_doubt_m(bore, carrier.circuits[name].bore_m.nominal) > 5e-5
    doubted = advise_sensors(larkmere(), load, solved, Alarm())
    monkeypatch.setattr(advisor, "orifice_doubt_m", lambda *_: 0.0)
    exact = advise_sensors(larkmere(), load, solved, Alarm())
    assert doubted.as_built == exact.as_built
    for name, one in doubted.with_orifices.items():
        taken_for_exact = exact.with_orifices[name].all_pressures
        assert one.all_pressures.seen <= taken_for_exact.seen
        lost = taken_for_exact.sum_of_probabilities - one.all_pressures.sum_of_probabilities
        assert lost > 0.1, name


@pytest.mark.parametrize(
    ("bore_mm", "pipe_mm", "percent", "drilled_mm"),
    [  # ISO 5167-2:2003, 5.3.3.1, worked out by hand: 0.7 - β; 0.5; 1.667 β - 0.5; each with what is added to it
        (15.0, 150.0, 0.6, 0.1),
        (40.0, 100.0, 0.5, 0.15),
        (4.0, 10.0, 0.5 + 0.9 * 0.35 * (2.8 - 10.0 / 25.4), 0.05),
        (70.0, 100.0, 1.667 * 0.7 - 0.5 + 0.5, 0.15),
    ],
)
def test_an_orifice_is_doubted_as_the_standards_say(
    bore_mm: float, pipe_mm: float, percent: float, drilled_mm: float
) -> None:
    # k = 2, and the flow goes with the square of the bore: a quarter of it is the standard deviation of the bore.
    deviation_mm = math.hypot(drilled_mm / math.sqrt(3.0), percent / 100.0 / 4.0 * bore_mm)
    assert orifice_doubt_m(bore_mm / 1e3, pipe_mm / 1e3) * OF_A_TOLERANCE * 1e3 == pytest.approx(
        deviation_mm, rel=1e-12
    )


def test_an_orifice_takes_the_share_of_the_pressure_it_is_sized_for_at_the_flow_it_was_sized_with() -> None:
    load = hand_made_load("D1")
    solved = solve_load(larkmere(), load)
    carrier = larkmere().carriers["Dunlin"]
    bores = orifice_bores_m(carrier, solved)
    assert set(bores) <= set(carrier.circuits)
    assert all(0.0 < bore < carrier.circuits[name].bore_m.nominal for name, bore in bores.items())
    narrowed = solve_stages(larkmere(), load, with_orifices(solved.network, carrier, bores))
    for before, after in zip(solved.stages.values(), narrowed.stages.values(), strict=True):
        lost = 1.0 - after.flow.flow_m3_s[0] / before.flow.flow_m3_s[0]
        assert 0.0 < lost < ORIFICE_PRESSURE_SHARE
    assert np.isfinite(list(bores.values())).all()
