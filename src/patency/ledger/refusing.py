"""Why a command was not written down: every reason at once, each in one line."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Objection:
    """One reason.

    Parameters
    ----------
    where
        The thing it is about.
    what
        What is so.
    expected
        What would have to be so.
    """

    where: str
    what: str
    expected: str

    @property
    def line(self) -> str:
        """The reason as one line."""
        return f"{self.where}: {self.what} (expected: {self.expected})"


@dataclass(frozen=True)
class Refused:
    """A command that was not written down, and nothing of it.

    Parameters
    ----------
    reasons
        At least one.
    """

    reasons: tuple[Objection, ...]

    @property
    def text(self) -> str:
        """All reasons, one a line."""
        return "\n".join(reason.line for reason in self.reasons)

    @classmethod
    def because(cls, where: str, what: str, expected: str) -> Refused:
        """Refuse for one reason.

        Parameters
        ----------
        where
            The thing it is about.
        what
            What is so.
        expected
            What would have to be so.

        Returns
        -------
        Refused
            The refusal.
        """
        return cls((Objection(where, what, expected),))
