"""A lumen that falls short becomes a cut: in this company, this demand cannot be met at these places.

The finding holds for every larger company too: more consumers on a carrier never raise the pressure at a port.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from patency.load import CappedPort
from patency.plan.bounds import classes
from patency.plan.posing import caps_for
from patency.plan.problem import Cut

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.load import Connection, Load, PlacedPiece
    from patency.plan.posing import Posed
    from patency.plan.problem import Run
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
    by_key = {(placed.set, placed.piece): placed for placed in load.pieces}
    seen = set()
    for key, why in verdict.short.items():
        for connection in _lumens_named(by_key[key], why):
            learned = _cut(posed, run, load, verdict, judge, by_key[key], connection, why)
            if learned.cut not in seen:
                seen.add(learned.cut)
                for carrier in _alike(posed, run.carrier):
                    yield replace(learned, cut=replace(learned.cut, carrier=carrier))


def _alike(posed: Posed, carrier: str) -> list[str]:
    plain = replace(posed.problem, cuts=())
    return next(members for members in classes(plain).values() if carrier in members)


def _lumens_named(placed: PlacedPiece, why: str) -> list[Connection]:
    """Return the lumens of a piece that a reason names; all of them where it names none."""
    named = [connection for connection in placed.lumens if f"{connection.lumen}: " in why]
    return named or list(placed.lumens)


def _cut(
    posed: Posed,
    run: Run,
    load: Load,
    verdict: Verdict,
    judge: Judge,
    placed: PlacedPiece,
    connection: Connection,
    why: str,
) -> Learned:
    group = posed.table.group_of(run.carrier)[connection.port]
    demand = _demand(posed, placed, connection)
    told = f"{placed.set}, {placed.piece}, {connection.lumen}: {why} (at {group} of {run.carrier}, {run.programme})"
    if _short_alone(posed, run, load, judge, placed, connection, group):
        return Learned(Cut(run.carrier, frozenset({placed.set}), demand, group, 0, run.programme), told, certain=True)
    company = set(run.sets)
    for name in run.sets:
        without = company - {name}
        if name != placed.set and (placed.set, placed.piece) in judge.quickly(_only(posed, load, without)).short:
            company = without
    there = [p for p in load.pieces if p.set in company and _meets(posed, run, p, demand, group)]
    enough = sum((p.set, p.piece) not in verdict.short for p in there)
    return Learned(Cut(run.carrier, frozenset(company), demand, group, enough, run.programme), told, certain=False)


def _demand(posed: Posed, placed: PlacedPiece, connection: Connection) -> str:
    instrument, _, piece = placed.piece.split("/")[:3]
    return posed.demands.of_lumen[instrument, piece, connection.lumen]


def _meets(posed: Posed, run: Run, placed: PlacedPiece, demand: str, group: str) -> bool:
    groups = posed.table.group_of(run.carrier)
    return any(groups[c.port] == group and _demand(posed, placed, c) == demand for c in placed.lumens)


def _short_alone(
    posed: Posed, run: Run, load: Load, judge: Judge, placed: PlacedPiece, connection: Connection, group: str
) -> bool:
    """Tell whether a lumen falls short even as the only one on the carrier, at any port of the group."""
    if len(placed.lumens) > 1:
        return False
    for port in posed.table.groups[run.carrier][group]:
        moved = placed.model_copy(
            update={"position": port, "lumens": (connection.model_copy(update={"port": port}),)}
        )
        alone = _closed(posed, load.model_copy(update={"sets": (placed.set,), "pieces": (moved,)}))
        if (placed.set, placed.piece) not in judge.thoroughly(alone).short:
            return False
    return True


def _only(posed: Posed, load: Load, sets: set[str]) -> Load:
    """Return a load without the pieces of other sets, their ports capped."""
    kept = tuple(placed for placed in load.pieces if placed.set in sets)
    return _closed(posed, load.model_copy(update={"sets": tuple(sorted(sets)), "pieces": kept}))


def _closed(posed: Posed, load: Load) -> Load:
    """Cap every port that no piece takes, whatever the stock."""
    taken = {connection.port for placed in load.pieces for connection in placed.lumens}
    ports = posed.department.carriers[load.carrier].ports
    caps = {port: caps_for(posed.department, ports[port]) for port in ports if port not in taken}
    capped = tuple(CappedPort(port=port, cap=names[0]) for port, names in caps.items() if names)
    return load.model_copy(
        update={"capped_ports": capped, "open_ports": tuple(port for port, names in caps.items() if not names)}
    )
