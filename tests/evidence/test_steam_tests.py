"""The sterilizer's own tests: air leakage from its record, the others as entered, with their age."""

from __future__ import annotations

import numpy as np
import pytest

from patency.errors import InputErrors
from patency.evidence import CriterionState, read_entered
from tests.evidence.steam_cycles import CHECKS, LIMITS, SteamCycle, asked, good_steam, leaking, steam_limits

MET, MISSED, OPEN = CriterionState.MET, CriterionState.NOT_MET, CriterionState.NOT_EVALUATED
RISE = "rise of the pressure in the leakage test"
START = "pressure at the start of the leakage test"


# 1.3 kPa in 10 min allowed, the sensor uncertain by 0.5 kPa: 0.08 kPa/min.
@pytest.mark.parametrize(("kpa_per_min", "state"), [(0.0, MET), (0.079, MET), (0.081, MISSED), (0.5, MISSED)])
def test_the_rise_behind_shut_valves_is_judged_after_the_time_left_aside(
    kpa_per_min: float, state: CriterionState
) -> None:
    evidence = leaking(kpa_per_min).leakage()
    assert asked(evidence, RISE).state is state
    assert asked(evidence, RISE).value == pytest.approx(10 * kpa_per_min * 1e3, abs=1)
    assert evidence.verdict is state


def test_a_test_that_begins_too_high_is_not_met() -> None:
    assert asked(leaking(0.0, 6.6).leakage(), START).state is MISSED
    assert asked(leaking(0.0, 6.4).leakage(), START).state is MET


def test_a_leak_hidden_in_the_settling_time_is_not_seen_and_one_that_falls_is_not_believed() -> None:
    falling = asked(leaking(-0.2, 7.0).leakage(), RISE)
    assert falling.state is OPEN


@pytest.mark.parametrize(
    ("cycle", "why"),
    [
        (leaking(0.0).without(800, 1100), "the record ends less than 900 s behind the start"),
        (leaking(0.0).without(500, 600), "the record has a gap, or its clock was set back"),
        (leaking(0.0).described("place: chamber", "place: jacket"), "the record has no pressure of the chamber"),
        (leaking(0.0).bent("P", lambda values: values.fill(np.nan)), "the sensor shows no value"),
    ],
)
def test_a_leakage_that_cannot_be_told_is_not_evaluated(cycle: SteamCycle, why: str) -> None:
    found = asked(cycle.leakage(), RISE)
    assert (found.state, found.why) == (OPEN, why)


@pytest.mark.parametrize("name", ["leak_start", "leak_settling", "leak_time", "leak_rise"])
def test_a_leakage_test_without_a_limit_is_not_evaluated(name: str) -> None:
    found = asked(leaking(0.0).leakage(steam_limits(**{name: None})), RISE)
    assert (found.state, found.why) == (OPEN, f"{name}: the site states no limit")


def test_an_unknown_uncertainty_leaves_the_leakage_open() -> None:
    evidence = leaking(0.0).described("chamber, uncertainty: 0.5", "chamber").leakage()
    assert evidence.verdict is OPEN


PENETRATION, HOLLOW, LEAKAGE, DRY = (
    "steam-penetration test",
    "hollow-load test",
    "air-leakage test",
    "load seen to be dry",
)


@pytest.mark.parametrize(
    ("old", "new", "name", "state", "says"),
    [
        ("passed, at: 2026-06-01T06:30", "failed, at: 2026-06-01T06:30", PENETRATION, MISSED, "failed"),
        ("2026-06-01T06:30", "2026-05-31T11:14", PENETRATION, MISSED, "24.02 h before the cycle began"),
        ("2026-06-01T06:30", "2026-05-31T11:15", PENETRATION, MET, "24.00 h before the cycle began"),
        ("2026-06-01T06:30", "2026-06-01T11:15", PENETRATION, MET, "before the cycle began, counts for"),
        ("2026-06-01T06:30", "2026-06-01T11:16", PENETRATION, OPEN, "after the cycle began at 2026-06-01 11:15"),
        ("passed, at: 2026-06-01T06:30", "failed, at: 2026-06-01T11:16", PENETRATION, MISSED, "failed"),
        ("cycle_began: 2026-06-01T11:15\n", "", PENETRATION, OPEN, "nobody says when the cycle began"),
        ("cycle_began: 2026-06-01T11:15\n", "", DRY, OPEN, "nobody says when the cycle began"),
        ("2026-06-01T12:30", "2026-06-01T11:15", DRY, OPEN, "before the cycle"),
        ("2026-06-01T06:40", "2026-06-02T06:40", HOLLOW, OPEN, "after the day"),
        ("machine: Yew", "machine: Elm", LEAKAGE, OPEN, "it was entered for 'Elm'"),
        ("passed, at: 2026-06-01T12:30", "failed, at: 2026-06-01T12:30", DRY, MISSED, "failed"),
        (CHECKS[CHECKS.index("air_leakage") : CHECKS.index("cycle_began")], "", LEAKAGE, OPEN, "nobody has entered it"),
    ],
)
def test_what_was_entered_decides_by_result_machine_and_age(
    old: str, new: str, name: str, state: CriterionState, says: str
) -> None:
    found = asked(good_steam().entered(old, new).judged(), name)
    assert found.state is state
    assert says in found.why


def test_how_long_a_test_counts_is_the_sites_word() -> None:
    found = asked(good_steam().judged(steam_limits(penetration_interval=None)), "steam-penetration test")
    assert (found.state, found.why.endswith("how long it counts: the site states no limit")) == (OPEN, True)
    assert asked(good_steam().judged(LIMITS), "steam-penetration test").state is MET


def test_entered_checks_are_refused_with_their_place() -> None:
    with pytest.raises(InputErrors, match=r"c\.yaml:3: steam_penetration\.result"):
        read_entered(CHECKS.replace("passed", "fine", 1), "c.yaml")
