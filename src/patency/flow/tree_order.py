"""In which order the links of a network are worked through: a tree from the sump, and what closes its loops.

The tree takes the widest ways. A loop's flow is then carried by its narrowest link and the others follow by
sums; the other way round a narrow link's flow would be the difference of two large ones and lose its digits.
"""

from __future__ import annotations

import heapq
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.flow.network import SUMP, Annulus, Orifice

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
    """Grow a tree from the sump over a sound network, each time by the widest link that leads on (R. C. Prim, 1957).

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
    ahead: list[tuple[float, str, str]] = []  # widest first: which link, from which node
    by_name = {link.id: link for link in links}
    node = SUMP
    while True:
        for link in touching[node]:
            heapq.heappush(ahead, (-_width_m2(link), link.id, node))
        while ahead and {by_name[ahead[0][1]].from_node, by_name[ahead[0][1]].to_node} <= row.keys():
            heapq.heappop(ahead)
        if not ahead:
            break
        _, name, start = heapq.heappop(ahead)
        link = by_name[name]
        outward = link.from_node == start
        node = link.to_node if outward else link.from_node
        row[node] = len(order.nodes)
        used.add(name)
        order.names.append(name)
        order.nodes.append(node)
        order.parents.append(row[start])
        order.directions.append(1 if outward else -1)
        order.segments.append(link.segments if outward else link.segments[::-1])
    order.chords.extend(link for link in links if link.id not in used)
    for link in order.chords:
        order.names.append(link.id)
        order.directions.append(1)
        order.segments.append(link.segments)
    return order


def _width_m2(link: Link) -> float:
    """What the water passes at a link's narrowest place; only the order of links follows from it, no result."""
    openings = []
    for segment in link.segments:
        if isinstance(segment, Annulus):
            wide, rod = segment.outer_diameter_m, segment.inner_diameter_m
            openings.append((wide - rod) * (wide + rod))
        elif isinstance(segment, Orifice):
            openings.append(segment.discharge_coefficient * segment.diameter_m * segment.diameter_m)
        else:
            openings.append(segment.diameter_m * segment.diameter_m)
    return math.pi / 4 * min(openings)
