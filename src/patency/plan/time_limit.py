"""How long planning may take, kept in one place by everything that works toward one plan."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Self

if TYPE_CHECKING:
    from collections.abc import Callable


def _still() -> float:
    return 0.0


@dataclass(frozen=True, slots=True)
class TimeLimit:
    """A time after which planning only finishes what it cannot leave out, and a list of what it left out for it.

    Parameters
    ----------
    seconds
        How long [s]. The work of the solver, which does not depend on the machine's speed, is limited in proportion.
    clock
        Returns the seconds of a clock that only goes forward. Where none is given no time passes: the work alone ends a
        search, and equal input gives equal output.
    ends
        What the clock shows when the time is over [s].
    noted
        What was cut short, in words; shared by the parts of a whole.
    """

    seconds: float = 60.0
    clock: Callable[[], float] = _still
    ends: float = float("inf")
    noted: dict[str, None] = field(default_factory=dict)

    @classmethod
    def from_now(cls, seconds: float, clock: Callable[[], float]) -> Self:
        """Return a limit that begins now.

        Parameters
        ----------
        seconds
            How long [s].
        clock
            The clock.

        Returns
        -------
        Self
            The limit.
        """
        return cls(seconds, clock, clock() + seconds)

    @property
    def left_s(self) -> float:
        """Time that is left [s]; endless without a clock, not above zero where it is over."""
        return self.ends - self.clock()

    @property
    def cut_short(self) -> tuple[str, ...]:
        """What was left out or ended early because the time was over."""
        return tuple(self.noted)

    def part(self, share: float) -> TimeLimit:
        """Return the limit of a part of the work; what that part does not use is left to what follows.

        Parameters
        ----------
        share
            Share of the time still left that the part may take, above 0.

        Returns
        -------
        TimeLimit
            Ends earlier; what is cut short in the part stands in the list of the whole. The work it allows is the same.
        """
        return replace(self, ends=self.clock() + share * max(self.left_s, 0.0))

    def note(self, what: str) -> None:
        """Keep what is not known or done because something was cut short.

        Parameters
        ----------
        what
            What it is, in words.
        """
        self.noted[what] = None

    def over(self, what: str) -> bool:
        """Tell whether the time is over, and if so keep what is cut short for it.

        Parameters
        ----------
        what
            What is not done then, in words.

        Returns
        -------
        bool
            Whether it is over.
        """
        if self.left_s > 0:
            return False
        self.note(what)
        return True
