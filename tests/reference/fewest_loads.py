"""The slow obvious planner: try every way to split sets into loads, count what each load needs, keep the best."""

from __future__ import annotations

from collections import Counter
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence


def splits(items: Sequence[str]) -> Iterator[list[list[str]]]:
    """Yield every way to split items into groups."""
    if not items:
        yield []
        return
    first, *rest = items
    for groups in splits(rest):
        yield [[first], *groups]
        for position in range(len(groups)):
            yield [*groups[:position], [first, *groups[position]], *groups[position + 1 :]]


def fewest(needs: Mapping[str, Counter[str]], room: Mapping[str, int]) -> tuple[int, int]:
    """Return the fewest sets left out, and the fewest loads that take the others, when loads follow one another.

    ``needs`` says for each set how much of everything countable it takes; ``room`` how much a load can have.
    """

    @cache
    def fits(group: frozenset[str]) -> bool:
        total = sum((needs[name] for name in group), Counter())
        return all(count <= room[thing] for thing, count in total.items())

    possible = [name for name in needs if fits(frozenset([name]))]
    loads = min(len(groups) for groups in splits(possible) if all(fits(frozenset(group)) for group in groups))
    return len(needs) - len(possible), loads
