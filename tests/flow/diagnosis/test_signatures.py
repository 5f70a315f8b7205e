"""What each cause would show, on the demo's load: against solving each fault and each pair of faults anew."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
import yaml

from patency.errors import InputError
from patency.flow import AGAINST_THE_MODEL, FaultKind, Observation, Rates, StageReading, effects_of_faults
from patency.flow.diagnosis.causes import AS_PLANNED
from patency.flow.diagnosis.diagnosing import diagnosis_of
from patency.flow.diagnosis.signatures import CauseModel, change_in
from patency.flow.faults.sensing import shown_by
from patency.flow.uncertainty import Source
from tests.demo.larkmere import hand_made_load, larkmere
from tests.flow.diagnosis.larkmere_model import model, read, signatures
from tests.flow.one_port import PORT, SITE, bore, connected, one_load, one_port

LOAD = "L3"
STATED = connected(bore("2 mm"), inlet={"family": "thread", "gender": "female"})


def place(name: str, step: int = 0) -> int:
    return next(k for k, cause in enumerate(signatures().causes) if (cause.name, cause.step) == (name, step))


def test_single_faults_show_what_the_list_of_faults_says() -> None:
    load = hand_made_load(LOAD)
    effects = effects_of_faults(larkmere(), load, date(2026, 5, 12))
    in_degrees = {FaultKind.PUMP_AT_90, FaultKind.PUMP_AT_80, FaultKind.SIEVE_CLOGGED}
    found = signatures()
    assert found.columns == tuple(read())
    compared = 0
    for number, fault in enumerate(effects.faults):
        if fault.kind not in in_degrees:
            row = place(fault.name)
            shown = found.shown(np.array([row]), np.array([0]))[0]
            assert shown == pytest.approx(effects.shown[:, number, 0], rel=1e-9), fault.name
            compared += 1
    assert compared > 140


def test_the_steps_of_pump_and_sieve_reach_over_what_the_list_of_faults_means() -> None:
    load = hand_made_load(LOAD)
    effects = effects_of_faults(larkmere(), load, date(2026, 5, 12))
    names = {FaultKind.PUMP_AT_90: "pump worn or slow", FaultKind.SIEVE_CLOGGED: "machine's sieve clogged"}
    found = signatures()
    for kind, name in names.items():
        fault = next(k for k, each in enumerate(effects.faults) if each.kind is kind)
        meant = effects.shown[0, fault, 0]
        steps = [found.planned[0] * found.shares[k, 0] for k, cause in enumerate(found.causes) if cause.name == name]
        assert min(steps) < meant < max(steps)
        assert np.all(np.diff(steps) < 0.0)


def test_foam_shows_in_its_own_stage_alone_and_an_offset_in_all() -> None:
    found = signatures()
    foam = found.shares[place("foam or cavitation in cleaning", 3)]
    assert [stage for (stage, _), share in zip(found.columns, foam, strict=True) if share < 0.999] == ["cleaning"]
    low = found.offsets[place("sensor P1 reads low")]
    assert np.unique(low).size == 1
    assert low[0] < 0.0


def test_two_causes_together_show_nearly_the_product_of_what_each_shows() -> None:
    """Within 1.6 % of the pressure, half of the pairs within 0.5 %: the product of two large falls is not exact."""
    found, known = signatures(), model()
    names = ["cap missing, T1", "arm lost, top arm", "pump worn or slow", "machine's sieve clogged", "cap missing, N9"]
    rows = np.array([place(name, 6 if name[0] in "pm" else 0) for name in names])
    one, other = np.triu_indices(rows.size, 1)
    product = found.shown(rows[one], rows[other])[:, 0]
    stage = found.columns[0][0]
    causes = [known.causes[row] for row in rows]
    changes = [change_in(causes[a], stage) + change_in(causes[b], stage) for a, b in zip(one, other, strict=True)]
    flows = known.network.solve(known.stages[stage], known.network.table(changes))
    exact = shown_by(known.sensors, known.stages[stage].compiled, flows)[:, 0]
    off = np.abs(product - exact) / found.planned[0]
    assert off.max() < 0.016
    assert np.median(off) < 0.005


def test_the_covariance_is_what_moving_every_doubt_at_random_gives() -> None:
    """The water of 2000 cycles with all doubts moved at once; what the scores do not move is taken off."""
    found, known = signatures(), model()
    rng = np.random.default_rng(5)
    scores = rng.standard_normal((2000, known.doubts.count))
    nothing = known.network.table([known.causes[0].change] * 2000)
    shown = np.array([known.solved(stage, nothing, scores)[:, 0] for stage, _ in found.columns])
    assert known.causes[0].name == AS_PLANNED
    assert known.sensors[0].deviation is not None
    doubts = known.reading_doubts
    left = [source in {Source.REGIME, Source.ROD} for source in doubts.sources]
    slopes = np.vstack((doubts.shifts[left], doubts.temperature))
    fresh = (AGAINST_THE_MODEL.noise * known.sensors[0].deviation) ** 2 + (
        AGAINST_THE_MODEL.process * found.planned
    ) ** 2
    own = known.sensors[0].deviation ** 2 + np.diag(fresh) + slopes.T @ slopes
    drawn = np.cov(shown)
    assert np.sqrt(np.diag(found.covariance - own)) == pytest.approx(np.sqrt(np.diag(drawn)), rel=0.06)
    assert shown.mean(axis=1) == pytest.approx(found.planned, rel=2e-3)


def test_a_fault_that_stops_all_the_water_a_sensor_measures_is_weighed_as_any_other() -> None:
    meter = "sensors: {Q1: {quantity: flow, place: dock, unit: L/min, uncertainty: 0.02}}"
    department = one_port(STATED, site=SITE.replace("sensors: {}", meter))
    known = CauseModel(department, one_load(), Rates())
    nothing = tuple(StageReading(stage, "Q1", 0.0) for stage in known.stages)
    found = diagnosis_of(known, "L1", Observation(nothing, {}))
    assert found.explanations[0].causes == ("lumen blocked, P",)
    assert not [words for words in found.not_computed if "blocked" in words]


def test_the_rate_of_a_kind_of_fault_that_is_left_out_is_asked_for_and_not_taken_as_none() -> None:
    kept = dict(Rates().faults)
    del kept[FaultKind.BLOCKED]
    with pytest.raises(InputError) as refused:
        CauseModel(one_port(STATED), one_load(), Rates(faults=kept))
    assert refused.value.line == (
        "rates: none of 'lumen blocked' (expected: its probability in one cycle, at each place)"
    )
    known = CauseModel(one_port(STATED), one_load(), Rates(faults={**kept, FaultKind.BLOCKED: 0.0}))
    assert [cause.probability for cause in known.causes if cause.name == "lumen blocked, P"] == [0.0]


def with_idle_branch() -> CauseModel:
    """Return the one lumen beside a branch whose only port is capped, with a flow meter in each."""
    site = SITE.replace("bore: 200 mm}}\n", "bore: 200 mm}, idle: {fed_from: dock, inlet: [], bore: 200 mm}}\n")
    meters = "{Q1: {quantity: flow, place: riser, unit: L/min, uncertainty: 0.02}, Q2: {quantity: flow, place: idle, "
    site = site.replace("sensors: {}", f"sensors: {meters}unit: L/min, uncertainty: 0.02}}}}")
    port = yaml.safe_dump({**PORT, "kind": "nozzle", "circuit": "idle"}, default_flow_style=True, width=10**6).strip()
    department = one_port(STATED, site=site.replace("P: PORT", f"P: PORT\n      C: {port}"))
    return CauseModel(department, one_load(capped_ports=({"port": "C", "cap": "cap"},)), Rates())


def test_a_sensor_that_shows_nothing_as_planned_is_left_out_and_named() -> None:
    known = with_idle_branch()
    stages = tuple(known.stages)
    both = tuple(StageReading(stage, sensor, 0.0) for stage in stages for sensor in ("Q2", "Q1"))
    found = diagnosis_of(known, "L1", Observation(both, {}))
    alone = diagnosis_of(known, "L1", Observation(tuple(one for one in both if one.sensor == "Q1"), {}))
    assert found.readings == len(stages)
    assert found.explanations == alone.explanations
    assert found.explanations[0].causes == ("lumen blocked, P",)
    assert [words for words in found.not_computed if words not in alone.not_computed] == [
        f"sensor Q2 in {stage}: shows nothing as planned, so what it read is left out" for stage in stages
    ]
    with pytest.raises(InputError, match="every sensor that was read shows nothing as planned"):
        diagnosis_of(known, "L1", Observation(tuple(one for one in both if one.sensor == "Q2"), {}))
