"""What a rule is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from patency.plan.checking.case import Case
    from patency.plan.checking.finding import Observation


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule of a plan.

    Parameters
    ----------
    name
        Its name.
    meaning
        What it asks for, in one sentence.
    look
        Finds where a plan breaks it. What other rules have to find, such as a name that does not exist, it passes over.
    """

    name: str
    meaning: str
    look: Callable[[Case], Iterable[Observation]]
