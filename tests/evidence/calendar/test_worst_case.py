"""Removing or ageing any single datum of a calendar never makes anything less strict: every one is tried."""

from __future__ import annotations

import copy
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
import yaml

from patency.errors import InputError
from patency.evidence import blocked, criteria_of_tests, overall, read_calendar, relied_on, standings
from tests.evidence.calendar.test_standing import TEXT

if TYPE_CHECKING:
    from collections.abc import Iterator

AT = datetime.fromisoformat("2026-03-31T05:00+02:00")


class Plain(yaml.SafeDumper):
    """Writes every value as it stood, without quotes around numbers and moments."""


Plain.yaml_implicit_resolvers = {}
WHOLE: dict[str, Any] = yaml.load(TEXT, Loader=yaml.BaseLoader)
STRICT = ("met", "not evaluated", "not met")


def asked_for(path: tuple[str | int, ...]) -> bool:
    """Tell whether a datum is what the site asks for: a test, or its limit; nobody misses what was never asked for."""
    return path[0] == "tests" and (len(path) == 2 or (len(path) > 2 and path[2] == "limit" and path[-1] != "unit"))


def places(inner: object, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Name the place of everything that can be taken out."""
    keys = inner.keys() if isinstance(inner, dict) else range(len(inner)) if isinstance(inner, list) else ()
    for key in keys:
        yield (*path, key)
        yield from places(inner[key], (*path, key))  # type: ignore[index]


def without(path: tuple[str | int, ...]) -> str:
    left: Any = copy.deepcopy(WHOLE)
    inner = left
    for key in path[:-1]:
        inner = inner[key]
    del inner[path[-1]]
    return yaml.dump(left, Dumper=Plain, sort_keys=False)


def strictness(text: str) -> tuple[set[str], dict[str, int]] | None:
    """Say what is blocked and how each machine's tests are judged; None where the calendar is refused."""
    try:
        calendar = read_calendar(text)
    except InputError:
        return None
    block = blocked(standings(calendar, AT))
    names = {*block.machines, *block.programmes, *block.uses}
    judged = {}
    for machine in ("Yew", "Alder"):
        found = relied_on(calendar, AT, machine, None)
        states = [one.state for one in criteria_of_tests(found, found, machine, AT, "none known")]
        judged[machine] = STRICT.index(overall(states).value)
    return names, judged


def test_a_calendar_written_anew_is_the_same() -> None:
    assert read_calendar(yaml.dump(WHOLE, Dumper=Plain, sort_keys=False)) == read_calendar(TEXT)


@pytest.mark.parametrize("path", [path for path in places(WHOLE) if not asked_for(path)], ids=str)
def test_taking_out_a_datum_never_lets_more_through(path: tuple[str | int, ...]) -> None:
    before, after = strictness(TEXT), strictness(without(path))
    assert before == (set(), {"Yew": 0, "Alder": 0})
    if after is None:
        return  # refused: nothing is let through
    assert all(after[1][machine] >= state for machine, state in before[1].items())


@pytest.mark.parametrize("number", range(3))
@pytest.mark.parametrize("older", [timedelta(hours=1), timedelta(days=3), timedelta(days=400)])
def test_ageing_a_result_never_lets_more_through(number: int, older: timedelta) -> None:
    aged = copy.deepcopy(WHOLE)
    at = datetime.fromisoformat(aged["done"][number]["at"])
    aged["done"][number]["at"] = (at - older).isoformat(timespec="minutes")
    found = strictness(yaml.dump(aged, Dumper=Plain, sort_keys=False))
    assert found is not None
    if older > timedelta(days=365):
        assert len(found[0]) == 1


@pytest.mark.parametrize("days", [0, 1, 7, 30, 400])
def test_as_time_goes_by_without_a_test_more_and_more_is_blocked(days: int) -> None:
    calendar = read_calendar(TEXT)
    early, late = (
        {*block.machines, *block.uses}
        for block in (
            blocked(standings(calendar, AT + timedelta(days=days))),
            blocked(standings(calendar, AT + timedelta(days=days + 1))),
        )
    )
    assert early <= late
