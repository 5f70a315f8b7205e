"""Whatever names stand in a plan, the check answers with findings and never stumbles."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from hypothesis import given, settings
from hypothesis import strategies as st

from patency.load import read_plan, write_plan
from patency.plan.checker import check_plan, open_points
from tests.plan.cases import GOOD
from tests.small_plan import PLAN_OF_TWO, SMALL_PLAN

if TYPE_CHECKING:
    from collections.abc import Iterator

# Words of a fixed vocabulary in the format, and what a plan says about itself.
FIXED = {"placing", "way_up", "leans", "states", "format", "day", "starts", "ends", "objective", "bound"}
Path = tuple[str | int, ...]


def names(data: object, path: Path = ()) -> Iterator[Path]:
    """Walk through the places of a plan at which a name stands."""
    if isinstance(data, dict):
        for key, value in data.items():
            if key not in FIXED:
                yield from names(value, (*path, key))
    elif isinstance(data, list):
        for number, value in enumerate(data):
            yield from names(value, (*path, number))
    elif isinstance(data, str):
        yield path


PLANS = [json.loads(write_plan(plan)) for plan in (SMALL_PLAN, PLAN_OF_TWO)]
PLACES = [(number, path) for number, plan in enumerate(PLANS) for path in names(plan)]
WORDS = ["ghost", "H1", "Noon", "net", "nozzle_6", "B1"]


def with_word(plan: Any, path: Path, word: str) -> Any:  # noqa: ANN401 - JSON
    """Return a copy of a plan with another word in one place."""
    copy = json.loads(json.dumps(plan))
    inner = copy
    for step in path[:-1]:
        inner = inner[step]
    inner[path[-1]] = word
    return copy


@settings(max_examples=80)
@given(place=st.sampled_from(PLACES), word=st.sampled_from(WORDS))
def test_a_plan_with_one_wrong_word_is_answered(place: tuple[int, Path], word: str) -> None:
    number, path = place
    changed = with_word(PLANS[number], path, word)
    assert GOOD.day is not None
    plan = read_plan(json.dumps(changed))
    found = check_plan(plan, GOOD, GOOD.day) + open_points(plan, GOOD, GOOD.day)
    if word == "ghost" and path[0] == "loads" and path[2:] != ("id",):
        assert found, path
    assert all(finding.sentence and finding.line for finding in found)
