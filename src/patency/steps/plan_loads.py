"""Finds a load in a plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.errors import InputError

if TYPE_CHECKING:
    from patency.load import Load, Plan


def load_of_plan(plan: Plan, load_id: str) -> Load:
    """Find a load in a plan.

    Parameters
    ----------
    plan
        The plan.
    load_id
        Which load.

    Returns
    -------
    Load
        The load.

    Raises
    ------
    InputError
        When the plan has no such load.
    """
    for load in plan.loads:
        if load.id == load_id:
            return load
    known = ", ".join(load.id for load in plan.loads)
    raise InputError("load", f"no load {load_id!r} in this plan", known)
