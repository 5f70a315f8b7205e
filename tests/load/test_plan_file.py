"""Plans as text: written and read back equal, and every fault of a text told with its place."""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from patency.catalogue import Part, Placing, State
from patency.errors import InputErrors
from patency.load import (
    CappedPort,
    Connection,
    LeftOut,
    Load,
    PlacedPiece,
    Plan,
    plan_schema,
    read_plan,
    write_plan,
)
from tests.catalogue.schema_check import accepts
from tests.small_plan import PLAN_OF_TWO, SMALL_PLAN

TEXT = write_plan(SMALL_PLAN)


def lines_about(text: str) -> list[str]:
    """Return the lines a text is refused with; none where it is a plan."""
    try:
        read_plan(text, "plan.json")
    except InputErrors as refusal:
        return [fault.line for fault in refusal.faults]
    return []


def refused(text: str) -> list[str]:
    """Return the lines a text is refused with, which has to be refused."""
    lines = lines_about(text)
    assert lines
    return lines


def broken(was: str, now: str) -> list[str]:
    """Return the lines the small plan is refused with after a change."""
    assert was in TEXT
    return refused(TEXT.replace(was, now, 1))


words = st.text(min_size=1, max_size=12)
lengths = st.none() | st.floats(min_value=0, max_value=1)
MIDNIGHT = datetime.fromisoformat("2026-03-02T00:00")
moments = st.integers(min_value=0, max_value=24 * 60).map(lambda minutes: MIDNIGHT + timedelta(minutes=minutes))
connections = st.builds(
    Connection, lumen=words, port=words, chain=st.lists(words, max_size=3).map(tuple), nozzle_depth_m=lengths
)
pieces = st.builds(
    PlacedPiece,
    set=words,
    piece=words,
    placing=st.sampled_from(Placing),
    position=words,
    lumens=st.lists(connections, max_size=2).map(tuple),
    way_up=st.sampled_from(["distal up", "distal down", "lying", "coiled"]),
    states=st.dictionaries(st.sampled_from(Part), st.sampled_from(State), max_size=3),
    net=st.booleans(),
)
loads = st.builds(
    Load,
    id=words,
    carrier=words,
    machine_kind=words,
    machine=words,
    programme=words,
    sets=st.lists(words, max_size=2).map(tuple),
    starts=moments,
    ends=moments,
    pieces=st.lists(pieces, max_size=2).map(tuple),
    capped_ports=st.lists(st.builds(CappedPort, port=words, cap=words), max_size=2).map(tuple),
    open_ports=st.lists(words, max_size=2).map(tuple),
)
costs = st.dictionaries(words, st.floats(allow_nan=False, allow_infinity=False), max_size=2)
plans = st.builds(
    Plan,
    site=words,
    day=st.dates(min_value=date(2020, 1, 1), max_value=date(2100, 1, 1)),
    loads=st.lists(loads, max_size=2).map(tuple),
    left_out=st.lists(st.builds(LeftOut, set=words, why=words), max_size=2).map(tuple),
    conflicts=st.lists(words, max_size=2).map(tuple),
    loads_at_least=st.integers(min_value=0, max_value=99),
    proven_fewest=st.booleans(),
    objective=costs,
    bound=costs,
)


@given(plans)
def test_any_plan_is_read_back_as_it_was_written(plan: Plan) -> None:
    assert read_plan(write_plan(plan)) == plan


@pytest.mark.parametrize("plan", [SMALL_PLAN, PLAN_OF_TWO], ids=["one load", "two loads"])
def test_a_plan_is_written_as_its_schema_says(plan: Plan) -> None:
    schema = plan_schema()
    assert accepts(schema, json.loads(write_plan(plan)), schema)
    assert write_plan(plan).endswith("}\n")


@given(st.text(max_size=60) | st.text(alphabet='{}[]":,0123456789eE.-nultrfas\\ \n', max_size=60))
def test_any_text_is_a_plan_or_is_refused_with_lines(text: str) -> None:
    assert all(line.startswith("plan.json") for line in lines_about(text))


@pytest.mark.parametrize(
    ("was", "now", "line"),
    [
        ('"patency-plan/1"', '"patency-plan/2"', "plan.json: format: "),
        ('"day": "2026-03-02"', '"day": "2026-02-30"', "plan.json: day: "),
        ('"loads_at_least": 1', '"loads_at_least": 1.5', "plan.json: loads_at_least: "),
        ('"proven_fewest": true', '"proven_fewest": 1', "plan.json: proven_fewest: "),
        ('"nozzle_depth_m": 0.02', '"nozzle_depth_m": "20 mm"', "loads[0].pieces[0].lumens[0].nozzle_depth_m: "),
        ('"nozzle_depth_m": 0.02', '"nozzle_depth_m": NaN', "loads[0].pieces[0].lumens[0].nozzle_depth_m: "),
        ('"way_up": "distal up"', '"way_up": "upright"', "loads[0].pieces[0].way_up: "),
        ('"tap": "open"', '"tap": "ajar"', "loads[0].pieces[0].states.tap: "),
        ('"starts": "2026-03-02T12:23:00"', '"starts": "noon"', "plan.json: loads[0].starts: "),
        ('"cap": "taper_cap"', '"cap": null', "plan.json: loads[0].capped_ports[0].cap: "),
    ],
)
def test_a_value_that_cannot_be_used_is_told_with_its_path(was: str, now: str, line: str) -> None:
    found = broken(was, now)
    assert len(found) == 1, found
    assert line in found[0]
    assert "(expected: " in found[0]


def test_a_misspelt_key_is_told_with_the_one_it_may_mean() -> None:
    found = broken('"capped_ports"', '"caped_ports"')
    assert any("caped_ports" in line and "capped_ports" in line for line in found), found


def test_every_fault_is_told_at_once() -> None:
    text = TEXT.replace('"patency-plan/1"', '"other/1"').replace('"taper_cap"', "7").replace('"coiled"', '"rolled"')
    assert len(refused(text)) == 3


def test_a_key_that_stands_twice_is_a_fault_wherever_it_stands() -> None:
    assert broken('"site":', '"site": "Elsewhere", "site":') == [
        "plan.json: site: the key stands twice (expected: every key once)"
    ]
    found = broken('"port": "T1"', '"port": "T1", "port": "T2"')
    assert found == ["plan.json: loads[0].capped_ports[0].port: the key stands twice (expected: every key once)"]


def test_a_text_that_is_no_json_is_told_with_its_line() -> None:
    assert refused('{\n"site": \n}')[0].startswith("plan.json:3:1: not JSON: ")


@pytest.mark.parametrize("text", ["[" * 100_000, '{"loads_at_least": ' + "9" * 5000 + "}"], ids=["deep", "long"])
def test_a_text_that_no_plan_can_be_is_refused_with_one_line(text: str) -> None:
    assert len(refused(text)) == 1


@pytest.mark.parametrize("text", ["[]", "7", "null", '"plan"'])
def test_a_value_that_is_no_object_is_refused(text: str) -> None:
    assert [line[:10] for line in refused(text)] == ["plan.json:"]
