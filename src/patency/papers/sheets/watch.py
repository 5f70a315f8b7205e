"""What a load sheet asks people to watch: glances for what no sensor sees, and connections whose loss harms most."""

from __future__ import annotations

from collections.abc import Mapping  # noqa: TC003 - read when the sheet is turned into JSON
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class LookLine:
    """One line to tick, or one for each place.

    Parameters
    ----------
    words
        The question.
    places
        Ports to tick one by one; none where one tick says it all.
    """

    words: str
    places: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SheetWatch:
    """What people watch in one load.

    Parameters
    ----------
    looks
        Names of the glances when loading, so that what they ask is not asked twice.
    loading, unloading
        The glances, in the order of the walk.
    seen_by_nobody
        What neither sensor nor glance shows, one line each.
    harms
        Port to a few words on what losing its connection does to other lumens.
    """

    looks: tuple[str, ...] = ()
    loading: tuple[LookLine, ...] = ()
    unloading: tuple[LookLine, ...] = ()
    seen_by_nobody: tuple[str, ...] = ()
    harms: Mapping[str, str] = field(default_factory=dict)
