"""The second level: which piece goes to which port of a load, and which cap on which port that stays free.

Costs, in order: the connections, then the walk (a set's pieces side by side, near to far, hoses as short as possible so
that none cross), then the water (what needs more of it nearer to the feed). The cheapest matching of lumens with ports
decides; where a hose would not reach, the hoses are matched anew; where that does not help either, or accessories run
short, a model of the whole load decides.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from patency.catalogue import Placing
from patency.plan.fits import standing_lumen
from patency.plan.linear import FORBIDDEN, cheapest_matching
from patency.plan.posing import caps_for
from patency.plan.walk import Walk
from patency.quantities import Answer

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from patency.catalogue import Carrier
    from patency.load import PieceToPlace
    from patency.plan.fits import PortOption
    from patency.plan.port_groups import LumenKind
    from patency.plan.posing import Posed
    from patency.plan.problem import Run

DEAR = 1_000_000
"""One step of connection cost against all of the walk and the water."""


@dataclass(frozen=True, slots=True)
class Joint:
    """One lumen of one piece that needs a port.

    Parameters
    ----------
    set, key
        Which piece.
    lumen
        The lumen.
    piece
        The piece itself.
    """

    set: str
    key: str
    lumen: str
    piece: PieceToPlace = field(compare=False)

    @property
    def kind(self) -> LumenKind:
        """Instrument type, piece type and lumen."""
        return (self.piece.instrument, self.piece.piece, self.lumen)

    @property
    def stands(self) -> bool:
        """Whether the piece stands at the port of this lumen."""
        return standing_lumen(self.piece.piece_type) == self.lumen


@dataclass(frozen=True, slots=True)
class Fed:
    """A port with a way to feed a lumen from it."""

    port: str
    option: PortOption


@dataclass(frozen=True, slots=True)
class Arranged:
    """A load with every lumen at its port.

    Parameters
    ----------
    joints
        Each lumen with its port.
    caps
        Unused port to the cap on it.
    open
        Unused ports that stay open.
    """

    joints: Mapping[Joint, Fed]
    caps: Mapping[str, str]
    open: tuple[str, ...]

    @property
    def cost(self) -> int:
        """Cost of all connections."""
        return sum(fed.option.cost for fed in self.joints.values())

    @property
    def used(self) -> dict[str, int]:
        """Accessories in chains and on unused ports, with their number."""
        total: dict[str, int] = {}
        for name in [*(link for fed in self.joints.values() for link in fed.option.chain), *self.caps.values()]:
            total[name] = total.get(name, 0) + 1
        return total


class Table:
    """What is allowed in one load, and what it costs.

    Parameters
    ----------
    posed
        The posed problem.
    run
        The load.
    stock
        Accessories at hand for chains and caps.
    thirst
        How much each kind of lumen gains from being near to the feed.
    """

    def __init__(self, posed: Posed, run: Run, stock: Mapping[str, int], thirst: Mapping[LumenKind, float]) -> None:
        self.posed = posed
        self.run = run
        self.stock = stock
        self.carrier: Carrier = posed.department.carriers[run.carrier]
        self.joints = joints_of(posed, run.sets)
        self._machine = posed.problem.machines[run.machine].kind
        self.walk = Walk(posed, self.carrier, self.joints, thirst)
        self.allowed = {joint: self._allowed(joint) for joint in self.joints}

    def _allowed(self, joint: Joint) -> dict[str, list[PortOption]]:
        barred = {
            cut.place
            for cut in self.posed.problem.cuts
            if cut.carrier == self.run.carrier
            and cut.company <= set(self.run.sets)
            and cut.programme in {None, self.run.programme}
            and cut.demand == self.posed.demands.of_lumen[joint.kind]
            and cut.at_most == 0
        }
        group = self.posed.table.group_of(self.run.carrier)
        options = self.posed.table.options[self.run.carrier, joint.kind]
        found = {}
        for port, ways in options.items():
            able = [way for way in ways if self._machine in way.kinds]
            if able and group[port] not in barred:
                found[port] = able
        return found

    def reaches(self, joint: Joint, stand: Fed, port: str, option: PortOption) -> bool:
        """Tell whether a hose from a port reaches a lumen of a piece that stands elsewhere."""
        piece = joint.piece.piece_type
        ports = self.carrier.ports
        reply = self.posed.table.fitter.reaches_over(piece, ports[stand.port], stand.option, ports[port], option.chain)
        return reply is not None and reply.answer is Answer.YES


    def near(self, joint: Joint) -> set[str]:
        """Return the ports at which a lumen may be fed; by a hose that reaches over, those near its piece's place."""
        allowed = self.allowed[joint]
        if joint.stands:
            return set(allowed)
        standing = next(j for j in self.joints if j.stands and (j.set, j.key) == (joint.set, joint.key))
        place = self.walk.place(standing)
        if place not in self.allowed[standing]:
            return set(allowed)
        stand = Fed(place, self.allowed[standing][place][0])
        return {p for p, ways in allowed.items() if p != place and self.reaches(joint, stand, p, ways[0])} or set(allowed)


def joints_of(posed: Posed, sets: Iterable[str]) -> list[Joint]:
    """List the lumens of some sets that need a port, set by set in the order in which they are ready.

    Parameters
    ----------
    posed
        The posed problem.
    sets
        The sets.

    Returns
    -------
    list[Joint]
        The lumens.
    """
    order = sorted(sets, key=lambda name: (posed.problem.sets[name].ready_min, name))
    return [
        Joint(name, piece.key, lumen, piece)
        for name in order
        for piece in posed.pieces[name]
        if piece.piece_type.placing is Placing.PORT
        for lumen in piece.lumens
    ]


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
    stand = next(fed for other, fed in joints.items() if other.stands and (other.set, other.key) == (joint.set, joint.key))
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
        numbered = sorted(alike, key=lambda joint: table.joints.index(joint))
        ordered |= dict(zip(numbered, in_walk, strict=True))
    return ordered

