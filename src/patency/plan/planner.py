"""A day's plan: search, arrange, look at the water, learn from what falls short, and search again."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

from patency.errors import InputError
from patency.load import LeftOut, Plan
from patency.plan.arranging_whole import cannot_be_arranged
from patency.plan.conflict_words import in_words
from patency.plan.filling import Filled, arrange_one, as_run, fill
from patency.plan.limits_in_force import on_day
from patency.plan.placing import load_of
from patency.plan.posing import pose
from patency.plan.search.conflict import find_conflict, restricted
from patency.plan.search.greedy import quick_plan
from patency.plan.search.integer import Budget
from patency.plan.search.levels import search
from patency.plan.search.packing import fits_alone
from patency.plan.search.problem import OBJECTIVES, Cut, values_of
from patency.plan.shortfalls import Learned, learn
from patency.plan.thirst import STRENGTHS, better, thirst_after
from patency.plan.time_limit import TimeLimit
from patency.plan.water import FlowJudge

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from patency.catalogue import Day, Department
    from patency.plan.posing import Posed
    from patency.plan.search.levels import Searched
    from patency.plan.search.problem import Run
    from patency.plan.water import Judge, Verdict

# Units of the solver's work for each second of the limit: on two cores the work runs out before the clock does.
_WORK_PER_S = 0.3
# Share of the time that the search may take; what is left tells why sets stay out.
_SEARCHING = 0.8
# How often first fit goes around loads that the quick matching does not arrange, and then around those that little work
# of the model of a whole load does not arrange either, before the first plan is left to the search.
_QUICK_TRIALS = 8
_QUICK_WORK = 0.3
_OUT, _LOADS = OBJECTIVES.index("sets left out"), OBJECTIVES.index("loads")
_A_WAY = "the search for a way to feed what falls short"
MARGIN = "weakest margin"
"""Name of the last objective: the smallest ratio of a lumen's flow, or what else is asked of it, to its limit."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far planning has come.

    Parameters
    ----------
    stage
        What is being done.
    objective
        The best values so far, in order of importance.
    bound
        What is proven about each.
    plan
        A complete plan, where there is a new one; its flow may not have been looked at yet.
    """

    stage: str
    objective: Mapping[str, float]
    bound: Mapping[str, float]
    plan: Plan | None = None


def plan_day(
    department: Department,
    *,
    day: Day | None = None,
    judge: Judge | None = None,
    on_progress: Callable[[Progress], None] | None = None,
    limit: TimeLimit | None = None,
) -> Plan:
    """Plan the loads of a day.

    Parameters
    ----------
    department
        The department: what exists, in what stock.
    day
        The day; that of the department where none is given.
    judge
        Answers about the water; the flow computation where none is given.
    on_progress
        Is told how far planning has come.
    limit
        How long it may take. A first plan and the water in its loads are computed whatever time that takes.

    Returns
    -------
    Plan
        The loads with what is proven about them, the sets left out with the reason, and where not everything can be
        planned a smallest group of facts that conflict. Equal input gives equal output, unless the clock ended what
        the limit on work would have allowed; then ``cut_short`` says what.

    Raises
    ------
    InputError
        When there is no day to plan.
    """
    day = day or department.day
    if day is None:
        raise InputError("day", "the department names no day to plan", "a day with the sets that wait")
    in_force = on_day(department, day.date)
    judge = judge or FlowJudge(department, day.date)
    return _Planner(pose(in_force, day), judge, on_progress or (lambda _: None), limit or TimeLimit()).plan()


class _Watered(NamedTuple):
    """A whole plan with what the water says of it."""

    searched: Searched
    filled: Filled
    verdicts: list[Verdict]

    @property
    def rank(self) -> tuple[int, ...]:
        """How many pieces fall short, then the objectives: the smaller the better, the first that differs decides."""
        return sum(len(verdict.short) for verdict in self.verdicts), *self.searched.values


class _Planner:
    """One day on its way to a plan."""

    def __init__(self, posed: Posed, judge: Judge, tell: Callable[[Progress], None], limit: TimeLimit) -> None:
        self._posed = posed
        self._judge = judge
        self._tell = tell
        self._limit = limit
        self._budget = Budget(_WORK_PER_S * limit.seconds, limit.part(_SEARCHING))
        self._grounds: dict[Cut, str] = {}
        self._certain: Searched | None = None
        self._told_plan = False
        self._first: Filled | None = None
        self._conflict: tuple[str, ...] = ()

    def plan(self) -> Plan:
        """Search until every lumen of a plan is fed, or nothing new is learned or left to be spent."""
        self._set_aside()
        searched: Searched | None = None
        best: _Watered | None = None
        while True:
            known = () if searched is None else searched.groups
            searched = search(self._posed.problem, self._budget, self._heard, known)
            if not searched.proven:
                self._budget.limit.over("the search for better loads and for proofs that there are none")
            filled = fill(self._posed, searched.runs, self._budget)
            if isinstance(filled, Cut) and not self._budget.spent:
                if self._take(searched, [self._unarranged(searched, filled)]):
                    continue
                raise AssertionError("a cut did not cut")  # the search never returns what a cut forbids
            if isinstance(filled, Cut):
                if best is not None:
                    break
                filled = self._first or self._arrangeable(searched.runs)
            watered = self._watered(searched, filled)
            best = watered if best is None or watered.rank <= best.rank else best
            if self._budget.spent or not self._take(searched, self._learned(watered)):
                break
        if any(verdict.short for verdict in best.verdicts):
            self._budget.limit.over(_A_WAY)
        return self._written(best)

    def _set_aside(self) -> None:
        """Leave out what no carrier takes even alone, so that the search need not find it out among the others."""
        problem = self._posed.problem
        never = [name for name in problem.sets if not fits_alone(problem, name, self._budget)]
        told = [self._reason(name, [name], self._budget) for name in never]
        kept = restricted(problem, [name for name in problem.sets if name not in never])
        self._posed = replace(self._posed, problem=kept, left_out=(*self._posed.left_out, *told))

    def _reason(self, name: str, wanted: list[str], budget: Budget) -> LeftOut:
        """Give a set that stays out the smallest group of facts that keep it out of the company of others."""
        conflict = find_conflict(self._posed.problem, wanted, budget)
        if conflict is None:
            return LeftOut(set=name, why="no plan with it was found in the time given")
        words = in_words(self._posed, conflict, self._grounds)
        self._conflict = self._conflict or tuple(words)
        return LeftOut(set=name, why="these facts cannot all hold: " + "; ".join(words))

    def _take(self, searched: Searched, learned: list[Learned]) -> bool:
        """Take what was learned into the problem; tell whether anything was."""
        new = [finding for finding in learned if finding.cut not in self._grounds]
        if not new:
            return False
        self._grounds |= {finding.cut: finding.why for finding in new}
        if self._certain is None and not all(finding.certain for finding in new):
            self._certain = searched
        problem = replace(self._posed.problem, cuts=(*self._posed.problem.cuts, *(finding.cut for finding in new)))
        self._posed = replace(self._posed, problem=problem)
        return True

    def _unarranged(self, searched: Searched, cut: Cut) -> Learned:
        run = next(r for r in searched.runs if r.carrier == cut.carrier and frozenset(r.sets) == cut.company)
        why = f"{', '.join(run.sets)} find no ports together on {run.carrier}"
        return Learned(cut, why, cannot_be_arranged(self._posed, run, self._budget))

    def _arrangeable(self, runs: tuple[Run, ...]) -> Filled:
        """Leave out the loads that find no arrangement; there is no time for others."""
        while isinstance(filled := fill(self._posed, runs, self._budget), Cut):
            cut = filled
            runs = tuple(run for run in runs if (run.carrier, frozenset(run.sets)) != (cut.carrier, cut.company))
        return filled

    def _learned(self, watered: _Watered) -> list[Learned]:
        """Turn what falls short into cuts."""
        learned: list[Learned] = []
        for run, load, verdict in zip(watered.filled.runs, watered.filled.loads, watered.verdicts, strict=True):
            for finding in learn(self._posed, run, load, verdict, self._judge):
                learned.append(finding)
                if self._budget.limit.over(_A_WAY):
                    return learned
        return learned

    def _watered(self, searched: Searched, filled: Filled) -> _Watered:
        """Look at the water in every load, and move weak lumens nearer to the feed where that helps."""
        runs, loads = list(filled.runs), list(filled.loads)
        verdicts: list[Verdict] = []
        for position, load in enumerate(filled.loads):
            verdicts.append(self._judge.thoroughly(load))
            quick = self._judge.quickly(load)
            for strength in STRENGTHS:
                if self._budget.limit.over("moving weak lumens nearer to the feed"):
                    break
                thirst = thirst_after(quick, strength)
                found = thirst and arrange_one(self._posed, runs[position], runs, thirst, self._budget)
                if not found:
                    continue
                run = as_run(self._posed, runs[position], found)
                moved = load_of(self._posed, run, found, load.id, load.machine)
                again = self._judge.quickly(moved)
                if not better(again, quick):
                    continue
                verdict = self._judge.thoroughly(moved)
                if better(verdict, verdicts[position]):
                    runs[position], loads[position], verdicts[position], quick = run, moved, verdict, again
        return _Watered(searched, Filled(tuple(runs), tuple(loads)), verdicts)

    def _heard(self, searched: Searched) -> None:
        plan = None
        if not self._told_plan:
            self._told_plan = True
            plan = self._quick_plan(searched)
        self._tell(Progress("search", *self._numbers(searched.values, searched.bounds), plan))

    def _quick_plan(self, searched: Searched) -> Plan | None:
        """Arrange the first plan of the search; where a load of it finds no arrangement, first fit goes around it."""
        problem, runs = self._posed.problem, searched.runs
        for trial in range(2 * _QUICK_TRIALS):
            filled = fill(self._posed, runs, self._budget, 0.0 if trial < _QUICK_TRIALS else _QUICK_WORK)
            if isinstance(filled, Filled):
                self._first = filled
                planned = {name for run in runs for name in run.sets}
                waiting = [LeftOut(set=n, why="not planned yet") for n in problem.sets if n not in planned]
                return self._plan(searched, filled, waiting, ())
            if self._budget.limit.left_s <= 0:
                break
            problem = replace(problem, cuts=(*problem.cuts, filled))
            runs = quick_plan(problem)
        return None

    def _numbers(self, values: tuple[int, ...], bounds: tuple[int, ...]) -> tuple[dict[str, float], dict[str, float]]:
        """Name the objectives; sets that were never planned count as left out."""
        never = len(self._posed.left_out)
        shift = [never if index == _OUT else 0 for index in range(len(OBJECTIVES))]
        return (
            {name: float(v + s) for name, v, s in zip(OBJECTIVES, values, shift, strict=True)},
            {name: float(v + s) for name, v, s in zip(OBJECTIVES, bounds, shift, strict=True)},
        )

    def _written(self, watered: _Watered) -> Plan:
        searched, filled, verdicts = watered
        planned = [name for run in filled.runs for name in run.sets]
        budget = Budget(max(5.0, self._budget.work), self._limit)
        left_out = [
            self._reason(name, [*planned, name], budget) for name in self._posed.problem.sets if name not in planned
        ]
        conflicts = list(self._conflict)
        for load, verdict in zip(filled.loads, verdicts, strict=True):
            for (name, piece), why in verdict.short.items():
                told = f"load {load.id}: {name}, {piece} is not fed, and the search ended before a way was found: {why}"
                conflicts.append(told)
        plan = self._plan(searched, filled, left_out, tuple(conflicts))
        weakest = min((v.weakest for v in verdicts if v.weakest is not None), default=None)
        if weakest is not None:
            plan = plan.model_copy(update={"objective": {**plan.objective, MARGIN: weakest}})
        self._tell(Progress("done", plan.objective, plan.bound, plan))
        return plan

    def _plan(self, searched: Searched, filled: Filled, left_out: list[LeftOut], conflicts: tuple[str, ...]) -> Plan:
        values = values_of(self._posed.problem, filled.runs)
        bounds = self._still_proven(values, searched)
        objective, bound = self._numbers(values, bounds)
        return Plan(
            site=self._posed.department.site,
            day=self._posed.day.date,
            loads=filled.loads,
            left_out=(*self._posed.left_out, *left_out),
            conflicts=conflicts,
            loads_at_least=bounds[_LOADS],
            proven_fewest=values[: _LOADS + 1] == bounds[: _LOADS + 1],
            objective=objective,
            bound=bound,
            cut_short=self._limit.cut_short,
        )

    def _still_proven(self, values: tuple[int, ...], searched: Searched) -> tuple[int, ...]:
        """Say what is proven of a plan: nothing that rests on a cut which is not certain.

        A bound holds as long as the objectives before it are no worse than those it was proven with.
        """
        proven = self._certain or searched
        kept: list[int] = []
        same = True
        for value, bound, known in zip(values, proven.bounds, proven.values, strict=True):
            kept.append(min(bound, value) if same else 0)
            same = same and value <= known
        return tuple(kept)
