"""Simulated steam cycles: the good ones are met, no fault is passed."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from patency.demo import STEAM_FAULTS, SimulatedSteam, simulate_leakage
from patency.evidence import CriterionState, SteamEvidence, judge_leakage, read_description, read_record
from tests.demo.fleet import larkmere, scored_steam

DAY = date(2026, 3, 31)
LIMITS = larkmere().limits.steam


def drawn(seed: int, fault: str | None = None) -> tuple[SimulatedSteam, SteamEvidence]:
    scored = scored_steam(seed, fault)
    return scored.cycle, scored.evidence


@pytest.mark.parametrize("seed", range(6))
def test_good_cycles_are_met_with_the_holding_time_and_the_plateau_that_truly_were(seed: int) -> None:
    cycle, evidence = drawn(seed)
    assert evidence.verdict is CriterionState.MET
    holding = next(c for c in evidence.criteria if c.name == "holding time")
    assert holding.value is not None
    assert holding.value <= cycle.held_s + 1.0
    assert holding.value == pytest.approx(cycle.held_s, abs=12.0)
    assert scored_steam(seed, None).farthest_s <= 5.0


def test_a_plateau_parted_into_equal_halves_by_a_dip_is_found_whole() -> None:
    """Both halves last 87 s by the readings, so which of them is longer hangs on one sample; the plateau does not."""
    assert scored_steam(51, "power dip", seed=8).farthest_s <= 5.0


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
    "leak": "lowest reading against saturation",
    "power dip": "holding time",
    "clock set back": "longest gap in the record",
    "clock set forward": "longest gap in the record",
    "swapped channels": "saturation temperature of the pressure",
    "logger stopped": "longest gap in the record",
}


@pytest.mark.parametrize("fault", STEAM_FAULTS)
def test_no_fault_is_passed_and_each_shows_in_its_criterion(fault: str) -> None:
    for seed in range(3):
        _, evidence = drawn(seed, fault)
        assert evidence.verdict is not CriterionState.MET
        assert SIGNS[fault] in {c.name for c in evidence.criteria if c.state is not CriterionState.MET}


@pytest.mark.parametrize(("leak_pa_s", "state"), [(0.2, CriterionState.MET), (3.0, CriterionState.NOT_MET)])
def test_a_leak_shows_in_the_leakage_test(leak_pa_s: float, state: CriterionState) -> None:
    test = simulate_leakage(np.random.default_rng(1), leak_pa_s)
    record = read_record(test.record, read_description(test.description))
    assert judge_leakage(record, LIMITS, on=DAY).verdict is state
