"""Checks a plan a second time, rule by rule, against the department's description."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

from patency.errors import InputError
from patency.load import read_plan
from patency.plan import RULES, check_plan, open_points
from patency.steps.files import read_text
from patency.steps.load_planning import other_fits
from patency.steps.site_reading import read_site

if TYPE_CHECKING:
    from pathlib import Path

    from patency.plan import Finding


@dataclass(frozen=True, slots=True)
class PlanCheck:
    """What the second check of a plan found.

    Parameters
    ----------
    site
        Name of the place.
    loads
        How many loads the plan has.
    rules
        How many rules were checked.
    findings
        Where a rule is broken.
    open_points
        Where a missing datum leaves a rule undecided; each counts as no until a person decides.
    other_fits
        Loads that were planned with another fit to measurements than the one in force.
    """

    site: str
    loads: int
    rules: int
    findings: tuple[Finding, ...]
    open_points: tuple[Finding, ...]
    other_fits: tuple[str, ...]

    @property
    def data(self) -> dict[str, object]:
        """The same for programs."""
        return {"format": "patency-plan-check/1", **asdict(self)}


def check_plan_file(plan: Path, folder: Path) -> PlanCheck:
    """Check a plan file.

    Parameters
    ----------
    plan
        A file of format ``patency-plan/1``.
    folder
        Holds the YAML files of the department the plan is for.

    Returns
    -------
    PlanCheck
        What was found.

    Raises
    ------
    InputError
        When the plan cannot be read, or the department describes no working day to check it against.
    InputErrors
        With every fault of the plan's form or of the department.
    """
    read = read_plan(read_text(plan), str(plan))
    department = read_site(folder).department
    if department.day is None:
        raise InputError(str(folder), "no working day is described", "day: with date, shift and the sets waiting")
    return PlanCheck(
        department.site,
        len(read.loads),
        len(RULES),
        tuple(check_plan(read, department, department.day)),
        tuple(open_points(read, department, department.day)),
        other_fits(department, read),
    )
