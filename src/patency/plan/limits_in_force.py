"""The limits of the site that hold on a day: one out of date is as good as none."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.quantities import Limit

if TYPE_CHECKING:
    from datetime import date

    from patency.catalogue import Department


def on_day(department: Department, day: date) -> Department:
    """Return a department with those limits on arranging loads that hold on a day.

    Parameters
    ----------
    department
        The department.
    day
        The day.

    Returns
    -------
    Department
        The same, limits of loads and cycles that are out of date taken away. Limits of the flow stay: the flow looks at
        their dates itself.
    """
    limits = department.limits
    load = limits.load.model_copy(update=_expired(dict(limits.load), day))
    cycle = limits.cycle.model_copy(update=_expired(dict(limits.cycle), day))
    return department.model_copy(update={"limits": limits.model_copy(update={"load": load, "cycle": cycle})})


def _expired(fields: dict[str, object], day: date) -> dict[str, None]:
    return {name: None for name, limit in fields.items() if isinstance(limit, Limit) and not limit.holds_on(day)}
