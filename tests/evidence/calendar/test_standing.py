"""Where tests stand, what they block, and how statements age with them: what is not known blocks."""

from __future__ import annotations

import json
import re
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from patency.errors import InputError, InputErrors
from patency.evidence import (
    NO_LONGER,
    Calendar,
    CriterionState,
    Standing,
    TestState,
    aged,
    blocked,
    calendar_document,
    criteria_of_tests,
    read_calendar,
    read_statement,
    relied,
    relied_on,
    standings,
)

PAGE = (Path(__file__).parents[3] / "docs" / "calendar.md").read_text(encoding="utf-8")
TEXT = re.findall(r"^```yaml\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL)[0]
AT = datetime.fromisoformat("2026-03-31T05:00+02:00")
LEAK = "air leakage of Yew"


def calendar(was: str = "", now: str = "") -> Calendar:
    assert was in TEXT
    return read_calendar(TEXT.replace(was, now, 1))


def state(found: Calendar, at: datetime = AT, test: str = LEAK) -> TestState:
    return next(one.state for one in standings(found, at) if one.test == test)


def test_everything_in_date_blocks_nothing() -> None:
    found = standings(calendar(), AT)
    assert {one.state for one in found} == {TestState.IN_DATE}
    block = blocked(found)
    assert (block.machines, block.programmes, block.uses) == ({}, {}, {})
    assert json.loads(json.dumps(calendar_document(found, AT)))["tests"][0]["until"] == "2026-04-03T06:30:00+01:00"


def test_a_result_counts_to_the_end_of_its_interval_and_not_a_moment_longer() -> None:
    until = datetime.fromisoformat("2026-04-03T06:30+01:00")
    assert state(calendar(), until) is TestState.IN_DATE
    assert state(calendar(), until + timedelta(seconds=1)) is TestState.OVERDUE
    assert state(calendar(), datetime.fromisoformat("2026-03-27T06:29+01:00")) is TestState.NEVER_DONE


@pytest.mark.parametrize(
    ("was", "now", "becomes"),
    [
        ("result: passed, value: 0.8", "result: failed, value: 0.8", TestState.FAILED),
        ("value: 0.8", "value: 1.31", TestState.FAILED),
        ("{highest: 1.3, unit: mbar/min}", "{lowest: 0.9, unit: mbar/min}", TestState.FAILED),
        ("value: 0.8, unit: mbar/min", "value: 0.8, unit: kPa/min", TestState.NOT_JUDGED),
        (", value: 0.8, unit: mbar/min", "", TestState.NOT_JUDGED),
        ("unit: mbar/min}\n    blocks", "unit: mbar/min, valid_until: 2026-03-30}\n    blocks", TestState.NOT_JUDGED),
        ("interval: 7 d", "interval: 72 h", TestState.OVERDUE),
        ("2026-03-27T06:30", "2026-04-27T06:30", TestState.NEVER_DONE),
    ],
)
def test_what_is_worse_or_missing_blocks_the_machine(was: str, now: str, becomes: TestState) -> None:
    worse = calendar(was, now)
    assert state(worse) is becomes
    assert list(blocked(standings(worse, AT)).machines) == ["Yew"]


def test_the_last_result_decides_and_of_two_at_once_the_failed_one() -> None:
    again = "done:\n  - {test: air leakage of Yew, at: %s, by: X, result: %s, value: 0.8, unit: mbar/min}\n"
    assert state(calendar("done:\n", again % ("2026-03-30T06:30+01:00", "failed"))) is TestState.FAILED
    assert state(calendar("done:\n", again % ("2026-03-20T06:30+01:00", "failed"))) is TestState.IN_DATE
    assert state(calendar("done:\n", again % ("2026-03-27T06:30+01:00", "failed"))) is TestState.FAILED


def test_a_cycle_relies_on_what_would_have_blocked_it() -> None:
    names = [one.test for one in relied_on(calendar(), AT, "Yew", "wrapped")]
    assert names == [LEAK]
    assert len(relied_on(calendar(), AT, None, "wrapped")) == 2
    by_programme = calendar("{machines: [Yew]}", "{programmes: [wrapped]}")
    assert [one.test for one in relied_on(by_programme, AT, "Elm", "wrapped")] == [LEAK]
    assert [one.test for one in relied_on(by_programme, AT, "Elm", None)] == [LEAK]


def met(then: list[Standing], now: list[Standing]) -> list[CriterionState]:
    return [one.state for one in criteria_of_tests(then, now, "Yew", AT, "")]


def test_a_test_in_date_is_met_and_one_that_failed_since_is_not() -> None:
    then = relied_on(calendar(), AT, "Yew", None)
    failed = relied_on(calendar("result: passed, value: 0.8", "result: failed, value: 0.8"), AT, "Yew", None)
    assert met(then, then) == [CriterionState.MET]
    assert met(then, failed) == [CriterionState.NOT_MET]
    assert met(failed, failed) == [CriterionState.NOT_MET]
    not_judged = relied_on(calendar(", value: 0.8, unit: mbar/min", ""), AT, "Yew", None)
    assert met(not_judged, not_judged) == [CriterionState.NOT_EVALUATED]
    assert met(not_judged, failed) == [CriterionState.NOT_MET]
    # First done after the cycle, it counted for nothing then; that it failed counts all the same.
    assert CriterionState.NOT_MET in met([], failed)


@pytest.mark.parametrize(("machine", "ran"), [(None, AT), ("Yew", None), ("Ash", AT)])
def test_what_is_not_known_of_a_cycle_leaves_its_tests_open(machine: str | None, ran: datetime | None) -> None:
    then = relied_on(calendar(), AT, machine, None) if machine != "Ash" else []
    states = [one.state for one in criteria_of_tests(then, then, machine, ran, "none known")]
    assert states[-1] is CriterionState.NOT_EVALUATED


def statement(found: list[Standing]) -> str:
    relies = [relied(one).model_dump(mode="json") for one in found]
    whole = {"format": "patency-evidence/1", "verdict": "met", "machine": "Yew", "relies_on": relies, "more": 1}
    return json.dumps(whole)


def test_a_statement_turns_to_no_longer_in_date_when_its_test_has_run_out() -> None:
    text = statement(relied_on(calendar(), AT, "Yew", None))
    looked = [aged(read_statement(text, "f"), calendar(), AT + timedelta(days=days))[0] for days in (0, 3, 4)]
    assert [state for _, state, _ in looked] == ["in date", "in date", NO_LONGER]
    renewed = calendar("2026-03-27T06:30", "2026-04-03T06:30")
    _, state_, why = aged(read_statement(text, "f"), renewed, AT + timedelta(days=4))[0]
    assert (state_, why.endswith("done again since")) == (NO_LONGER, True)


@pytest.mark.parametrize(
    ("was", "now"),
    [
        ("result: passed, value: 0.8", "result: failed, value: 0.8"),
        ("{highest: 1.3, unit: mbar/min}", "{highest: 0.5, unit: mbar/min}"),
    ],
)
def test_a_statement_falls_with_a_test_that_fails_since(was: str, now: str) -> None:
    text = statement(relied_on(calendar(), AT, "Yew", None))
    assert aged(read_statement(text, "f"), calendar(was, now), AT)[0][1] == NO_LONGER


def test_a_statement_that_never_held_or_lost_its_test_does_not_hold() -> None:
    never = statement(relied_on(calendar("2026-03-27T06:30", "2026-04-27T06:30"), AT, "Yew", None))
    assert aged(read_statement(never, "f"), calendar(), AT)[0][1] == NO_LONGER
    text = statement(relied_on(calendar(), AT, "Yew", None)).replace(LEAK, "another test")
    assert aged(read_statement(text, "f"), calendar(), AT) == [
        ("another test", NO_LONGER, "the calendar has no such test any more")
    ]


@pytest.mark.parametrize("text", ["[", '{"format": "patency-evidence/1", "verdict": "met"}', '{"format": "x"}'])
def test_a_file_that_does_not_say_what_it_relied_on_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="a load file written with --calendar"):
        read_statement(text, "file.json")


@pytest.mark.parametrize(
    ("was", "now", "says"),
    [
        (
            "interval: 7 d",
            "interval: 3 months",
            "c.yaml:6: tests.air leakage of Yew.interval: '3 months' is no interval",
        ),
        ("interval: 7 d", "interval: 0 d", "c.yaml:6: "),
        ("{highest: 1.3, unit: mbar/min}", "{unit: mbar/min}", "c.yaml:7: "),
        ("{highest: 1.3, unit: mbar/min}", "{lowest: 2, highest: 1.3, unit: mbar/min}", "c.yaml:7: "),
        ("{machines: [Yew]}", "{}", "c.yaml:8: "),
        ("at: 2026-03-27T06:30+01:00", "at: 2026-03-27T06:30", "c.yaml:24: "),
        ("value: 0.8, unit: mbar/min", "value: 0.8", "c.yaml:24: "),
        ("test: air leakage of Yew", "test: air leak", "c.yaml:1: done: no test 'air leak'"),
        ("of: machine", "of: toaster", "c.yaml:4: "),
    ],
)
def test_a_bad_calendar_is_refused_with_its_line(was: str, now: str, says: str) -> None:
    assert was in TEXT
    with pytest.raises(InputErrors) as refused:
        read_calendar(TEXT.replace(was, now, 1), "c.yaml")
    assert refused.value.faults[0].line.startswith(says)
