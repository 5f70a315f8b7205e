"""The independent check of a plan: every rule once more, from the catalogue alone."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.plan.checking.case import Case
from patency.plan.checking.finding import Finding
from patency.plan.checking.rules import RULES
from patency.quantities import Answer

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue import Day, Department
    from patency.load import Plan


def check_plan(plan: Plan, department: Department, day: Day) -> list[Finding]:
    """Find every place where a plan breaks a rule.

    Shares no code with what makes plans, nor with the geometry it uses: two implementations that agree are
    less likely to be wrong in the same way.

    Parameters
    ----------
    plan
        The plan.
    department
        The catalogue it has to agree with.
    day
        The working day it is for: which sets wait, and the shift.

    Returns
    -------
    list[Finding]
        In the order of the rules; empty when none is broken. What a missing datum leaves open is not in it: see
        ``open_points``.
    """
    return [finding for finding in _all(plan, department, day) if finding.answer is Answer.NO]


def open_points(plan: Plan, department: Department, day: Day) -> list[Finding]:
    """Find every place where a missing datum keeps a rule from being decided.

    Parameters
    ----------
    plan
        The plan.
    department
        The catalogue.
    day
        The working day.

    Returns
    -------
    list[Finding]
        In the order of the rules. Each counts as no until a person with the authority decides.
    """
    return [finding for finding in _all(plan, department, day) if finding.answer is Answer.UNKNOWN]


def _all(plan: Plan, department: Department, day: Day) -> Iterator[Finding]:
    case = Case(plan, department, day)
    for rule in RULES:
        for seen in dict.fromkeys(rule.look(case)):
            yield Finding(rule.name, seen.sentence, seen.load, seen.set, seen.piece, seen.port, seen.answer)
