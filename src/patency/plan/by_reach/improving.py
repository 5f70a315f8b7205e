"""A plan whose pieces are moved where geometry and jets ask for it, with what each move costs the water."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from patency.plan.by_reach.exchanges import Exchanges
from patency.plan.limits_in_force import on_day
from patency.plan.planner import MARGIN
from patency.reach import Rule, placing_reach, struck_share

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from patency.catalogue import Department
    from patency.load import Load, Plan
    from patency.plan.by_reach.exchanges import Exchange, PieceKey
    from patency.plan.water import Judge, Verdict
    from patency.reach import LoadReach, Triangles

# How many moves one load may take, and how many of the promising places of a piece are looked at with the whole load.
_MOVES = 6
_LOOKED_AT = 3
# What is asked of one piece somewhere else; that it lies on another, or is moved, is asked of the load as a whole.
_OF_ONE_PIECE = (Rule.SWEEP, Rule.INTERSECTS, Rule.POKES, Rule.SLIPS, Rule.KEEPS_WATER)


class _Score(NamedTuple):
    """How a load stands; the smaller the better, the first that differs decides."""

    broken: int
    below: int
    not_struck: float


def place_by_reach(
    department: Department,
    plan: Plan,
    look: Callable[[Load], LoadReach],
    judge: Judge,
    meshes: Mapping[str, Triangles] | None = None,
    on_progress: Callable[[str], None] | None = None,
) -> Plan:
    """Move pieces of a plan that break a rule where they are, or of which jets strike too little.

    Every exact rule comes before the share that jets strike, and that share counts as a limit where the site sets one:
    pieces that break a rule or fall below the limit are tried elsewhere, and of the places that help the one is taken
    that leaves most of the load struck. Chains, caps, stock, times and loads stay as they were planned, every lumen
    that was fed stays fed.

    Parameters
    ----------
    department
        The department.
    plan
        Its plan.
    look
        Computes geometry and jets of a load.
    judge
        Answers about the water.
    meshes
        Name of a mesh file to its triangles in metres.
    on_progress
        Called with what is being done.

    Returns
    -------
    Plan
        With the moves and their costs in ``moved_for_reach`` and the weakest margin as it is now.

    Raises
    ------
    PhysicsError
        If a pump is driven beyond its run-out.
    """
    mover = _Mover(on_day(department, plan.day), look, judge, meshes)
    loads, told = [], []
    for load in plan.loads:
        if on_progress is not None:
            on_progress(f"load {load.id}: places by what the jets strike")
        better, words = mover.improve(load)
        loads.append(better)
        told += [f"load {load.id}: {line}" for line in words]
    if not told:
        return plan
    weakest = min((w for one in loads if (w := judge.thoroughly(one).weakest) is not None), default=None)
    objective = plan.objective if weakest is None else {**plan.objective, MARGIN: weakest}
    return plan.model_copy(update={"loads": tuple(loads), "moved_for_reach": tuple(told), "objective": objective})


class _Mover:
    """Moves the pieces of one load after another."""

    def __init__(
        self,
        department: Department,
        look: Callable[[Load], LoadReach],
        judge: Judge,
        meshes: Mapping[str, Triangles] | None,
    ) -> None:
        self._department = department
        self._exchanges = Exchanges(department)
        self._look = look
        self._meshes = meshes
        self._judge = judge
        limit = department.limits.load.struck_share
        self._least = None if limit is None else limit.value

    def improve(self, load: Load) -> tuple[Load, list[str]]:
        """Move pieces as long as that makes the load better; return it with what was done."""
        found, told = self._look(load), list[str]()
        tried: set[PieceKey] = set()
        while len(told) < _MOVES:
            key = next((one for one in self._troubled(load, found) if one not in tried), None)
            if key is None:
                break
            tried.add(key)
            taken = self._taken(load, found, key)
            if taken is not None:
                load, found, words = taken
                told.append(words)
        return load, told

    def _troubled(self, load: Load, found: LoadReach) -> Iterator[PieceKey]:
        """List the pieces that break a rule, then those of which jets strike too little, the least first."""
        broken = {fault.piece for fault in found.faults}
        yield from ((one.set, one.piece) for one in load.pieces if (one.set, one.piece) in broken)
        shares = self._shares(found)
        weak = [key for key in shares if key not in broken and self._falls_short(shares[key])]
        yield from sorted(weak, key=lambda key: (shares[key], key))

    def _taken(self, load: Load, found: LoadReach, key: PieceKey) -> tuple[Load, LoadReach, str] | None:
        """Take the best other place of a piece, where there is one that is better for the load as a whole."""
        before = self._judge.thoroughly(load)
        score = self._score(found)
        for exchange in self._promising(load, found, key)[:_LOOKED_AT]:
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
            moved = [(one.set, one.piece) for one in exchange.moved]
            broken = sum(fault.piece in moved and fault.rule in _OF_ONE_PIECE for fault in found.faults)
            now = self._scored(broken, [shares.get(one) for one in moved])
            looks = [
                placing_reach(self._department, exchange.load, found, one, self._meshes, broken)
                for one in exchange.moved
            ]
            then = self._scored(sum(len(one.faults) for one in looks), [one.struck_share for one in looks])
            if then < now:
                ranked.append((then, exchange))
        return [exchange for _, exchange in sorted(ranked, key=lambda one: one[0])]

    def _score(self, found: LoadReach) -> _Score:
        return self._scored(len(found.faults), list(self._shares(found).values()))

    def _scored(self, broken: int, shares: list[float | None]) -> _Score:
        """Score pieces by the rules they break and their shares; a share nobody knows counts as none."""
        known = [share or 0.0 for share in shares]
        below = sum(self._falls_short(share) for share in known)
        return _Score(broken, below, round(sum(1.0 - share for share in known), 2))

    def _shares(self, found: LoadReach) -> dict[PieceKey, float]:
        if found.strikes is None:
            return {}
        return {key: struck_share(one) for key, one in found.strikes.pieces.items() if not found.gaps(key)}

    def _falls_short(self, share: float) -> bool:
        return self._least is not None and share < self._least


def _in_words(exchange: Exchange, scores: tuple[_Score, _Score], verdicts: tuple[Verdict, Verdict]) -> str:
    """Say what was done, what it is for and what it costs the water."""
    was, now = scores
    gains = []
    if now.broken < was.broken:
        gains.append(f"rules broken in the load: {now.broken} instead of {was.broken}")
    if now.below < was.below:
        gains.append(f"pieces struck too little: {now.below} instead of {was.below}")
    if not gains:
        gains.append("more of the load is struck")
    before, after = (one.weakest for one in verdicts)
    if before is not None and after is not None:
        gains.append(f"weakest margin of its lumens {after:.3g} instead of {before:.3g}")
    return f"{exchange.words}; " + ", ".join(gains)
