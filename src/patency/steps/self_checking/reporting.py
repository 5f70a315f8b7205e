"""The self-check as a report to file and as plain data."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from patency.papers import Report
from patency.texts import people_moment

if TYPE_CHECKING:
    from patency.steps.self_checking.checking import SelfCheck


def self_check_report(outcome: SelfCheck) -> Report:
    """Arrange the results as a table.

    Parameters
    ----------
    outcome
        The results.

    Returns
    -------
    Report
        One row for each check.
    """
    agreeing = sum(result.agrees for result in outcome.results)
    return Report(
        title="Self-check against published values",
        summary=f"{agreeing} of {len(outcome.results)} checks agree with their published values.",
        heads=("What", "Source", "Expected", "Computed", "Tolerance", "Agrees"),
        rows=tuple(
            (
                result.name,
                result.source,
                f"{result.expected:.9g} {_unit(result.unit)}".strip(),
                f"{result.computed:.9g}",
                f"{result.tolerance:.2g} ({result.basis})",
                "yes" if result.agrees else "NO",
            )
            for result in outcome.results
        ),
        shares=(3.0, 4.0, 1.9, 1.4, 2.6, 0.8),
        notes=(
            f"Run at {people_moment(outcome.at)} with "
            + ", ".join(f"{name} {version}" for name, version in outcome.versions.items()),
            "Agreement with published values shows that the formulas are computed as published on this machine.",
            "It validates no process: that is the department's own task.",
        ),
    )


def self_check_data(outcome: SelfCheck) -> dict[str, Any]:
    """Return the results as plain values for JSON.

    Parameters
    ----------
    outcome
        The results.

    Returns
    -------
    dict
        Format ``patency-self-check/1``.
    """
    return {
        "format": "patency-self-check/1",
        "at": outcome.at.isoformat(),
        "versions": outcome.versions,
        "all_agree": outcome.all_agree,
        "results": [asdict(result) for result in outcome.results],
    }


def _unit(unit: str) -> str:
    return "" if unit == "1" else unit
