"""The second level: which piece goes to which port of a load, and which cap on which port that stays free.

Costs, in order: the connections, then the walk (a set's pieces side by side, near to far, hoses as short as possible so
that none cross), then the water (what needs more of it nearer to the feed). The cheapest matching of lumens with ports
decides; where a hose would not reach, the hoses are matched anew; where that does not help either, or accessories run
short, a model of the whole load decides.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.plan.joints import Arranged, Fed
from patency.plan.posing import caps_for
from patency.plan.search.linear import FORBIDDEN, cheapest_matching

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.plan.arranging_table import Table
    from patency.plan.fits import PortOption
    from patency.plan.joints import Joint
    from patency.plan.port_groups import LumenKind

DEAR = 1_000_000
"""One step of connection cost against all of the walk and the water."""


def arrange(table: Table) -> Arranged | None:
    """Match the lumens of a load with ports, each step at its least cost.

    Parameters
    ----------
    table
        What is allowed and what it costs.

    Returns
    -------
    Arranged | None
        None where the matchings break a rule that concerns them together; that does not prove there is no arrangement.
    """
    joints = _match(table)
    if joints is None:
        return None
    if not all(_reached(table, joints, joint) for joint in joints if not joint.stands):
        placed = {joint: fed for joint, fed in joints.items() if joint.stands}
        reached = _match_reaching(table, placed)
        if reached is None:
            return None
        joints = {**placed, **reached}
    for few, ports, most in table.limited():
        if sum(joints[joint].port in ports for joint in few) > most:
            return None
    used: dict[str, int] = {}
    for fed in joints.values():
        for link in fed.option.chain:
            used[link] = used.get(link, 0) + 1
    left = {name: number - used.get(name, 0) for name, number in table.stock.items()}
    if any(number < 0 for number in left.values()):
        return None
    arranged = close(table, joints, left)
    return arranged if len(arranged.open) <= sum(table.run.open.values()) else None


def _match(table: Table) -> dict[Joint, Fed] | None:
    """Match all lumens at once, each by itself: a hose counts as reaching over from where its piece would stand."""
    ports = list(table.carrier.ports)
    costs = []
    for joint in table.joints:
        near = table.near(joint)
        costs.append(
            [
                DEAR * table.allowed[joint][port][0].cost + table.walk.cost(joint, port) if port in near else FORBIDDEN
                for port in ports
            ]
        )
    columns = cheapest_matching(costs)
    if columns is None:
        return None
    chosen = zip(table.joints, columns, strict=True)
    return {joint: Fed(ports[column], table.allowed[joint][ports[column]][0]) for joint, column in chosen}


def _reached(table: Table, joints: Mapping[Joint, Fed], joint: Joint) -> bool:
    stand = next(
        fed for other, fed in joints.items() if other.stands and (other.set, other.key) == (joint.set, joint.key)
    )
    return table.reaches(joint, stand, joints[joint].port, joints[joint].option)


def _match_reaching(table: Table, placed: Mapping[Joint, Fed]) -> dict[Joint, Fed] | None:
    rows = [joint for joint in table.joints if not joint.stands]
    stands = {(joint.set, joint.key): fed for joint, fed in placed.items()}
    taken = {fed.port for fed in placed.values()}
    ports = [port for port in table.carrier.ports if port not in taken]
    chosen: dict[tuple[int, int], PortOption] = {}
    costs = []
    for row, joint in enumerate(rows):
        stand = stands[joint.set, joint.key]
        line = []
        for column, port in enumerate(ports):
            able = [way for way in table.allowed[joint].get(port, ()) if table.reaches(joint, stand, port, way)]
            if able:
                chosen[row, column] = able[0]
                line.append(DEAR * able[0].cost + table.walk.stretch(stand.port, port))
            else:
                line.append(FORBIDDEN)
        costs.append(line)
    columns = cheapest_matching(costs)
    if columns is None:
        return None
    return {joint: Fed(ports[c], chosen[row, c]) for (row, joint), c in zip(enumerate(rows), columns, strict=True)}


def close(table: Table, joints: Mapping[Joint, Fed], left: Mapping[str, int]) -> Arranged:
    """Put caps on the ports that stay free: as few as possible stay open.

    Parameters
    ----------
    table
        The load.
    joints
        Where each lumen is fed.
    left
        Accessories that are left for it.

    Returns
    -------
    Arranged
        The load with its caps.
    """
    taken = {fed.port for fed in joints.values()}
    free = [port for port in table.carrier.ports if port not in taken]
    fitting = {port: caps_for(table.posed.department, table.carrier.ports[port]) for port in free}
    units = [
        cap
        for cap in sorted({cap for caps in fitting.values() for cap in caps})
        for _ in range(min(len(free), max(0, left[cap])))
    ]
    costs = []
    for port in free:
        ranks = {cap: position for position, cap in enumerate(fitting[port])}
        line = [float(ranks[cap]) if cap in ranks else FORBIDDEN for cap in units]
        costs.append([*line, *([float(DEAR)] * len(free))])
    columns = cheapest_matching(costs) or []
    caps = {port: units[c] for port, c in zip(free, columns, strict=True) if c < len(units)}
    return Arranged(in_order(table, joints), caps, tuple(port for port in free if port not in caps))


def in_order(table: Table, joints: Mapping[Joint, Fed]) -> dict[Joint, Fed]:
    """Let pieces of a set that are equal follow each other in the order of the walk.

    Parameters
    ----------
    table
        The load.
    joints
        Where each lumen is fed.

    Returns
    -------
    dict[Joint, Fed]
        The same ports, dealt out anew among pieces that differ in nothing but their number.
    """
    rank = {port: position for position, port in enumerate(table.carrier.ports)}
    equal: dict[tuple[str, LumenKind], list[Joint]] = {}
    for joint in joints:
        if len(joint.piece.lumens) == 1:
            equal.setdefault((joint.set, joint.kind), []).append(joint)
    ordered = dict(joints)
    for alike in equal.values():
        in_walk = sorted((joints[joint] for joint in alike), key=lambda fed: rank[fed.port])
        numbered = sorted(alike, key=table.joints.index)
        ordered |= dict(zip(numbered, in_walk, strict=True))
    return ordered
