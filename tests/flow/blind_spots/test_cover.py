"""The fewest sets that hold everything, against trying every choice."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patency.flow.blind_spots.cover import smallest_cover


def fewest_by_trying(sets: list[set[int]]) -> int:
    everything = set().union(*sets)
    return next(
        count
        for count in range(len(sets) + 1)
        if any(set().union(*chosen) == everything for chosen in combinations(sets, count))
    )


@settings(max_examples=30, deadline=None)
@given(st.lists(st.sets(st.integers(0, 9), max_size=5), min_size=1, max_size=9))
def test_no_choice_that_holds_everything_is_smaller(sets: list[set[int]]) -> None:
    chosen, least = smallest_cover(sets)
    assert set().union(*(sets[place] for place in chosen)) == set().union(*sets)
    assert len(chosen) == least == fewest_by_trying(sets)


def test_the_greedy_choice_is_not_always_the_smallest() -> None:
    # The largest set first needs three; the two rows hold all.
    sets = [{0, 1, 2, 3}, {0, 2, 4}, {1, 3, 5}]
    assert smallest_cover([{0, 1, 2, 3}, {0, 2, 4}, {1, 3, 5}]) == ((1, 2), 2)
    assert len(max(sets, key=len)) == 4


def test_of_equally_small_choices_the_earliest_wins_every_time() -> None:
    sets = [{1}, {2}, {1, 2}, {1, 2}]
    assert {smallest_cover(sets) for _ in range(3)} == {((2,), 1)}


@pytest.mark.parametrize("sets", [[], [set()], [set(), set()]])
def test_nothing_to_hold_needs_nothing(sets: list[set[int]]) -> None:
    assert smallest_cover(sets) == ((), 0)
