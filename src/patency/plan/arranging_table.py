"""What is allowed in one load on the second level, and what it costs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.plan.joints import Fed, Joint, joints_of
from patency.plan.walk import Walk
from patency.quantities import Answer

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.catalogue import Carrier
    from patency.plan.fits import PortOption
    from patency.plan.posing import Posed
    from patency.plan.search.problem import Cut, Run


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
        How much its pieces gain from being near to the feed, by set and piece.
    """

    def __init__(
        self, posed: Posed, run: Run, stock: Mapping[str, int], thirst: Mapping[tuple[str, str], float]
    ) -> None:
        self.posed = posed
        self.run = run
        self.stock = stock
        self.carrier: Carrier = posed.department.carriers[run.carrier]
        self.joints = joints_of(posed, run.sets)
        self._machine = posed.problem.machines[run.machine].kind
        self.walk = Walk(posed, self.carrier, self.joints, thirst)
        self.allowed = {joint: self._allowed(joint) for joint in self.joints}

    def _cuts(self) -> list[Cut]:
        """Return what was learned about this load."""
        return [
            cut
            for cut in self.posed.problem.cuts
            if cut.carrier == self.run.carrier
            and cut.company <= set(self.run.sets)
            and cut.programme in {None, self.run.programme}
            and cut.demand is not None
        ]

    def _allowed(self, joint: Joint) -> dict[str, list[PortOption]]:
        demand = self.posed.demands.of_lumen[joint.kind]
        barred = {cut.place for cut in self._cuts() if cut.demand == demand and cut.at_most == 0}
        group = self.posed.table.group_of(self.run.carrier)
        options = self.posed.table.options[self.run.carrier, joint.kind]
        found = {}
        for port, ways in options.items():
            able = [way for way in ways if self._machine in way.kinds]
            if able and group[port] not in barred:
                found[port] = able
        return found

    def limited(self) -> list[tuple[set[Joint], set[str], int]]:
        """List lumens of which only so many may be fed from some ports."""
        groups = self.posed.table.groups[self.run.carrier]
        of = self.posed.demands.of_lumen
        return [
            ({joint for joint in self.joints if of[joint.kind] == cut.demand}, set(groups[cut.place]), cut.at_most)
            for cut in self._cuts()
            if cut.place is not None and cut.at_most > 0
        ]

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
        return {p for p, ways in allowed.items() if p != place and self.reaches(joint, stand, p, ways[0])} or set(
            allowed
        )
