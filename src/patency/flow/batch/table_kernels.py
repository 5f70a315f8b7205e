"""Port faults by tables, for one scenario at a time: what hangs on a node as a function of the node's head.

Plain Python over arrays, like the other kernels. A change of some outlets leaves every part of the tree without one of
them a function of the head it hangs on, so Newton's method works on the nodes between the pump and the changed outlets
alone, the *path*, and all else is read off. A table holds value and slope (over one step) at even steps, with cubics
between them (Hermite); row by row in one array of shape (rows, knots, 2). A head is counted as a *place*: in steps that
are even in the root of what drives the node's outlets, over which flows are nearly straight lines.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.flow.kernels import pump_head

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.flow.kernels import Ends

    Floats = NDArray[np.float64]
    Bytes = NDArray[np.uint8]
    Places = NDArray[np.uint64]

PLACE, HEAD, STEEP, FLOW, LOSS, SLOPE, GIVES, YIELDS, SHARE, RISE = range(10)  # rows of a scenario's numbers at nodes
OUTSIDE = 255  # state of a scenario that leaves the tables
WORD = 8  # outlets looked at together for a change
_MOST_STEPS = 20
_SETTLED = 3e-6  # relative move of a head whose square is below the digits that count
_FAR = 1e6  # metres: what moves further settles no more
_NONE, _ONE = np.uint64(0), np.uint64(1)


class Hanging(NamedTuple):
    """How the network hangs together, with unsigned places, which cost the compiled code no look at their sign."""

    parent: Places  # [node] node above; 0 for the first, which the pump feeds
    outlet_node: Places  # [outlet]
    first: Places  # [node + 1] where the outlets of each node begin in
    order: Places  # the outlets, node by node


class Tables(NamedTuple):
    """All tables of a network."""

    outlet: Floats  # [outlet, knot, 2] flow over the place at its node
    whole: Floats  # [node, knot, 2] flow of all that hangs on the node, as compiled, over its own place
    taken: Floats  # [node, knot, 2] the same over the place of the node above
    below: Floats  # [node, knot, 2] the node's place over that of the node above, with all below as compiled
    link: Floats  # [node, knot, 2] loss over flow of the link that feeds the node
    level: Floats  # [node] what the roots are taken from: the elevation of its highest outlet, m
    lowest: Floats  # [node] root at the first knot
    per_place: Floats  # [node] root over knots
    per_flow: Floats  # [node] knots over the link's flow, s/m3
    usable: Bytes  # [outlet] 0 for one so high that it would stay dry


class Known(NamedTuple):
    """Scenarios that are solved beforehand: each outlet changed alone, and behind them the network as compiled."""

    flow: Floats  # [outlet + 1, chain]
    head: Floats  # [outlet + 1, node]
    place: Floats  # [outlet + 1, node] places of the heads; of the outlets, how far each moves them
    solved: Bytes  # [outlet + 1]


def interpolate(table: Floats, row: int | np.uint64, place: float) -> tuple[float, float]:
    """Read value and slope at a place counted in steps; the slope is one over steps, as in the table."""
    cell = np.uint64(min(max(0.0, place), table.shape[1] - 2.0))
    t, after = place - cell, cell + _ONE
    a, da, b, db = table[row, cell, 0], table[row, cell, 1], table[row, after, 0], table[row, after, 1]
    rise = b - a
    c2, c3 = 3.0 * rise - 2.0 * da - db, da + db - 2.0 * rise
    return a + t * (da + t * (c2 + t * c3)), da + t * (2.0 * c2 + 3.0 * t * c3)


def find_changed(differs: Bytes, words: Places, changed: Places) -> int:
    """List the outlets that differ from those as compiled, which words of eight bytes tell quickly; how many."""
    count = 0
    for word in range(words.size):
        if words[word] != _NONE:
            for outlet in range(word * WORD, word * WORD + WORD):
                if differs[outlet]:
                    changed[count] = outlet
                    count += 1
    return count


def find_path(hanging: Hanging, changed: Places, count: int, marks: Places, mark: int, path: Places) -> int:
    """Mark and list the nodes between the pump and the changed outlets, each behind the node above; how many."""
    parent, stamp = hanging.parent, np.uint64(mark)
    marks[_NONE] = stamp
    for k in range(count):
        node = hanging.outlet_node[changed[k]]
        while marks[node] != stamp:
            marks[node] = stamp
            node = parent[node]
    length = 0
    for k in range(parent.size):
        path[length] = k
        length += 1 if marks[k] == stamp else 0
    return length


def begin_path(
    tables: Tables, known: Known, changed: Places, count: int, path: Places, length: int, at: Floats
) -> None:
    """Put the places of a path to where each change alone would move them, one after the other."""
    last, compiled = tables.whole.shape[1] - 1.0, np.uint64(known.solved.size) - _ONE
    for k in range(length):
        node = path[k]
        place = known.place[compiled, node]
        for each in range(count):
            place += known.place[changed[each], node]
        at[PLACE, node] = min(max(place, 0.0), last)


def look_up(
    hanging: Hanging,
    tables: Tables,
    compiled: Bytes,
    changed: Places,
    count: int,
    path: Places,
    length: int,
    at: Floats,
) -> bool:
    """Take a path's heads, and what its nodes take at them, from the tables; False where a place lies outside."""
    parent, whole, taken = hanging.parent, tables.whole, tables.taken
    level, lowest, per_place = tables.level, tables.lowest, tables.per_place
    last = whole.shape[1] - 1.0
    inside = True
    for k in range(length):
        node = path[k]
        place = at[PLACE, node]
        inside = inside & (place >= 0.0) & (place <= last)
        root = lowest[node] + place * per_place[node]
        at[HEAD, node], at[STEEP, node] = level[node] + root * root, 2.0 * root * per_place[node]
        at[FLOW, node], at[YIELDS, node] = interpolate(whole, node, place)
        at[GIVES, node] = 0.0
        if k > 0:  # what hung on it as compiled no longer hangs on the node above
            above = parent[node]
            flow, steep = interpolate(taken, node, at[PLACE, above])
            at[FLOW, above] -= flow
            at[YIELDS, above] -= steep
    for k in range(count):
        outlet = changed[k]
        node = hanging.outlet_node[outlet]
        flow, steep = interpolate(tables.outlet, outlet, at[PLACE, node])
        sign = -1.0 if compiled[outlet] else 1.0
        at[FLOW, node] += sign * flow
        at[YIELDS, node] += sign * steep
    return inside


def fold_path(hanging: Hanging, ends: Ends, tables: Tables, path: Places, length: int, at: Floats) -> bool:
    """Fold what is left over along each link of a path up to the pump; False where a flow lies outside."""
    parent, link, per_flow = hanging.parent, tables.link, tables.per_flow
    last = link.shape[1] - 1.0
    inside = True
    for k in range(length - 1, -1, -1):
        node = path[k]
        place = at[FLOW, node] * per_flow[node]
        inside = inside & (place >= -1e-6) & (place <= last)
        loss, slope = interpolate(link, node, place)
        slope *= per_flow[node]
        if k == 0:
            lift, steep = pump_head(ends, at[FLOW, node])
            pull = ends.sump_level + lift - loss - at[HEAD, node]
            slope -= steep
        else:
            pull = at[HEAD, parent[node]] - loss - at[HEAD, node]
        pull -= slope * at[GIVES, node]
        share = 1.0 / (at[STEEP, node] + slope * at[YIELDS, node])
        at[SHARE, node], at[LOSS, node] = share, pull
        if k > 0:
            above = parent[node]
            yields = at[YIELDS, node] * share
            at[FLOW, above] += at[FLOW, node]
            at[GIVES, above] += at[GIVES, node] + yields * pull
            at[YIELDS, above] += yields * at[STEEP, above]
    return inside


def move_path(hanging: Hanging, path: Places, length: int, at: Floats) -> float:
    """Move the places of a path by one step of Newton's method; the largest relative move of a head."""
    parent = hanging.parent
    largest = 0.0
    for k in range(length):
        node = path[k]
        above = at[RISE, parent[node]] if k > 0 else 0.0
        move = (above + at[LOSS, node]) * at[SHARE, node]
        rise = move * at[STEEP, node]
        at[RISE, node] = rise
        at[PLACE, node] += move
        largest = max(largest, abs(rise) / (abs(at[HEAD, node]) + 1.0))
    return largest


def settle_path(
    hanging: Hanging,
    ends: Ends,
    tables: Tables,
    changed: Places,
    count: int,
    path: Places,
    length: int,
    at: Floats,
) -> bool:
    """Find the places of a path; whether they were found inside the tables."""
    for _ in range(_MOST_STEPS):
        inside = look_up(hanging, tables, ends.is_open, changed, count, path, length, at)
        inside = fold_path(hanging, ends, tables, path, length, at) and inside
        moved = move_path(hanging, path, length, at)
        if not moved < _FAR:
            return False
        if moved < _SETTLED:
            return inside
    return False


def read_all(
    hanging: Hanging,
    tables: Tables,
    compiled: Bytes,
    differs: Bytes,
    marks: Places,
    mark: int,
    at: Floats,
    flows: Floats,
    heads: Floats,
) -> bool:
    """Read every flow and head, from a path's places downwards; False where one lies outside."""
    parent, first, order = hanging.parent, hanging.first, hanging.order
    below, of_outlet = tables.below, tables.outlet
    level, lowest, per_place = tables.level, tables.lowest, tables.per_place
    nodes, cells = np.uint64(parent.size), below.shape[1] - 2.0
    stamp, inside = np.uint64(mark), True
    for k in range(nodes):
        node = np.uint64(k)
        if marks[node] == stamp:
            place = at[PLACE, node]
        else:
            place, _ = interpolate(below, node, at[PLACE, parent[node]])
            at[PLACE, node] = place
        inside = inside & (place >= 0.0) & (place <= cells + 1.0)
        root = lowest[node] + place * per_place[node]
        heads[node] = level[node] + root * root
        cell = np.uint64(min(max(0.0, place), cells))
        after, t = cell + _ONE, place - cell
        left, square = t - 1.0, t * t
        to_b = square * (3.0 - 2.0 * t)
        to_a, to_da, to_db = 1.0 - to_b, t * left * left, square * left
        total = 0.0
        for each in range(first[node], first[node + _ONE]):
            outlet = order[each]
            flow = 0.0
            if compiled[outlet] != differs[outlet]:
                flow = to_a * of_outlet[outlet, cell, 0] + to_da * of_outlet[outlet, cell, 1]
                flow += to_b * of_outlet[outlet, after, 0] + to_db * of_outlet[outlet, after, 1]
            flows[nodes + outlet] = flow
            total += flow
        flows[node] = total
    for k in range(nodes - _ONE):
        node = nodes - _ONE - np.uint64(k)
        flows[parent[node]] += flows[node]
    return inside


def solve_faults(
    hanging: Hanging,
    ends: Ends,
    tables: Tables,
    known: Known,
    most: float,
    differs: Bytes,
    words: Places,
    flows: Floats,
    heads: Floats,
    states: Bytes,
) -> None:
    """Solve scenarios that differ in which outlets are open.

    What leaves the tables, or draws more than the pump's curve knows at most, gets the state ``OUTSIDE``.
    """
    nodes, outlets = hanging.parent.size, hanging.outlet_node.size
    at = np.empty((10, nodes))
    changed, path = np.zeros(outlets + 1, np.uint64), np.empty(nodes + 1, np.uint64)
    marks = np.zeros(nodes, np.uint64)
    for scenario in range(flows.shape[0]):
        differ, into = differs[scenario], flows[scenario]
        count = find_changed(differ, words[scenario], changed)
        states[scenario] = 0
        if count < 2:
            row = changed[_NONE] if count else np.uint64(outlets)
            if known.solved[row]:
                into[:], heads[scenario] = known.flow[row], known.head[row]
                continue
        states[scenario] = OUTSIDE
        usable = True
        for k in range(count):
            usable = usable & (tables.usable[changed[k]] != 0)
        if not usable:
            continue
        length = find_path(hanging, changed, count, marks, scenario + 1, path)
        begin_path(tables, known, changed, count, path, length, at)
        if not settle_path(hanging, ends, tables, changed, count, path, length, at):
            continue
        if read_all(hanging, tables, ends.is_open, differ, marks, scenario + 1, at, into, heads[scenario]):
            states[scenario] = 0 if into[_NONE] <= most else OUTSIDE
