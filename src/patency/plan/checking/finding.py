"""What the check of a plan finds, and what a rule is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.quantities import Answer

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from patency.plan.checking.case import Case


@dataclass(frozen=True, slots=True)
class Observation:
    """Where a rule is broken or cannot be decided.

    Parameters
    ----------
    sentence
        What is wrong there, in one sentence.
    load, set, piece, port
        Where: each the key or None where it says nothing.
    answer
        ``no`` where the rule is broken, ``unknown`` where a datum is missing to decide.
    """

    sentence: str
    load: str | None = None
    set: str | None = None
    piece: str | None = None
    port: str | None = None
    answer: Answer = Answer.NO


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


@dataclass(frozen=True, slots=True)
class Finding:
    """A place where a plan breaks a rule, or where a missing datum leaves the rule open.

    Parameters
    ----------
    rule
        Name of the rule.
    sentence
        What is wrong, in one sentence.
    load, set, piece, port
        Where: each the key or None where it says nothing.
    answer
        ``no`` where the rule is broken, ``unknown`` where it is open.
    """

    rule: str
    sentence: str
    load: str | None
    set: str | None
    piece: str | None
    port: str | None
    answer: Answer

    @property
    def line(self) -> str:
        """The finding as one line: where, rule, sentence."""
        named = (("load", self.load), ("set", self.set), ("piece", self.piece), ("port", self.port))
        where = ", ".join(f"{word} {key}" for word, key in named if key is not None) or "plan"
        return f"{where}: {self.sentence} (rule: {self.rule})"
