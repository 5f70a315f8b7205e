"""A plan whose pieces are moved where geometry and jets ask for it, with what each move costs the water."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from patency.plan.by_reach.exchanges import Exchanges
from patency.plan.by_reach.lying import Floors, where_words
from patency.plan.limits_in_force import on_day
from patency.plan.planner import MARGIN
from patency.plan.time_limit import TimeLimit
from patency.reach import Rule, placing_reach, stated_anew, without_room

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from patency.catalogue import Department
    from patency.load import Load, Plan
    from patency.plan.by_reach.exchanges import Exchange, PieceKey
    from patency.plan.water import Judge, Verdict
    from patency.reach import LoadReach, Triangles

# How many moves one load may take, and how many of the promising places of a piece are looked at with the whole load.
_MOVES = 16
_LOOKED_AT = 3
# A share so little above the limit counts as hardly reaching it: about what the computation can tell.
_HARDLY = 0.02
_TOLD = 0.01  # of a piece's surface: a smaller loss is within what the computation can tell
# What is asked of one piece somewhere else; that it lies on another, or is moved, is asked of the load as a whole.
_OF_ONE_PIECE = (Rule.SWEEP, Rule.OUTSIDE, Rule.INTERSECTS, Rule.POKES, Rule.SLIPS, Rule.KEEPS_WATER)


class _Score(NamedTuple):
    """How a load stands; the smaller the better, the first that differs decides."""

    broken: int
    no_room: int
    below: int
    hardly: int
    not_struck: float


def place_by_reach(
    department: Department,
    plan: Plan,
    look: Callable[[Load], LoadReach],
    judge: Judge,
    meshes: Mapping[str, Triangles] | None = None,
    on_progress: Callable[[str], None] | None = None,
    keep: Callable[[Load, LoadReach], None] | None = None,
    limit: TimeLimit | None = None,
) -> Plan:
    """Move pieces of a plan that break a rule where they are, or of which jets strike too little.

    Every exact rule comes before the share that jets strike, and that share counts as a limit where the site sets one:
    baskets in which not everything finds room are laid closer, and pieces that break a rule, fall below the limit or
    hardly reach it are tried elsewhere: on the floor of their basket or pod, then at other ports or in other baskets of
    their set. Of the places that help the one is taken that leaves most of the load struck. Chains, caps, stock, times
    and loads stay as they were planned, every lumen that was fed stays fed.

    Parameters
    ----------
    department
        The department.
    plan
        Its plan.
    look
        Computes geometry and jets of a load. What it returns is not kept here.
    judge
        Answers about the water.
    meshes
        Name of a mesh file to its triangles in metres.
    on_progress
        Called with what is being done.
    keep
        Called with each load as it is now and what was computed of it.
    limit
        How long it may take, each load its share of what is left. A look at a load that has begun is finished; loads
        for which no time was left stay as they are, and ``keep`` is not called with them.

    Returns
    -------
    Plan
        With the moves and their costs in ``moved_for_reach``, the weakest margin as it is now, and what the time limit
        ended in ``cut_short``.

    Raises
    ------
    PhysicsError
        If a pump is driven beyond its run-out.
    """
    limit = limit or TimeLimit()
    in_force = on_day(department, plan.day)
    loads, told = [], []
    for done, load in enumerate(plan.loads):
        if on_progress is not None:
            on_progress(f"load {load.id}: places by what the jets strike")
        if limit.over(f"load {load.id}: what the jets strike"):
            loads.append(load)
            continue
        mover = _Mover(in_force, look, judge, meshes, limit.part(1 / (len(plan.loads) - done)))
        better, words = mover.improve(load, keep)
        loads.append(better)
        told += [f"load {load.id}: {line}" for line in words]
    plan = plan.model_copy(update={"cut_short": tuple(dict.fromkeys((*plan.cut_short, *limit.cut_short)))})
    if not told:
        return plan
    weakest = min((w for one in loads if (w := judge.thoroughly(one).weakest) is not None), default=None)
    objective = plan.objective if weakest is None else {**plan.objective, MARGIN: weakest}
    return plan.model_copy(update={"loads": tuple(loads), "moved_for_reach": tuple(told), "objective": objective})


class _Mover:
    """Moves the pieces of a load."""

    def __init__(
        self,
        department: Department,
        look: Callable[[Load], LoadReach],
        judge: Judge,
        meshes: Mapping[str, Triangles] | None,
        limit: TimeLimit,
    ) -> None:
        self._department = department
        self._exchanges = Exchanges(department)
        self._floors = Floors(department, meshes, limit)
        self._look = look
        self._meshes = meshes
        self._judge = judge
        self._limit = limit
        least = department.limits.load.struck_share
        self._least = None if least is None else least.value

    def improve(self, load: Load, keep: Callable[[Load, LoadReach], None] | None) -> tuple[Load, list[str]]:
        """Move pieces as long as that makes the load better; return it with what was done."""
        as_fed = load
        load, closer_words = self._floors.with_room(as_fed)
        laid = found = self._look(load)
        told: list[str] = []
        by_moves = False
        tried: set[PieceKey] = set()
        for _ in range(_MOVES):
            key = next((one for one in self._troubled(load, found) if one not in tried), None)
            if key is None or self._over(load):
                break
            tried.add(key)
            lain = self._lain_elsewhere(load, found, key)
            taken = lain or self._taken(load, found, key)
            if taken is not None:
                load, found, words = taken
                by_moves = lain is not None
                told.append(words)
        if by_moves:
            found = stated_anew(self._department, load, found, self._meshes)
        if keep is not None:
            keep(load, found)
        return load, [*self._closer(as_fed, laid, closer_words), *told]

    def _closer(self, load: Load, found: LoadReach, words: list[str]) -> list[str]:
        """Say which baskets were laid closer, what it is for and, where there is time to look, what it costs."""
        if not words or self._limit.left_s <= 0:
            return ["; ".join(words)] if words else []
        before = self._look(load)
        gains = _gains(self._score(before), self._score(found))
        costs = self._most_lost(load, self._shares(before), self._shares(found))
        return ["; ".join((*words, ", ".join((*gains, *costs))))]

    def _over(self, load: Load) -> bool:
        return self._limit.over(f"load {load.id}: the search for better places for what the jets strike too little")

    def _troubled(self, load: Load, found: LoadReach) -> Iterator[PieceKey]:
        """List the pieces that break a rule or find no room, then those struck too little, the least first."""
        broken = {fault.piece for fault in found.faults}
        lost = {*without_room(found.arranged)} - broken
        for those in (broken, lost):
            yield from ((one.set, one.piece) for one in load.pieces if (one.set, one.piece) in those)
        shares = self._shares(found)
        weak = [key for key in shares if key not in broken and self._falls_short(shares[key], _HARDLY)]
        yield from sorted(weak, key=lambda key: (shares[key], key))

    def _lain_elsewhere(self, load: Load, found: LoadReach, key: PieceKey) -> tuple[Load, LoadReach, str] | None:
        """Take the best other place on the floor on which a piece lies, where the whole load is better with it."""
        placed = next(one for one in load.pieces if (one.set, one.piece) == key)
        broken = sum(fault.piece == key for fault in found.faults)
        score, shares = self._score(found), self._shares(found)
        now = (broken, -shares.get(key, 0.0))
        for place in self._floors.places(load, found, placed, broken)[:_LOOKED_AT]:
            if (place.broken, -(place.struck_share or 0.0)) >= now:
                break
            other, seen = self._floors.moved(load, found, placed, place)
            if self._score(seen) < score:
                words = f"{self._floors.words(placed)} lies {where_words(placed, place.lies)}"
                gains = [words, *_gains(score, self._score(seen)), *self._lost(load, shares, self._shares(seen), key)]
                return other, seen, "; ".join((gains[0], ", ".join(gains[1:])))
        return None

    def _lost(
        self, load: Load, before: dict[PieceKey, float], after: dict[PieceKey, float], key: PieceKey
    ) -> Iterator[str]:
        """Say what jets strike of the piece that was moved and what that costs the piece that loses most."""
        if key not in before or key not in after:
            return
        yield f"jets strike {100 * after[key]:.0f} % of it instead of {100 * before[key]:.0f} %"
        yield from self._most_lost(load, before, after, key)

    def _most_lost(
        self, load: Load, before: dict[PieceKey, float], after: dict[PieceKey, float], but: PieceKey | None = None
    ) -> Iterator[str]:
        """Say which piece but the one that was moved loses most; nothing where no two shares are known."""
        others = [one for one in load.pieces if (one.set, one.piece) in before.keys() & after.keys() - {but}]
        losses = [(before[one.set, one.piece] - after[one.set, one.piece], one) for one in others]
        most, loser = max(losses, key=lambda one: one[0], default=(0.0, None))
        if loser is not None and most >= _TOLD:
            was, now = (100 * shares[loser.set, loser.piece] for shares in (before, after))
            yield f"most is lost by {self._floors.words(loser)}: {now:.0f} % instead of {was:.0f} %"
        elif before:
            yield "no other piece loses a percentage point"

    def _taken(self, load: Load, found: LoadReach, key: PieceKey) -> tuple[Load, LoadReach, str] | None:
        """Take the best other place of a piece, where there is one that is better for the load as a whole."""
        promising = self._promising(load, found, key)[:_LOOKED_AT]
        if not promising:
            return None
        before, score = self._judge.thoroughly(load), self._score(found)
        for exchange in promising:
            if self._over(load):
                break
            after = self._judge.thoroughly(exchange.load)
            if after.short.keys() - before.short.keys():
                continue
            seen = self._look(exchange.load)
            if self._score(seen) < score:
                return exchange.load, seen, _in_words(exchange, (score, self._score(seen)), (before, after))
        return None

    def _promising(self, load: Load, found: LoadReach, key: PieceKey) -> list[Exchange]:
        """List the other places that are better for the pieces that move, the best first."""
        shares = self._shares(found)
        ranked = []
        for exchange in self._exchanges.of(load, key):
            if self._over(load):
                break
            moved = [(one.set, one.piece) for one in exchange.moved]
            broken = sum(fault.piece in moved and fault.rule in _OF_ONE_PIECE for fault in found.faults)
            lost = len({*moved} & {*without_room(found.arranged)})
            now = self._scored(broken, lost, [shares.get(one) for one in moved])
            looks = [
                placing_reach(self._department, exchange.load, found, one, self._meshes, broken)
                for one in exchange.moved
            ]
            broken_there = sum(len(one.faults) for one in looks)
            then = self._scored(broken_there, 0, [one.struck_share for one in looks])
            if then < now:
                ranked.append((then, exchange))
        return [exchange for _, exchange in sorted(ranked, key=lambda one: one[0])]

    def _score(self, found: LoadReach) -> _Score:
        shares = list(self._shares(found).values())
        return self._scored(len(found.faults), len(without_room(found.arranged)), shares)

    def _scored(self, broken: int, no_room: int, shares: Sequence[float | None]) -> _Score:
        """Score pieces by the rules they break and their shares; a share nobody knows counts as none."""
        known = [share or 0.0 for share in shares]
        below, hardly = (sum(self._falls_short(share, by) for share in known) for by in (0.0, _HARDLY))
        return _Score(broken, no_room, below, hardly, round(sum(1.0 - share for share in known), 2))

    def _shares(self, found: LoadReach) -> dict[PieceKey, float]:
        if found.strikes is None:
            return {}
        return {key: one.struck_share for key, one in found.strikes.pieces.items() if not found.gaps(key)}

    def _falls_short(self, share: float, by: float) -> bool:
        return self._least is not None and share < self._least + by


def _in_words(exchange: Exchange, scores: tuple[_Score, _Score], verdicts: tuple[Verdict, Verdict]) -> str:
    """Say what was done, what it is for and what it costs the water."""
    gains = _gains(*scores)
    before, after = (one.weakest for one in verdicts)
    if before is not None and after is not None:
        gains.append(f"weakest margin of its lumens {after:.3g} instead of {before:.3g}")
    return f"{exchange.words}; " + ", ".join(gains)


def _gains(was: _Score, now: _Score) -> list[str]:
    """Say what is better in the load, and which of its rules and counts is worse for it."""
    told = [
        f"{what}: {after} instead of {before}"
        for what, before, after in (
            ("rules broken in the load", was.broken, now.broken),
            ("pieces without room", was.no_room, now.no_room),
            ("pieces struck too little", was.below, now.below),
        )
        if after != before
    ]
    return told or (["more of the load is struck"] if now < was else [])
