"""The demo department and its plan, computed once for all tests of this room."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from patency.catalogue import Day, Department, read_department
from patency.demo import larkmere_texts
from patency.plan import NoJudge, Progress, plan_day

if TYPE_CHECKING:
    from patency.load import Plan


@cache
def larkmere() -> Department:
    return read_department(larkmere_texts())


def day_of(department: Department) -> Day:
    assert department.day is not None
    return department.day


@cache
def larkmere_plan() -> Plan:
    """Return the demo day's plan with a look at the water."""
    return plan_day(larkmere())


@cache
def dry_plan() -> tuple[Plan, tuple[Progress, ...]]:
    """Return the demo day's plan without a look at the water, and what was told on the way."""
    told: list[Progress] = []
    return plan_day(larkmere(), judge=NoJudge(), on_progress=told.append), tuple(told)
