"""Whether the lumens of a planned load are fed: the question the search puts to the flow."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from patency.errors import PhysicsError
from patency.flow import fed, flow_of_load, nominal_flow_of_load
from patency.quantities import Answer

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from patency.catalogue import Department
    from patency.flow import LoadFlow
    from patency.load import Figure, Load, Reply


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the flow says of a load.

    Parameters
    ----------
    short
        Set and piece with a lumen that falls short, to the reason.
    margins
        Set and piece to its weakest ratio of a value to its limit; more than one is kept.
    """

    short: Mapping[tuple[str, str], str]
    margins: Mapping[tuple[str, str], float]

    @property
    def weakest(self) -> float | None:
        """The weakest margin of the load; None where nothing is held against a limit."""
        return min(self.margins.values(), default=None)


class Judge(Protocol):
    """Answers about the water in a load."""

    @property
    def holds_in_company(self) -> bool:
        """Whether what falls short in a load falls short in every load with more sets on the same carrier, too."""

    def thoroughly(self, load: Load) -> Verdict:
        """Judge a load with all uncertainty."""

    def quickly(self, load: Load) -> Verdict:
        """Judge a load at nominal sizes, to compare arrangements."""


@dataclass(frozen=True, slots=True)
class FlowJudge:
    """The judge that computes the flow.

    Parameters
    ----------
    department
        The department.
    day
        Day of the decision.
    """

    department: Department
    day: date

    @property
    def holds_in_company(self) -> bool:
        """True: more consumers on a carrier never raise the pressure at a port."""
        return True

    def thoroughly(self, load: Load) -> Verdict:
        """Judge a load by the lower ends of the predicted intervals.

        Parameters
        ----------
        load
            The load.

        Returns
        -------
        Verdict
            What falls short and the margins.
        """
        try:
            return self._judged(load, flow_of_load(self.department, load))
        except PhysicsError as fault:
            return _all_short(load, fault.line)

    def quickly(self, load: Load) -> Verdict:
        """Judge a load at nominal sizes.

        Parameters
        ----------
        load
            The load.

        Returns
        -------
        Verdict
            What falls short even so, and the nominal margins.
        """
        try:
            return self._judged(load, nominal_flow_of_load(self.department, load))
        except PhysicsError as fault:
            return _all_short(load, fault.line)

    def _judged(self, load: Load, load_flow: LoadFlow) -> Verdict:
        replies = fed(self.department, load, load_flow, self.day)
        short = {key: reply.why for key, reply in replies.items() if reply.answer is Answer.NO}
        margins = {key: margin for key, reply in replies.items() if (margin := margin_of(reply)) is not None}
        return Verdict(short, margins)


@dataclass(frozen=True, slots=True)
class NoJudge:
    """Takes every load as fed: for plans without a look at the flow."""

    @property
    def holds_in_company(self) -> bool:
        """True, as nothing falls short."""
        return True

    def thoroughly(self, load: Load) -> Verdict:  # noqa: ARG002 - every load alike
        """Say nothing against a load.

        Parameters
        ----------
        load
            The load.

        Returns
        -------
        Verdict
            An empty one.
        """
        return Verdict({}, {})

    def quickly(self, load: Load) -> Verdict:
        """Say nothing against a load.

        Parameters
        ----------
        load
            The load.

        Returns
        -------
        Verdict
            An empty one.
        """
        return self.thoroughly(load)


def margin_of(reply: Reply) -> float | None:
    """Return the weakest ratio of the numbers behind a reply to their limits.

    Parameters
    ----------
    reply
        A reply about one piece.

    Returns
    -------
    float | None
        At the unfavourable end of each interval; None where nothing has a limit.
    """
    ratios = [ratio for figure in reply.figures if (ratio := _ratio(figure)) is not None]
    return min(ratios, default=None)


def _ratio(figure: Figure) -> float | None:
    if figure.limit is None or figure.limit.value <= 0:
        return None
    if "highest" in figure.name:
        high = figure.value if figure.high is None else figure.high
        return figure.limit.value / high if high > 0 else None
    return (figure.value if figure.low is None else figure.low) / figure.limit.value


def _all_short(load: Load, why: str) -> Verdict:
    with_lumens = [(piece.set, piece.piece) for piece in load.pieces if piece.lumens]
    return Verdict(dict.fromkeys(with_lumens, why), {})
