"""In which order the links of a network are worked through: a tree from the sump, and what closes its loops."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.flow.network import SUMP

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.flow.network import Link, Segment


@dataclass(frozen=True, slots=True)
class TreeOrder:
    """The links sorted into tree and chords, all lists in the order of chains.

    Parameters
    ----------
    names
        Names of the links: tree links first, each after the one that feeds it, then the chords.
    nodes
        Names of the nodes; node i is fed by tree link i.
    parents
        For each node the row of the node above it, -1 for the sump.
    directions
        1, or -1 for a tree link written towards the sump.
    segments
        The segments of each link, in the direction away from the sump.
    chords
        The links that close loops.
    """

    names: list[str]
    nodes: list[str]
    parents: list[int]
    directions: list[int]
    segments: list[tuple[Segment, ...]]
    chords: list[Link]


def tree_order(links: Sequence[Link]) -> TreeOrder:
    """Walk a sound network's links outwards from the sump, breadth first.

    Parameters
    ----------
    links
        The links of a network that passed its check: in one piece, one of them leaving the sump.

    Returns
    -------
    TreeOrder
        The order.
    """
    touching: dict[str, list[Link]] = {}
    for link in links:
        touching.setdefault(link.from_node, []).append(link)
        touching.setdefault(link.to_node, []).append(link)
    order = TreeOrder([], [], [], [], [], [])
    row = {SUMP: -1}
    used: set[str] = set()
    waiting = [SUMP]
    for node in waiting:  # grows while it is walked
        for link in touching[node]:
            outward = link.from_node == node
            other = link.to_node if outward else link.from_node
            if link.id in used or other in row:
                continue
            used.add(link.id)
            row[other] = len(order.nodes)
            waiting.append(other)
            order.names.append(link.id)
            order.nodes.append(other)
            order.parents.append(row[node])
            order.directions.append(1 if outward else -1)
            order.segments.append(link.segments if outward else link.segments[::-1])
    order.chords.extend(link for link in links if link.id not in used)
    for link in order.chords:
        order.names.append(link.id)
        order.directions.append(1)
        order.segments.append(link.segments)
    return order
