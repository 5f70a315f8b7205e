"""What the record of a steam sterilizer proves: air removal, plateau, saturation, drying; F0 told only."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.catalogue import SteamLimits
from patency.evidence import CriterionState, f0_s, steam_document, steam_schema
from patency.evidence.timing import lay_out_time
from patency.quantities import Limit, saturation_pressure_pa
from tests.evidence.steam_cycles import LIMITS, PLATEAU, SOURCE, TODAY, SteamCycle, asked, good_steam, steam_limits

if TYPE_CHECKING:
    from collections.abc import Callable

MET, MISSED, OPEN = CriterionState.MET, CriterionState.NOT_MET, CriterionState.NOT_EVALUATED
HOLD = slice(PLATEAU[0], PLATEAU[2] + 1)


def shifted(column: str, by: float, part: slice = HOLD) -> SteamCycle:
    def shift(values: np.ndarray) -> None:
        values[part] += by

    return good_steam().bent(column, shift)


def at_pressure_of(celsius: float) -> SteamCycle:
    def press(values: np.ndarray) -> None:
        values[HOLD] = saturation_pressure_pa(celsius) / 1e3

    return good_steam().bent("P", press)


def test_the_cycle_as_it_should_be_is_met_by_numbers_that_follow_by_hand() -> None:
    evidence = good_steam().judged()
    assert {c.state for c in evidence.criteria} == {MET}
    assert evidence.verdict is MET
    holding = asked(evidence, "holding time")
    assert (holding.value, holding.limit) == (PLATEAU[2] - PLATEAU[1], 180.0)
    assert asked(evidence, "equilibration time").value == PLATEAU[1] - PLATEAU[0]
    assert asked(evidence, "air-removal pulses").value == 3.0
    assert asked(evidence, "spread between points").value == pytest.approx(0.2)
    assert asked(evidence, "lowest reading against saturation").value == pytest.approx(-0.2, abs=1e-6)
    assert asked(evidence, "saturation temperature of the pressure").value == pytest.approx(135.0, abs=1e-6)
    assert [stage.name for stage in evidence.stages] == ["air removal", "holding time", "exhaust and drying"]
    # Below 10 kPa less 0.5 kPa from shortly before the end of the fall to 5 kPa on, until the record ends.
    assert asked(evidence, "drying time in vacuum").value == pytest.approx(999 - 688, abs=1)


@pytest.mark.parametrize(
    ("cycle", "missed"),
    [
        (shifted("T1", -1.0), {"holding time"}),
        (shifted("T1", 0.0).without(500, 510), {"longest gap in the record"}),
        (shifted("TD", 2.0), {"highest temperature", "spread between points", "highest reading against saturation"}),
        (at_pressure_of(136.9), {"lowest reading against saturation"}),
        (at_pressure_of(133.0), {"highest reading against saturation", "saturation temperature of the pressure"}),
        (shifted("P", 8.0, slice(40, 60)), {"air-removal pulses"}),
        (shifted("P", 8.0, slice(700, 1000)), {"drying time in vacuum"}),
        (good_steam().described("programme: wrapped", "programme: other"), {"programme"}),
    ],
)
def test_each_fault_misses_what_it_should(cycle: SteamCycle, missed: set[str]) -> None:
    evidence = cycle.judged()
    assert {c.name for c in evidence.criteria if c.state is MISSED} == missed
    assert evidence.verdict is MISSED


def test_air_and_superheat_are_told_by_their_signs() -> None:
    air = asked(at_pressure_of(136.9).judged(), "lowest reading against saturation")
    assert "a sign of air or another gas in the steam, or of a sensor at fault" in air.why
    dry = asked(at_pressure_of(133.0).judged(), "highest reading against saturation")
    assert "a sign of superheated steam, or of a sensor at fault" in dry.why


def test_a_load_that_follows_late_needs_too_long_to_equilibrate() -> None:
    def late(values: np.ndarray) -> None:
        values[PLATEAU[1] : PLATEAU[1] + 7] = 133.0

    evidence = good_steam().bent("T1", late).judged()
    slow = asked(evidence, "equilibration time")
    assert (slow.value, slow.state) == (15.0, MISSED)  # it may be one second more between two samples
    assert asked(evidence, "holding time").state is MET


def test_noise_at_the_border_of_the_vacuum_counts_no_pulse_twice() -> None:
    def trembling(values: np.ndarray) -> None:
        values[45:55] = [9, 11, 9, 11, 9, 11, 9, 11, 9, 11]

    assert asked(good_steam().bent("P", trembling).judged(), "air-removal pulses").value == 3.0


@pytest.mark.parametrize("name", [name for name in SteamLimits.model_fields if not name.startswith(("leak_", "f0"))])
def test_without_a_limit_or_with_one_out_of_date_the_good_cycle_is_not_met(name: str) -> None:
    stated: Limit = getattr(LIMITS, name)
    lapsed = replace(stated, valid_until=TODAY - timedelta(days=1))
    for changed in (None, lapsed):
        assert good_steam().judged(steam_limits(**{name: changed})).verdict is OPEN


@pytest.mark.parametrize(
    ("change", "opened"),
    [
        (lambda c: c.described("place: drain", "place: door"), {"equilibration time", "spread between points"}),
        (lambda c: c.described("place: chamber", "place: jacket"), {"air-removal pulses", "drying time in vacuum"}),
        (
            lambda c: c.described("place: load, uncertainty: 0.2", "place: load"),
            {"holding time", "spread between points"},
        ),
        (
            lambda c: c.described("chamber, uncertainty: 0.5", "chamber"),
            {"air-removal pulses", "drying time in vacuum"},
        ),
        (lambda c: c.described("programme: wrapped\n", ""), {"programme"}),
        (lambda c: replace(c, checks=None), {"steam-penetration test", "hollow-load test", "load seen to be dry"}),
    ],
)
def test_what_is_left_out_leaves_its_criteria_open(
    change: Callable[[SteamCycle], SteamCycle], opened: set[str]
) -> None:
    evidence = change(good_steam()).judged()
    assert opened <= {c.name for c in evidence.criteria if c.state is OPEN}
    assert evidence.verdict is OPEN


def test_a_gauge_sensor_needs_the_surroundings() -> None:
    def gauge(values: np.ndarray) -> None:
        values -= 98.0

    cycle = good_steam().bent("P", gauge).described("reference: absolute", "reference: gauge")
    assert asked(cycle.judged(), "air-removal pulses").why == (
        "the sensor measures against the surroundings and the pressure of the surroundings is not known"
    )
    stated = "surroundings: {pressure: 98, unit: kPa, uncertainty: 0.1, source: barometer}\n"
    assert replace(cycle, description=cycle.description + stated).judged().verdict is MET


def test_a_cycle_that_never_gets_hot_leaves_the_plateau_open_and_misses_the_holding_time() -> None:
    def cold(values: np.ndarray) -> None:
        np.minimum(values, 130.0, out=values)

    evidence = good_steam().bent("T1", cold).judged()
    assert asked(evidence, "holding time").state is MISSED
    assert asked(evidence, "spread between points").why == (
        "not every point reached the sterilization temperature at the same time"
    )
    assert evidence.f0_s["TD"] == 0.0
    # Where the plateau lies the reference point still tells; it proves nothing.
    assert [(one.name, one.start_s, one.end_s) for one in evidence.stages][1] == ("holding time", 400.0, 649.0)
    assert good_steam().bent("T1", cold).bent("TD", cold).judged().stages == ()


def test_a_record_without_thermometers_or_values_is_not_evaluated() -> None:
    bare = good_steam().described("place: drain", "place: door").described("place: load", "place: wall").judged()
    assert asked(bare, "holding time").state is OPEN

    def silent(values: np.ndarray) -> None:
        values[:] = np.nan

    evidence = good_steam().bent("P", silent).judged()
    assert asked(evidence, "lowest reading against saturation").state is OPEN
    assert evidence.verdict is not MET


def test_f0_is_told_from_the_raw_record_with_no_more_than_saturation_credited() -> None:
    evidence = good_steam().judged()
    hold_s = PLATEAU[2] - PLATEAU[1]
    assert evidence.f0_s["T1"] == pytest.approx(hold_s * 10 ** ((134.8 - 121.1) / 10), rel=0.15)
    assert evidence.f0_s["T1"] < evidence.f0_s["TD"]
    assert evidence.f0_guarded_s["T1"] == pytest.approx(evidence.f0_s["T1"] * 10**-0.02, rel=1e-6)
    cooler_steam = at_pressure_of(134.0).judged()
    assert cooler_steam.f0_s["TD"] == pytest.approx(evidence.f0_s["TD"] * 10**-0.1, rel=0.05)
    assert good_steam().judged(steam_limits(f0_reference=None)).f0_s == {}
    unknown = good_steam().described("place: load, uncertainty: 0.2", "place: load").judged()
    assert set(unknown.f0_guarded_s) == {"TD"}


def test_f0_credits_nothing_past_the_last_sample_that_counts() -> None:
    axis = lay_out_time(np.arange(0.0, 60.0, 10.0))
    assert axis is not None
    counted = np.array([True, True, True, False, False, False])
    assert f0_s(axis, np.full(6, 121.0), counted, 121.0) == pytest.approx(20.0)


def test_f0_of_a_hole_is_that_of_its_lower_end() -> None:
    axis = lay_out_time(np.arange(0.0, 50.0, 10.0))
    assert axis is not None
    hole = np.array([131.0, np.nan, 121.0, 121.0, 121.0])
    assert f0_s(axis, hole, np.ones(5, dtype=bool), 121.0) == pytest.approx(40.0)
    assert f0_s(axis, hole, np.array([True, False, True, True, True]), 121.0) == pytest.approx(20.0)


def test_superheat_counts_no_more_where_the_pressure_is_missing() -> None:
    superheated = shifted("T1", 10.0, slice(420, 600))
    hole = superheated.bent("P", lambda values: values[450:550].fill(np.nan))
    assert 0.0 < hole.judged().f0_s["T1"] <= superheated.judged().f0_s["T1"] * (1.0 + 1e-9)


def test_a_worse_sensor_never_makes_a_steam_verdict_less_strict() -> None:
    order = [MISSED, OPEN, MET]
    for cycle in (good_steam(), shifted("T1", -0.7), shifted("TD", 1.5), at_pressure_of(136.0)):
        ranks = []
        for temperature, kpa in ((0.0, 0.0), (0.2, 0.5), (0.9, 2.0), (5.0, 20.0)):
            worse = cycle.described("drain, uncertainty: 0.2", f"drain, uncertainty: {temperature}")
            worse = worse.described("load, uncertainty: 0.2", f"load, uncertainty: {temperature}")
            worse = worse.described("chamber, uncertainty: 0.5", f"chamber, uncertainty: {kpa}")
            ranks.append(order.index(worse.judged().verdict))
        assert ranks == sorted(ranks, reverse=True)


def test_the_document_holds_plain_values_and_its_schema_says_so() -> None:
    document = steam_document(good_steam().judged())
    assert document["format"] == "patency-steam-evidence/1"
    assert set(steam_schema()["required"]) <= set(document)
    assert SOURCE in {criterion["source"] for criterion in document["criteria"]}
