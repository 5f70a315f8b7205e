"""Runs every published check and says with which versions."""

from __future__ import annotations

import platform
from dataclasses import dataclass
from importlib import metadata
from typing import TYPE_CHECKING

from patency.steps.self_checking.check import CheckResult, PublishedCheck, run
from patency.steps.self_checking.on_flow import flow_checks
from patency.steps.self_checking.on_lethality import lethality_checks
from patency.steps.self_checking.on_reach import reach_checks
from patency.steps.self_checking.on_statistics import statistics_checks
from patency.steps.self_checking.on_water import water_checks

if TYPE_CHECKING:
    from datetime import datetime

_COMPUTING_WITH = ("patency", "numpy", "numba", "scipy", "ortools", "pydantic")


@dataclass(frozen=True, slots=True)
class SelfCheck:
    """All results with what they were computed with.

    Parameters
    ----------
    at
        When.
    versions
        Package to version; Python and the machine too.
    results
        One for each check.
    """

    at: datetime
    versions: dict[str, str]
    results: tuple[CheckResult, ...]

    @property
    def all_agree(self) -> bool:
        """Whether every check agrees."""
        return all(result.agrees for result in self.results)


def published_checks() -> list[PublishedCheck]:
    """List every check that ships with the package.

    Returns
    -------
    list[PublishedCheck]
        By topic.
    """
    return [*water_checks(), *lethality_checks(), *flow_checks(), *reach_checks(), *statistics_checks()]


def self_check(now: datetime) -> SelfCheck:
    """Run every check.

    Parameters
    ----------
    now
        When, for the record.

    Returns
    -------
    SelfCheck
        The results.
    """
    results = tuple(run(check) for check in published_checks())
    versions = {name: metadata.version(name) for name in _COMPUTING_WITH}
    versions |= {"Python": platform.python_version(), "machine": f"{platform.system()} {platform.machine()}"}
    return SelfCheck(now, versions, results)
