"""What a published check is, and what came of running it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable


@dataclass(frozen=True, slots=True)
class PublishedCheck:
    """One value that somebody else has published, and how Patency computes the same.

    Parameters
    ----------
    topic
        What it belongs to, such as ``water``.
    name
        What is computed, in one line.
    source
        Document, edition, table or page; or "closed form" with its name.
    expected
        The published value.
    unit
        Its unit.
    tolerance
        Largest difference that still agrees, in the same unit: half the last printed digit, or as stated in ``basis``.
    basis
        Why the tolerance is what it is.
    compute
        Computes the value with the installed package.
    """

    topic: str
    name: str
    source: str
    expected: float
    unit: str
    tolerance: float
    basis: str
    compute: Callable[[], float]


@dataclass(frozen=True, slots=True)
class CheckResult:
    """A check that was run.

    Parameters
    ----------
    topic, name, source, expected, unit, tolerance, basis
        As in the check.
    computed
        What came out on this machine.
    agrees
        Whether it lies within the tolerance.
    """

    topic: str
    name: str
    source: str
    expected: float
    unit: str
    tolerance: float
    basis: str
    computed: float
    agrees: bool


def run(check: PublishedCheck) -> CheckResult:
    """Run one check.

    Parameters
    ----------
    check
        The check.

    Returns
    -------
    CheckResult
        What came out; not-a-number never agrees.
    """
    computed = check.compute()
    return CheckResult(
        topic=check.topic,
        name=check.name,
        source=check.source,
        expected=check.expected,
        unit=check.unit,
        tolerance=check.tolerance,
        basis=check.basis,
        computed=computed,
        agrees=abs(computed - check.expected) <= check.tolerance,
    )
