"""What the check of a plan finds."""

from __future__ import annotations

from dataclasses import dataclass

from patency.quantities import Answer


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


def mm(length_m: float) -> str:
    """Write a length for people.

    Parameters
    ----------
    length_m
        The length [m].

    Returns
    -------
    str
        In millimetres, rounded to a tenth.
    """
    return f"{round(length_m * 1000, 1):g} mm"
