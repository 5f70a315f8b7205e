"""What faults do: the same as each one solved from scratch, and judged as *fed* judges."""

from __future__ import annotations

from datetime import date
from functools import cache

import numpy as np
import pytest

from patency.flow import FaultEffects, FaultKind, effects_of_faults, fed, flow_of_load
from patency.flow.faults.effects import FaultRun
from patency.flow.faults.fault import NetworkChange
from patency.flow.faults.fault_network import FaultNetwork
from patency.flow.faults.listing import faults_of_load
from patency.flow.faults.margins import MarginScale, limits_of_lumens
from patency.flow.faults.reading import FaultReader
from patency.flow.faults.sensing import Measured, fitted_sensors, thought_of
from patency.flow.solved_load import solve_load
from patency.quantities import Answer
from tests.demo.larkmere import hand_made_load, larkmere
from tests.flow.faults.from_scratch import solved_from_scratch
from tests.small_plan import LOAD, MORNING_LOAD
from tests.small_site import SMALL_SITE, changed, small_department

DAY = date(2026, 5, 12)
"""A day on which the limits of both departments hold."""
TRACE_M3_S = 1e-14
"""Below a thousandth of a microlitre a minute: no flow."""
CASES = {
    "small": (small_department(SMALL_SITE), MORNING_LOAD),
    "small with a pressure to reach": (
        small_department(
            changed(
                SMALL_SITE,
                "gender: female}\n            side_holes: []\n            dead_ends: []\n"
                "            strainer_upstream: false\n            need: {maximum_pressure: none}\n",
                "gender: female}\n            side_holes: []\n            dead_ends: []\n"
                "            strainer_upstream: false\n"
                "            need: {minimum_pressure: {value: 100 mbar, source: invented}, "
                "maximum_pressure: {value: 2 bar, source: invented}}\n",
            )
        ),
        LOAD,
    ),
    "Larkmere": (larkmere(), hand_made_load("L2")),
}


@pytest.mark.parametrize("name", CASES)
def test_every_fault_is_what_solving_it_from_scratch_gives(name: str) -> None:
    department, load = CASES[name]
    solved = solve_load(department, load)
    faults = faults_of_load(department, load, solved.network)
    machine, carrier = department.machine_kinds[load.machine_kind], department.carriers[load.carrier]
    points = (
        *fitted_sensors(department, load),
        *thought_of(machine, carrier, {Measured.PRESSURE: 1.0, Measured.FLOW: 1.0}),
    )
    keys = list(solved.network.lumens)
    scale = MarginScale(solved, limits_of_lumens(department, load, keys, DAY))
    effects = FaultRun(solved, faults, points, scale, set(keys), dict.fromkeys(keys, ())).effects()
    last = len(solved.stages) - 1  # the hottest, with the least viscous water; one stage is enough
    stage = list(solved.stages.values())[last]
    every = 1 if name != "Larkmere" else 3
    for row, case in list(enumerate((None, *faults.cases)))[::every]:
        change = NetworkChange() if case is None else case.change
        readings, compiled, flow = solved_from_scratch(solved, faults, stage, change)
        expected = readings.flow_m3_s.copy()
        expected[[keys.index(key) for key in change.dry]] = 0.0
        found = effects.planned_flow_m3_s[last] if case is None else effects.flow_m3_s[last, row - 1]
        np.testing.assert_allclose(found, expected, rtol=1e-9, atol=TRACE_M3_S)
        weight = compiled.water.density_kg_m3 * compiled.gravity_m_s2
        shown = [
            weight * (flow.head_m[compiled.node_names.index(point.node)] - compiled.pump.sump_level_m)
            if point.node
            else flow.flow_m3_s[compiled.chain_names.index(point.link)]
            for point in points
        ]
        seen = effects.planned_shown[last] if case is None else effects.shown[last, row - 1]
        np.testing.assert_allclose(seen, shown, rtol=1e-9, atol=TRACE_M3_S)


@pytest.mark.parametrize("name", CASES)
def test_every_number_of_a_lumen_is_what_solving_its_fault_from_scratch_gives(name: str) -> None:
    department, load = CASES[name]
    solved = solve_load(department, load)
    faults = faults_of_load(department, load, solved.network)
    changes = [NetworkChange(), *(case.change for case in faults.cases)]
    network = FaultNetwork(faults)
    solution = next(iter(solved.stages.values()))
    stage = network.stage(solution)
    flows = network.solve(stage, network.table(changes))
    keys = list(solved.network.lumens)
    found = FaultReader(network, solved.network, changes, set(keys)).read(stage, flows)
    for row in range(0, len(changes), 1 if name != "Larkmere" else 5):
        readings, _, _ = solved_from_scratch(solved, faults, solution, changes[row])
        wet = [place for place, key in enumerate(keys) if key not in changes[row].dry]
        for field in ("flow_m3_s", "velocity_m_s", "shear_pa", "pressure_pa"):
            ours, theirs = getattr(found, field)[row, wet], getattr(readings, field)[wet]
            np.testing.assert_allclose(ours, theirs, rtol=1e-9, atol=1e-9 if field != "flow_m3_s" else TRACE_M3_S)


@cache
def effects_in_larkmere(load_id: str = "L3") -> FaultEffects:
    return effects_of_faults(larkmere(), hand_made_load(load_id), DAY)


def row_of(effects: FaultEffects, kind: FaultKind, place: str) -> int:
    (row,) = [k for k, fault in enumerate(effects.faults) if (fault.kind, fault.place) == (kind, place)]
    return row


def test_a_forgotten_cap_starves_the_lumens_that_fed_finds_starved_in_the_load_without_it() -> None:
    # Independent way: the load planned without the taper's cap, its own intervals and answers.
    load = hand_made_load("L3")
    left = tuple(capped for capped in load.capped_ports if capped.port != "T1")
    opened = load.model_copy(update={"capped_ports": left, "open_ports": ("T1",)})
    replies = fed(larkmere(), opened, flow_of_load(larkmere(), opened), DAY)
    effects = effects_in_larkmere()
    short = effects.falls_short[row_of(effects, FaultKind.CAP_MISSING, "T1")]
    starved = {key[:2] for key, below in zip(effects.lumens, short, strict=True) if below}
    assert starved == {key for key, reply in replies.items() if reply.answer is Answer.NO}
    assert starved


def test_as_planned_a_lumen_falls_short_where_fed_says_no() -> None:
    department = small_department(
        changed(SMALL_SITE, "least_flow: {value: 50 mL/min", "least_flow: {value: 600 mL/min")
    )
    load_flow = flow_of_load(department, LOAD)
    effects = effects_of_faults(department, LOAD, DAY)
    replies = fed(department, LOAD, load_flow, DAY)
    said = [replies[set_name, piece].answer is Answer.NO for set_name, piece, _ in effects.lumens]
    assert (effects.planned_margin < 1.0).tolist() == said
    assert 0 < sum(said) < len(said)


NEED = "            need: {maximum_pressure: none}\n            segments:\n              - {shape: "
SLEEVE, FORCEPS = f"{NEED}bore, bore: 11.5 mm", f"{NEED}annulus"
NO_SOURCE = ", source: no source"
LAPSED = ", source: no source, valid_until: 2026-05-11"
OPEN = {
    "a highest pressure that may exist": (FORCEPS, FORCEPS.replace("maximum_pressure: none", "")),
    "a limit out of date": (f"50 mL/min{NO_SOURCE}", f"50 mL/min{LAPSED}"),
    "a limit out of date that is missed": (f"50 mL/min{NO_SOURCE}", f"600 mL/min{LAPSED}"),
    "a default out of date": ("2 %, source: common practice}\n    rod", f"2 %{LAPSED}}}\n    rod"),
    "a velocity over a nozzle, lower than that of the jet": (
        SLEEVE,
        SLEEVE.replace("none", "none, minimum_velocity: {value: 0.001 m/s, source: invented}"),
    ),
    "a velocity over a nozzle, higher than that of the jet": (
        SLEEVE,
        SLEEVE.replace("none", "none, minimum_velocity: {value: 900 m/s, source: invented}"),
    ),
    "nothing but a highest pressure": (
        f"  flow:\n    least_shear: {{value: 1 Pa{NO_SOURCE}}}\n    least_flow: {{value: 50 mL/min{NO_SOURCE}}}\n",
        "  flow:\n",
    ),
    "a limit that is missed beside a lumen's gap": (
        FORCEPS,
        FORCEPS.replace("maximum_pressure: none", "minimum_shear: {value: 900 Pa, source: invented}"),
    ),
}


@pytest.mark.parametrize("name", OPEN)
def test_as_planned_a_lumen_is_not_judged_where_fed_does_not_know(name: str) -> None:
    department = small_department(changed(SMALL_SITE, *OPEN[name]))
    replies = fed(department, LOAD, flow_of_load(department, LOAD), DAY)
    effects = effects_of_faults(department, LOAD, DAY)
    said = [replies[set_name, piece].answer for set_name, piece, _ in effects.lumens]
    open_keys = {key for keys in effects.not_judged.values() for key in keys}
    judged = [
        Answer.NO if margin < 1.0 else Answer.UNKNOWN if key in open_keys else Answer.YES
        for key, margin in zip(effects.lumens, effects.planned_margin, strict=True)
    ]
    assert judged == said
    assert open_keys
    for why, keys in effects.not_judged.items():
        of_unknown = [replies[key[:2]].why for key in keys if replies[key[:2]].answer is Answer.UNKNOWN]
        assert all(part in told for told in of_unknown for part in why.split("; "))
    assert sum(int(told.split()[0]) for told in effects.not_judged_told) == len(open_keys)


def test_a_limit_out_of_date_that_is_missed_as_planned_hides_no_lumen_that_falls_short_in_a_fault() -> None:
    department = small_department(changed(SMALL_SITE, *OPEN["a limit out of date that is missed"]))
    effects = effects_of_faults(department, LOAD, DAY)
    off = row_of(effects, FaultKind.HOSE_OFF_PORT, "H2")
    assert effects.falls_short[off, effects.lumens.index(effects.faults[off].lumen)]


def test_where_everything_is_stated_every_lumen_is_judged() -> None:
    assert effects_of_faults(small_department(), LOAD, DAY).not_judged == {}
    assert effects_in_larkmere().not_judged_told == ()


def test_the_margin_is_the_deciding_end_over_its_limit() -> None:
    department = small_department(SMALL_SITE)
    load_flow = flow_of_load(department, LOAD)
    effects = effects_of_faults(department, LOAD, DAY)
    for place, key in enumerate(effects.lumens):
        lumen = load_flow.lumens[key]
        ratios = [lumen.flow_m3_s.low / (50e-6 / 60.0)]
        if lumen.shear_pa is not None:
            ratios.append(lumen.shear_pa.low / 1.0)
        if lumen.jet is not None:
            ratios.append(lumen.jet.rise_m / lumen.jet.climb_m)
        assert effects.planned_margin[place] == pytest.approx(min(ratios), rel=1e-3)


def test_what_has_come_off_or_is_blocked_leaves_its_own_lumen_dry() -> None:
    effects = effects_in_larkmere()
    dry = {
        FaultKind.HOSE_OFF_PORT,
        FaultKind.HOSE_OFF_PIECE,
        FaultKind.PIECE_OFF_PORT,
        FaultKind.PIECE_OFF_NOZZLE,
        FaultKind.BLOCKED,
    }
    for row, fault in enumerate(effects.faults):
        if fault.lumen is not None:
            own = effects.lumens.index(fault.lumen)
            assert (effects.margin[row, own] == 0.0) == (fault.kind in dry)
            assert not effects.others_short[row, own]
            assert effects.falls_short[row, own] or fault.kind not in dry


def test_one_hose_off_moves_the_pressure_by_about_half_a_percent_and_takes_a_little_from_its_neighbours() -> None:
    effects = effects_in_larkmere()
    row = row_of(effects, FaultKind.HOSE_OFF_PORT, "H8")
    stage = effects.stages.index("cleaning")
    moved = effects.shown[stage, row, 0] / effects.planned_shown[stage, 0] - 1.0
    assert -0.012 < moved < -0.003
    others = [k for k, key in enumerate(effects.lumens) if key != effects.faults[row].lumen]
    assert 0.0 < effects.largest_loss[row, others].max() < 0.1


def test_a_slower_pump_harms_more_the_slower_it_is_and_an_arm_that_is_stuck_takes_no_water_away() -> None:
    effects = effects_in_larkmere()
    planned, at_90, at_80 = (
        effects.planned_shown[0, 0],
        effects.shown[0, row_of(effects, FaultKind.PUMP_AT_90, "machine"), 0],
        effects.shown[0, row_of(effects, FaultKind.PUMP_AT_80, "machine"), 0],
    )
    assert at_80 < at_90 < planned
    # The head goes with the square of the speed, but for the height of sump and arms.
    assert at_90 / planned == pytest.approx(0.81, abs=0.03)
    stuck = row_of(effects, FaultKind.ARM_STUCK, "top arm")
    np.testing.assert_allclose(effects.flow_m3_s[:, stuck], effects.planned_flow_m3_s, rtol=1e-9)


def test_a_fault_beyond_the_pump_s_run_out_leaves_every_lumen_dry_and_no_number() -> None:
    weak = changed(
        SMALL_SITE,
        "        - {flow: 200 L/min, head: 6.7 m}\n"
        "        - {flow: 400 L/min, head: 5.7 m}\n"
        "        - {flow: 600 L/min, head: 4.0 m}\n"
        "        - {flow: 800 L/min, head: 1.7 m}\n",
        "        - {flow: 100 L/min, head: 6.9 m}\n        - {flow: 147 L/min, head: 6.8 m}\n",
    )
    department = small_department(weak)
    effects = effects_of_faults(department, LOAD, DAY)
    row = row_of(effects, FaultKind.CAP_MISSING, "T1")
    assert effects.beyond_run_out[row]
    assert np.isnan(effects.shown[:, row]).any()
    assert (effects.margin[row] == 0.0).all()
    assert not effects.beyond_run_out.all()
