"""What a load sheet asks people to watch: glances for what no sensor sees, and connections whose loss harms most.

A glance at a single piece stands in the row of its piece, since it can be done only while the piece is in the hand.
"""

from __future__ import annotations

from collections.abc import Mapping  # noqa: TC003 - read when the sheet is turned into JSON
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class LookLine:
    """One line to tick.

    Parameters
    ----------
    words
        The question.
    places
        Ports it is about; none where the question says it all.
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
    before
        Glances that have to be done before the first piece goes on.
    light, pull, over_nozzle
        Ports whose piece is held against the light before it goes on, whose connection is pulled at and whose piece is
        looked at over its nozzle once it is on.
    loading, unloading
        The other glances before the door closes, and when unloading; in the order of the walk.
    assumes
        Which alarm the glances rely on; empty where there are none.
    seen_by_nobody
        What to do about what neither sensor nor glance shows, one line each.
    harms
        Port to a few words on what losing its connection does to other lumens.
    """

    looks: tuple[str, ...] = ()
    before: tuple[LookLine, ...] = ()
    light: tuple[str, ...] = ()
    pull: tuple[str, ...] = ()
    over_nozzle: tuple[str, ...] = ()
    loading: tuple[LookLine, ...] = ()
    unloading: tuple[LookLine, ...] = ()
    assumes: str = ""
    seen_by_nobody: tuple[str, ...] = ()
    harms: Mapping[str, str] = field(default_factory=dict)
