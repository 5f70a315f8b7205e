"""What a trace lists, and which of several reasons for one thing it keeps."""

from __future__ import annotations

import enum
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from patency.ledger.fields import Kind
    from patency.ledger.identity import Strength


class Direction(enum.StrEnum):
    """Which way to look."""

    FORWARD = "forward"
    BACKWARD = "backward"


class Shared(enum.StrEnum):
    """Which shared wash loads carry a trace to other sets."""

    NONE = "none"
    FIRST = "first"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class Item:
    """One thing a trace lists.

    Parameters
    ----------
    kind, key
        What it is.
    seq
        The event by which it came into the list.
    strength
        How sure it is that the pieces on the way are the pieces they are taken for: the weakest of the way.
    distance
        How many shared loads lie between it and the start.
    why
        The way to it from the start, one statement after the other.
    """

    kind: Kind
    key: str
    seq: int
    strength: Strength
    distance: int
    why: tuple[str, ...]


@dataclass(frozen=True)
class Trace:
    """What one thing touched.

    Parameters
    ----------
    kind, key, direction
        What was asked.
    since, until
        The first and the last event looked at.
    items
        In order of distance, kind and key.
    scope
        What bounds the list, and why it cannot be made smaller.
    """

    kind: Kind
    key: str
    direction: Direction
    since: int
    until: int
    items: tuple[Item, ...]
    scope: tuple[str, ...]


@dataclass
class Items:
    """The things found so far, each with its best reason: the nearest, then the surest, then the earliest."""

    found: dict[tuple[Kind, str], Item] = field(default_factory=dict)

    def add(self, item: Item) -> None:
        """Add a thing, or a better reason for it.

        Parameters
        ----------
        item
            The thing with its reason.
        """
        place = (item.kind, item.key)
        before = self.found.get(place)
        if before is None or _rank(item) < _rank(before):
            self.found[place] = item

    def wants(self, kind: Kind, key: str, distance: int, strength: Strength) -> bool:
        """Tell whether a reason of this distance and strength would be a better one, before it is put into words.

        Parameters
        ----------
        kind
            What the thing is.
        key
            Which one.
        distance
            Of the reason.
        strength
            Of the reason.

        Returns
        -------
        bool
            Whether to add it.
        """
        before = self.found.get((kind, key))
        return before is None or (distance, -strength) < (before.distance, -before.strength)

    def listed(self) -> tuple[Item, ...]:
        """Return all of them.

        Returns
        -------
        tuple[Item, ...]
            In order of distance, kind and key.
        """
        return tuple(sorted(self.found.values(), key=lambda one: (one.distance, one.kind.value, one.key)))


def _rank(item: Item) -> tuple[int, int, int]:
    return item.distance, -item.strength, item.seq
