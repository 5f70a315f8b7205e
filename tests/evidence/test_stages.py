"""Stages found by the machine's words or by the circulation, and what makes them doubtful."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from patency.evidence import FindingKind, Origin, StagesFound, find_stages
from patency.evidence.stages import interruptions
from tests.evidence.cycles import PROGRAMME, STARTS, Cycle, good_cycle


def found_in(cycle: Cycle) -> StagesFound:
    return find_stages(cycle.record(), PROGRAMME)


def placed(found: StagesFound) -> list[tuple[str, int, int]]:
    return [(span.stage.name, span.first, span.last) for span in found.spans]


def relabelled(cycle: Cycle, first: int, last: int, word: str) -> Cycle:
    step = cycle.step.copy()
    step[first:last] = word
    return replace(cycle, step=step)


def with_pump(cycle: Cycle, first: int, last: int, pressure: float) -> Cycle:
    def set_pressure(_: object, values: np.ndarray) -> None:
        values[first:last] = pressure

    return cycle.with_column("P1", set_pressure)


def test_the_column_is_followed_and_equal_stages_are_parted_where_the_pump_rested() -> None:
    found = found_in(good_cycle())
    assert found.origin is Origin.COLUMN
    assert placed(found) == [
        ("cold rinse", 0, 99),
        ("cleaning", 100, 399),
        ("first rinse", 400, 504),
        ("second rinse", 505, 599),
        ("disinfection", 600, 1299),
        ("drying", 1300, 1599),
    ]
    assert (found.contradictions, found.doubts, found.moist.doubt) == ((), (), "")


def test_moist_heat_ends_with_the_disinfection() -> None:
    moist = found_in(good_cycle()).moist.counted
    assert moist[: STARTS["dry"]].all()
    assert not moist[STARTS["dry"] :].any()


def test_a_pump_that_runs_down_after_the_word_changed_parts_nothing() -> None:
    cycle = with_pump(good_cycle(), STARTS["rinse"], STARTS["rinse"] + 4, 200.0)
    cycle = with_pump(cycle, STARTS["rinse"] + 4, STARTS["rinse"] + 20, 0.0)
    assert placed(found_in(cycle))[2:4] == [("first rinse", 400, 504), ("second rinse", 505, 599)]


def test_without_a_column_the_signals_put_each_stage_where_the_words_do() -> None:
    found = found_in(good_cycle().without_column("step"))
    assert found.origin is Origin.SIGNALS
    begins = [first for _, first, _ in placed(found)]
    assert begins == pytest.approx([0, 100, 400, 500, 600, 1300], abs=2)
    assert [last + 1 for _, _, last in placed(found)] == [*begins[1:], 1600]
    assert (found.contradictions, found.doubts) == ((), ())
    assert not found.moist.counted[605]
    assert found.moist.counted[650]
    assert not found.moist.counted[1300]


def test_a_rinse_after_the_disinfection_is_no_moist_heat_that_counts() -> None:
    stages = [PROGRAMME.stages[place] for place in (0, 1, 2, 4, 3, 5)]
    programme = PROGRAMME.model_copy(update={"stages": stages})
    found = find_stages(good_cycle().without_column("step").record(), programme)
    assert [name for name, _, _ in placed(found)][3:5] == ["disinfection", "second rinse"]
    assert found.moist.counted[550]
    assert not found.moist.counted[1000]


def test_a_short_pause_inside_a_stage_does_not_part_it() -> None:
    cycle = with_pump(good_cycle().without_column("step"), 1000, 1005, 0.0)
    name, *ends = placed(found_in(cycle))[4]
    assert name == "disinfection"
    assert ends == pytest.approx([600, 1299], abs=2)


def test_a_long_pause_inside_a_stage_does_not_part_it_either_as_the_programme_has_no_such_stage() -> None:
    cycle = with_pump(good_cycle().without_column("step"), 900, 960, 0.0)
    found = found_in(cycle)
    assert placed(found)[4][1:] == pytest.approx((600, 1299), abs=2)
    assert found.doubts == ()


def test_words_that_the_signals_put_elsewhere_are_doubted() -> None:
    cycle = good_cycle()
    step = np.roll(cycle.step, 250)
    step[:250] = "flush"
    found = found_in(replace(cycle, step=step))
    assert found.origin is Origin.COLUMN
    assert "by the signals only 0% of 'cold rinse'" not in found.doubts
    assert "by the signals only 17% of 'cleaning' lies where the machine's words put it" in found.doubts


def test_a_thousand_bursts_of_a_loose_contact_end_in_doubt_and_in_time() -> None:
    def flicker(time: np.ndarray, values: np.ndarray) -> None:
        values[time % 2 == 0] = 0.0

    found = found_in(good_cycle().without_column("step").with_column("P1", flicker))
    assert found.origin is Origin.SIGNALS
    assert [span.stage.name for span in found.wet] == [s.name for s in PROGRAMME.stages if s.kind.wet]


def test_records_without_a_temperature_or_a_meter_are_parted_by_the_pauses_alone() -> None:
    cycle = good_cycle().without_column("step")
    for column in ("T1", "T2", "cond", "dose"):
        cycle = cycle.without_column(column)
    begins = [first for _, first, _ in placed(found_in(cycle))]
    assert begins == pytest.approx([0, 105, 405, 505, 605, 1305], abs=3)  # the middle of each pause


def test_too_few_stretches_of_circulation_find_nothing() -> None:
    cycle = with_pump(good_cycle().without_column("step"), 390, 420, 200.0)
    found = found_in(cycle)
    assert found.spans == ()
    assert found.doubts == ("4 stretches of circulation for 5 wet stages",)
    assert found.moist.doubt == found.doubts[0]


def test_a_hotter_stage_than_the_disinfection_is_doubted() -> None:
    def swap(time: np.ndarray, values: np.ndarray) -> None:
        values[(time > 150) & (time < 350)] = 95.0

    cycle = good_cycle().without_column("step").with_column("T1", swap).with_column("T2", swap)
    found = found_in(cycle)
    assert found.moist.doubt == "what should be 'cleaning' is hotter than what should be the disinfection"


def test_a_record_without_column_and_circulation_finds_nothing() -> None:
    found = found_in(good_cycle().without_column("step").without_column("P1").without_column("arm"))
    assert found.origin is Origin.NOTHING
    expected = (
        "nothing in the record shows which heat was moist: no stage column, no circulation pressure, no arm rotation"
    )
    assert (found.doubts, found.moist.doubt) == ((expected,), expected)


def test_samples_without_a_word_take_the_word_around_them() -> None:
    cycle = relabelled(relabelled(good_cycle(), 700, 720, ""), 395, 405, "")
    found = found_in(cycle)
    assert placed(found)[1] == ("cleaning", 100, 394)
    assert placed(found)[4] == ("disinfection", 600, 1299)
    assert found.moist.counted[710]
    assert not found.moist.counted[400]


def test_a_missing_stage_contradicts_the_programme_and_the_others_are_still_found() -> None:
    found = found_in(relabelled(good_cycle(), STARTS["dry"], STARTS["end"], "disinfect"))
    has, asks = "flush, clean, rinse, disinfect", "flush, clean, rinse, disinfect, dry"
    assert found.contradictions == (f"the record runs through {has}; the programme prescribes {asks}",)
    assert [name for name, _, _ in placed(found)][-1] == "disinfection"


def test_a_flickering_stage_column_is_told_in_a_few_words() -> None:
    cycle = good_cycle()
    flicker = np.where(np.arange(cycle.step.size) % 2 == 0, "clean", cycle.step)
    (told,) = found_in(replace(cycle, step=flicker)).contradictions
    assert " more; the programme prescribes" in told
    assert len(told) < 250


def test_a_stage_that_comes_twice_is_not_guessed() -> None:
    found = found_in(relabelled(good_cycle(), 700, 800, "clean"))
    assert [name for name, _, _ in placed(found)] == ["cold rinse", "first rinse", "second rinse", "drying"]
    assert len(found.contradictions) == 1


def test_a_record_without_any_word_contradicts_the_programme() -> None:
    found = found_in(relabelled(good_cycle(), 0, STARTS["end"], ""))
    assert found.contradictions[0].startswith("the record runs through no stage;")
    assert not found.moist.counted.any()


@pytest.mark.parametrize("columns", [(), ("P1", "arm")])
def test_equal_stages_that_nothing_parts_are_judged_over_all_of_both(columns: tuple[str, ...]) -> None:
    cycle = with_pump(good_cycle(), STARTS["rinse"], STARTS["disinfect"], 200.0)
    for column in columns:
        cycle = cycle.without_column(column)
    found = found_in(cycle)
    assert placed(found)[2:4] == [("first rinse", 400, 599), ("second rinse", 400, 599)]
    assert found.doubts == (
        "first rinse and second rinse cannot be told apart in the record; each is judged over all of both",
    )
    assert found.moist.doubt == ""


def test_disinfection_without_circulation_is_not_called_moist() -> None:
    found = found_in(with_pump(good_cycle(), 700, STARTS["dry"], 0.0))
    assert found.moist.doubt == "water circulates in only 13% of what should be the disinfection"


def test_drying_with_circulation_is_doubted() -> None:
    found = found_in(with_pump(good_cycle(), STARTS["dry"], STARTS["end"], 200.0))
    assert found.doubts == ("water circulates in 100% of what should be 'drying'",)


def test_an_interruption_is_reported_with_its_length_stage_and_line() -> None:
    record = with_pump(good_cycle(), 1000, 1015, 0.0).record()
    reported = interruptions(record, find_stages(record, PROGRAMME))
    assert [(found.kind, found.text) for found in reported] == [
        (FindingKind.INTERRUPTION, "stopped for 15 s in stage 'disinfection' (line 1002)")
    ]


def test_nothing_is_said_of_interruptions_where_nothing_shows_the_pump() -> None:
    record = good_cycle().without_column("P1").without_column("arm").record()
    assert interruptions(record, find_stages(record, PROGRAMME)) == []


def test_stages_are_found_when_no_thermometer_is_there_to_doubt_them() -> None:
    found = found_in(good_cycle().without_column("step").without_column("T1").without_column("T2"))
    assert len(found.spans) == 6
    assert found.moist.doubt == ""


def test_a_record_that_ends_with_the_last_water_has_no_drying() -> None:
    found = found_in(good_cycle().without_column("step").without(STARTS["dry"], STARTS["end"] - 1))
    assert [name for name, _, _ in placed(found)][-1] == "disinfection"
