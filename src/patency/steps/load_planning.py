"""Plans the loads for the sets that wait in a department."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.errors import InputError, InputErrors
from patency.load import read_plan, unknown_names
from patency.plan import plan_day
from patency.steps.files import read_text
from patency.steps.site_reading import read_site

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from patency.catalogue import Department
    from patency.load import Plan
    from patency.plan import Progress


def plan_site(
    folder: Path, time_limit_s: float = 60.0, on_progress: Callable[[str], None] | None = None
) -> tuple[Department, Plan]:
    """Plan the working day a department describes.

    Parameters
    ----------
    folder
        Holds the department's YAML files.
    time_limit_s
        Longest time to search for better plans and proofs [s].
    on_progress
        Called with what is being done.

    Returns
    -------
    tuple
        The department and its plan.

    Raises
    ------
    InputError
        When the department describes no working day.
    InputErrors
        With every fault of the department's description.
    """
    department = read_site(folder).department
    if department.day is None:
        raise InputError(str(folder), "no working day is described", "day: with date, shift and the sets waiting")

    def tell(progress: Progress) -> None:
        if on_progress is not None:
            on_progress(_words(progress))

    return department, plan_day(department, time_limit_s=time_limit_s, on_progress=tell)


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
