"""Plans the loads for the sets that wait in a department."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from patency.catalogue import fit_in_force
from patency.errors import InputError, InputErrors
from patency.flow import FaultKind
from patency.load import read_plan, unknown_names
from patency.plan import FlowJudge, StaysFedJudge, TimeLimit, place_by_reach, plan_day, plan_staying_fed
from patency.steps.files import read_text
from patency.steps.interlocking import department_in_date
from patency.steps.mesh_reading import read_meshes
from patency.steps.reach_showing import Looks
from patency.steps.site_reading import read_site

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from patency.catalogue import Department
    from patency.load import Plan
    from patency.plan import Judge, Progress
    from patency.steps.interlocking import Interlock

_SEARCHING = 0.6  # share of the time; what is left is for places by what the jets strike


class Planned(NamedTuple):
    """A plan with the department it is for.

    Parameters
    ----------
    department
        The department.
    plan
        The plan.
    looks
        Computes what the jets strike; it knows the loads of the plan already where they were placed by it.
    """

    department: Department
    plan: Plan
    looks: Looks


def plan_site(
    folder: Path,
    limit: TimeLimit | None = None,
    on_progress: Callable[[str], None] | None = None,
    stay_fed: Sequence[str] = (),
    interlock: Interlock | None = None,
    *,
    by_reach: bool = True,
) -> Planned:
    """Plan the working day a department describes.

    Parameters
    ----------
    folder
        Holds the department's YAML files.
    limit
        How long it may take; what it ends before it is done stands in the plan's ``cut_short``. Without one the work of
        the solver alone is limited, and equal input gives equal output.
    on_progress
        Called with what is being done.
    stay_fed
        Kinds of single fault in which every lumen has to stay fed that does not hang on what has failed itself.
    interlock
        The calendar of tests; what is blocked is not planned with. None asks for no test.
    by_reach
        Whether pieces that break a rule of room, or of which jets strike too little, are tried elsewhere.

    Returns
    -------
    Planned
        The department, its plan and what was looked at on the way.

    Raises
    ------
    InputError
        When the department describes no working day, or a kind of fault has no such name.
    InputErrors
        With every fault of the department's description.
    """
    kinds = [_fault_kind(name) for name in stay_fed]
    department = read_site(folder).department
    if department.day is None:
        raise InputError(str(folder), "no working day is described", "day: with date, shift and the sets waiting")

    day = department.day.date
    if interlock is not None:
        department = department_in_date(department, interlock).department

    def tell(progress: Progress) -> None:
        if on_progress is not None:
            on_progress(_words(progress))

    limit = limit or TimeLimit()
    looks = Looks(department, read_meshes(department, folder), limit)
    searching = limit.part(_SEARCHING if by_reach else 1.0)
    if kinds:
        plan = plan_staying_fed(department, kinds, limit=searching, on_progress=tell)
        judge: Judge = StaysFedJudge(department, day, frozenset(kinds))
    else:
        plan = plan_day(department, limit=searching, on_progress=tell)
        judge = FlowJudge(department, day)
    if by_reach:
        plan = place_by_reach(department, plan, looks.anew, judge, looks.meshes, on_progress, looks.keep, limit)
    return Planned(department, plan.model_copy(update={"commissioned": fits_of_loads(department, plan)}), looks)


def _fault_kind(name: str) -> FaultKind:
    try:
        return FaultKind(name)
    except ValueError as error:
        kinds = ", ".join(f"'{kind}'" for kind in FaultKind)
        raise InputError("kind of fault", repr(name), f"one of {kinds}") from error


def fits_of_loads(department: Department, plan: Plan) -> dict[str, str]:
    """Say with which fit the flow of each load is computed now.

    Parameters
    ----------
    department
        The department.
    plan
        The plan.

    Returns
    -------
    dict[str, str]
        Load to the fit's id; loads of what was never commissioned are left out.
    """
    fits = {load.id: fit_in_force(department, load.carrier, load.machine_kind) for load in plan.loads}
    return {load: fit.id for load, fit in fits.items() if fit is not None}


def other_fits(department: Department, plan: Plan) -> tuple[str, ...]:
    """Name the loads that were planned with another fit than the one in force.

    Parameters
    ----------
    department
        The department.
    plan
        A plan, of any day.

    Returns
    -------
    tuple[str, ...]
        One line for each; empty where all are computed now as they were planned.
    """
    now = fits_of_loads(department, plan)
    lines = []
    for load in plan.loads:
        then, current = plan.commissioned.get(load.id), now.get(load.id)
        if then != current:
            lines.append(f"load {load.id}: planned {_with(then)}; its flow is computed now {_with(current)}")
    return tuple(lines)


def _with(fit: str | None) -> str:
    return "as described" if fit is None else f"with fit {fit[:12]}"


def read_planned(path: Path, folder: Path) -> tuple[Department, Plan]:
    """Read a plan file together with the department it is for.

    Parameters
    ----------
    path
        A file of format ``patency-plan/1``.
    folder
        Holds the department's YAML files.

    Returns
    -------
    tuple
        The department and the plan.

    Raises
    ------
    InputError
        When the plan is for another site.
    InputErrors
        With every fault of either, names in the plan that the department does not know included.
    """
    plan = read_plan(read_text(path), str(path))
    department = read_site(folder).department
    if plan.site != department.site:
        raise InputError(f"{path}: site", f"a plan for {plan.site!r}", f"a plan for {department.site!r}")
    unknown = unknown_names(plan, department, str(path))
    if unknown:
        raise InputErrors(unknown)
    return department, plan


def _words(progress: Progress) -> str:
    loads, proven = progress.objective.get("loads"), progress.bound.get("loads")
    if loads is None or proven is None:
        return f"planning: {progress.stage}"
    return f"planning: {progress.stage}, {loads:.0f} loads, at least {proven:.0f}"
