"""Counts of things as people say them."""

from __future__ import annotations

import pytest

from patency.texts import people_count


@pytest.mark.parametrize(
    ("count", "words", "told"),
    [
        (1, ("load",), "1 load"),
        (0, ("load",), "0 loads"),
        (2, ("load",), "2 loads"),
        (1, ("accessory", "accessories"), "1 accessory"),
        (3, ("accessory", "accessories"), "3 accessories"),
    ],
)
def test_one_is_told_from_several(count: int, words: tuple[str, ...], told: str) -> None:
    assert people_count(count, *words) == told
