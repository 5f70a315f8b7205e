"""A lumen that falls short becomes a cut: in this company, this demand cannot be met at these places.

The finding holds for every larger company too, as more consumers on a carrier never raise the pressure at a port;
where the judge asks about faults of unused ports, it need not, and nothing is proven with it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from patency.load import CappedPort
from patency.plan.posing import caps_for
from patency.plan.search.alike import classes
from patency.plan.search.problem import Cut

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from patency.load import Connection, Load, PlacedPiece
    from patency.plan.posing import Posed
    from patency.plan.search.problem import Run
    from patency.plan.water import Judge, Verdict


@dataclass(frozen=True, slots=True)
class Learned:
    """A cut with its ground.

    Parameters
    ----------
    cut
        The cut.
    why
        The ground, for people.
    certain
        Whether it was shown for every arrangement; otherwise only for the one that was tried, and what follows from it
        is not proven.
    """

    cut: Cut
    why: str
    certain: bool


def learn(posed: Posed, run: Run, load: Load, verdict: Verdict, judge: Judge) -> Iterator[Learned]:
    """Turn what falls short in a load into cuts.

    Parameters
    ----------
    posed
        The posed problem.
    run
        The load.
    load
        The same, in full.
    verdict
        What the flow said of it.
    judge
        The flow.

    Yields
    ------
    Learned
        Cuts, the same for carriers that are alike.
    """
    case = _Case(posed, run, load, verdict, judge)
    plain = replace(posed.problem, cuts=())
    alike = next(members for members in classes(plain).values() if run.carrier in members)
    seen = set()
    for placed in load.pieces:
        why = verdict.short.get((placed.set, placed.piece))
        for connection in () if why is None else _lumens_named(placed, why):
            learned = case.cut(placed, connection, why or "")
            if learned.cut not in seen:
                seen.add(learned.cut)
                yield from (replace(learned, cut=replace(learned.cut, carrier=carrier)) for carrier in alike)


def _lumens_named(placed: PlacedPiece, why: str) -> list[Connection]:
    """Return the lumens of a piece that a reason names; all of them where it names none."""
    named = [connection for connection in placed.lumens if f"{connection.lumen}: " in why]
    return named or list(placed.lumens)


@dataclass(frozen=True, slots=True)
class _Case:
    """A load in which something falls short; what was asked for one lumen is recalled for others, as it takes long."""

    posed: Posed
    run: Run
    load: Load
    verdict: Verdict
    judge: Judge
    _alone: dict[tuple[str, str, str], bool] = field(default_factory=dict)
    _in_company: dict[frozenset[str], Collection[tuple[str, str]]] = field(default_factory=dict)

    def cut(self, placed: PlacedPiece, connection: Connection, why: str) -> Learned:
        """Find the smallest company in which a lumen was seen to fall short."""
        run = self.run
        group = self.posed.table.group_of(run.carrier)[connection.port]
        demand = self._demand(placed, connection)
        told = f"{placed.set}, {placed.piece}, {connection.lumen}: {why} (at {group} of {run.carrier}, {run.programme})"
        alike = (placed.set, demand, group)
        if alike not in self._alone:
            self._alone[alike] = self._short_alone(placed, connection, group)
        if self._alone[alike]:
            alone = Cut(run.carrier, frozenset({placed.set}), demand, group, 0, run.programme)
            return Learned(alone, told, certain=self.judge.holds_in_company)
        company = frozenset(run.sets)
        for name in run.sets:
            without = company - {name}
            if name != placed.set and (placed.set, placed.piece) in self._short_in(without):
                company = without
        there = [p for p in self.load.pieces if p.set in company and self._meets(p, demand, group)]
        enough = sum((p.set, p.piece) not in self.verdict.short for p in there)
        cut = Cut(run.carrier, company, demand, group, enough, run.programme)
        return Learned(cut, told, certain=False)

    def _demand(self, placed: PlacedPiece, connection: Connection) -> str:
        instrument, _, piece = placed.piece.split("/")[:3]
        return self.posed.demands.of_lumen[instrument, piece, connection.lumen]

    def _meets(self, placed: PlacedPiece, demand: str, group: str) -> bool:
        groups = self.posed.table.group_of(self.run.carrier)
        return any(groups[c.port] == group and self._demand(placed, c) == demand for c in placed.lumens)

    def _short_alone(self, placed: PlacedPiece, connection: Connection, group: str) -> bool:
        """Tell whether a lumen falls short even as the only one on the carrier, at any port of the group."""
        if len(placed.lumens) > 1:
            return False
        for port in self.posed.table.groups[self.run.carrier][group]:
            there = connection.model_copy(update={"port": port})
            moved = placed.model_copy(update={"position": port, "lumens": (there,)})
            alone = self._closed(self.load.model_copy(update={"sets": (placed.set,), "pieces": (moved,)}))
            if (placed.set, placed.piece) not in self.judge.thoroughly(alone).short:
                return False
        return True

    def _short_in(self, company: frozenset[str]) -> Collection[tuple[str, str]]:
        """Return what falls short where only some sets of the load are in it."""
        if company not in self._in_company:
            self._in_company[company] = self.judge.quickly(self._only(company)).short
        return self._in_company[company]

    def _only(self, sets: frozenset[str]) -> Load:
        """Return the load without the pieces of other sets, their ports capped."""
        kept = tuple(placed for placed in self.load.pieces if placed.set in sets)
        return self._closed(self.load.model_copy(update={"sets": tuple(sorted(sets)), "pieces": kept}))

    def _closed(self, load: Load) -> Load:
        """Cap every port that no piece takes, whatever the stock."""
        department = self.posed.department
        taken = {connection.port for placed in load.pieces for connection in placed.lumens}
        ports = department.carriers[load.carrier].ports
        caps = {port: caps_for(department, ports[port]) for port in ports if port not in taken}
        capped = tuple(CappedPort(port=port, cap=names[0]) for port, names in caps.items() if names)
        bare = tuple(port for port, names in caps.items() if not names)
        return load.model_copy(update={"capped_ports": capped, "open_ports": bare})
