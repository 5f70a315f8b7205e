"""Simulated steam cycles: the good ones are met, no fault is passed."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from patency.catalogue import read_department
from patency.demo import STEAM_FAULTS, SimulatedSteam, larkmere_texts, simulate_leakage, simulate_steam
from patency.evidence import (
    CriterionState,
    SteamEvidence,
    judge_leakage,
    judge_steam,
    read_description,
    read_entered,
    read_record,
)

DEPARTMENT = read_department(larkmere_texts())
PROGRAMME = DEPARTMENT.steam_programmes["wrapped_134"]
LIMITS = DEPARTMENT.limits.steam
DAY = date(2026, 3, 31)
ENTERED = read_entered("""\
format: patency-steam-checks/1
machine: Yew
steam_penetration: {result: passed, at: 2026-03-31T06:30, by: M. Hollis}
hollow_load: {result: passed, at: 2026-03-31T06:40, by: M. Hollis}
air_leakage: {result: passed, at: 2026-03-27T06:30, by: M. Hollis}
load_dryness: {result: passed, at: 2026-03-31T12:30, by: M. Hollis}
""")


def judged(cycle: SimulatedSteam) -> SteamEvidence:
    record = read_record(cycle.record, read_description(cycle.description))
    return judge_steam(record, PROGRAMME, LIMITS, on=DAY, programme_key="wrapped_134", entered=ENTERED)


@pytest.mark.parametrize("seed", range(6))
def test_good_cycles_are_met_with_the_holding_time_that_truly_was(seed: int) -> None:
    cycle = simulate_steam(PROGRAMME, np.random.default_rng(seed))
    evidence = judged(cycle)
    assert evidence.verdict is CriterionState.MET
    holding = next(c for c in evidence.criteria if c.name == "holding time")
    assert holding.value is not None
    assert holding.value <= cycle.held_s + 1.0
    assert holding.value == pytest.approx(cycle.held_s, abs=12.0)


# What only this fault should miss; what else it misses follows from it.
SIGNS = {
    "short hold": "holding time",
    "load sensor reads low": "holding time",
    "air in the steam": "lowest reading against saturation",
    "superheated steam": "highest reading against saturation",
    "pulses left out": "air-removal pulses",
    "load lags": "equilibration time",
    "overshoot": "highest temperature",
    "drying cut short": "drying time in vacuum",
    "clock set back": "longest gap in the record",
    "logger stopped": "longest gap in the record",
}


@pytest.mark.parametrize("fault", STEAM_FAULTS)
def test_no_fault_is_passed_and_each_shows_in_its_criterion(fault: str) -> None:
    for seed in range(3):
        evidence = judged(simulate_steam(PROGRAMME, np.random.default_rng(seed), fault))
        assert evidence.verdict is not CriterionState.MET
        assert SIGNS[fault] in {c.name for c in evidence.criteria if c.state is not CriterionState.MET}


@pytest.mark.parametrize(("leak_pa_s", "state"), [(0.2, CriterionState.MET), (3.0, CriterionState.NOT_MET)])
def test_a_leak_shows_in_the_leakage_test(leak_pa_s: float, state: CriterionState) -> None:
    test = simulate_leakage(np.random.default_rng(1), leak_pa_s)
    record = read_record(test.record, read_description(test.description))
    assert judge_leakage(record, LIMITS, on=DAY).verdict is state
