"""Control charts of what inspection and testing found, and of what cycles showed: centre, limits, signals.

Measured values are first made standard normal ones by those before them alone: T = (x - mean) / s * sqrt(n / (n + 1))
is of Student's t with n - 1 degrees of freedom as long as nothing changes, whatever mean and spread are, and such
values are independent (D. M. Hawkins, The Statistician 36, 1987, 299-315; C. P. Quesenberry, J. Qual. Technol. 23,
1991, 213-224). So the run length of a chart is the stated one from the third value on, and no one has to know mean and
spread beforehand. The price is that a lasting change is learned in time; a chart learns until it signals, not after.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from patency.evidence.statistics.distributions import FARTHEST, normal_of_t
from patency.evidence.statistics.run_lengths import (
    COUNT_PARTS,
    CountSum,
    count_sum_for,
    ewma_run_length,
    ewma_width,
    false_alarm_chance,
    individuals_run_length,
    individuals_width,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

_LEARNING = 2  # values from which the first mean and spread are taken


class ChartKind(StrEnum):
    """How a chart looks at its points."""

    INDIVIDUALS = "individuals"
    EWMA = "ewma"
    COUNTS = "counts"


@dataclass(frozen=True, slots=True)
class Signal:
    """A chart left its limits.

    Parameters
    ----------
    at
        Place of the point at which it did.
    began
        Place of the point from which on the change is most likely to have lasted.
    direction
        ``rise`` or ``fall``.
    """

    at: int
    began: int
    direction: str


@dataclass(frozen=True, slots=True)
class Chart:
    """One chart.

    Parameters
    ----------
    kind
        How it looks at its points.
    statistic
        What is drawn, one for each point; not-a-number where the chart was still learning.
    low, high
        Its limits; ``low`` is None where the chart looks for rises only.
    run_length
        Mean number of points until a false alarm, computed.
    rule
        Limits and settings in words.
    signals
        Where it signalled, in the order of time.
    false_alarm_chance
        How likely a signal by now was though nothing changed; for measured values about, as if each point were as
        likely to give one as the next.
    """

    kind: ChartKind
    statistic: tuple[float, ...]
    low: float | None
    high: float
    run_length: float
    rule: str
    signals: tuple[Signal, ...]
    false_alarm_chance: float


@dataclass(slots=True)
class _Learned:
    """Mean and spread of the values so far (B. P. Welford, Technometrics 4, 1962, 419-420)."""

    least_spread: float
    number: int = 0
    mean: float = 0.0
    squares: float = 0.0

    def learn(self, value: float) -> None:
        """Take a value in."""
        self.number += 1
        off = value - self.mean
        self.mean += off / self.number
        self.squares += off * (value - self.mean)

    def standardised(self, value: float) -> float:
        """Compare a value with those before it; not-a-number while there are too few."""
        if self.number < _LEARNING:
            return math.nan
        spread = max(math.sqrt(self.squares / (self.number - 1)), self.least_spread)
        if spread == 0.0:
            return 0.0 if value == self.mean else math.copysign(FARTHEST, value - self.mean)
        return normal_of_t((value - self.mean) / spread * math.sqrt(self.number / (self.number + 1)), self.number - 1)


def individuals_chart(values: Sequence[float], run_length: float, step: float = 0.0) -> Chart:
    """Chart each value by itself.

    Parameters
    ----------
    values
        In the order of time; finite.
    run_length
        Mean number of values until a false alarm.
    step
        Smallest step in which values are written: their spread is taken as no less than that of rounding.

    Returns
    -------
    Chart
        In standard deviations from what the values before let expect.
    """
    width = individuals_width(run_length)
    rule = f"each value within {width:.2f} standard deviations of those before it"
    followed = _followed(values, 1.0, width, step)
    return _chart(followed, ChartKind.INDIVIDUALS, width, individuals_run_length(width), rule)


def ewma_chart(values: Sequence[float], run_length: float, weight: float, step: float = 0.0) -> Chart:
    """Chart the exponentially weighted moving average, which shows a small lasting change sooner.

    Parameters
    ----------
    values
        In the order of time; finite.
    run_length
        Mean number of values until a false alarm.
    weight
        Weight of the newest value, above 0 up to 1.
    step
        Smallest step in which values are written.

    Returns
    -------
    Chart
        In standard deviations of a value.
    """
    width = ewma_width(weight, run_length)
    limit = width * math.sqrt(weight / (2.0 - weight))
    rule = f"average with weight {weight:g} of the newest value within {limit:.3f} standard deviations of a value"
    return _chart(_followed(values, weight, limit, step), ChartKind.EWMA, limit, ewma_run_length(weight, width), rule)


def _followed(
    values: Sequence[float], weight: float, limit: float, step: float
) -> tuple[tuple[float, ...], tuple[Signal, ...]]:
    learned = _Learned(step / math.sqrt(12.0))
    average, since, learning = 0.0, 0, True
    drawn: list[float] = []
    signals: list[Signal] = []
    for place, value in enumerate(values):
        standard = learned.standardised(value)
        if math.isnan(standard):
            drawn.append(math.nan)
            learned.learn(value)
            continue
        average = weight * standard + (1.0 - weight) * average
        drawn.append(average)
        if abs(average) > limit:
            began = _began(values, since, place) if weight < 1.0 else place
            signals.append(Signal(place, began, "rise" if average > 0 else "fall"))
            average, since, learning = 0.0, place + 1, False
        elif learning:
            learned.learn(value)
    return tuple(drawn), tuple(signals)


def _chart(
    followed: tuple[tuple[float, ...], tuple[Signal, ...]], kind: ChartKind, limit: float, run_length: float, rule: str
) -> Chart:
    drawn, signals = followed
    charted = sum(not math.isnan(one) for one in drawn)
    chance = 1.0 - math.exp(-charted / run_length)
    return Chart(kind, drawn, -limit, limit, run_length, rule, signals, chance)


def _began(values: Sequence[float], since: int, at: int) -> int:
    """Say from which value on the mean most likely lay elsewhere: the step that explains the most.

    The likelihood of a step in a mean of normal values (J. J. Pignatiello and T. R. Samuel, J. Quality Technology 33,
    2001, 357-365).
    """
    part = values[since : at + 1]
    whole, before, best, began = math.fsum(part), 0.0, -1.0, at
    for step in range(1, len(part)):
        before += part[step - 1]
        apart = (whole - before) / (len(part) - step) - before / step
        explained = step * (len(part) - step) * apart**2
        if explained > best:
            best, began = explained, since + step
    return began


@dataclass(frozen=True, slots=True)
class Inspected:
    """What one look at some pieces found.

    Parameters
    ----------
    pieces
        How many were looked at, at least 1.
    found
        How many findings there were.
    """

    pieces: int
    found: int


def counts_chart(looks: Sequence[Inspected], acceptable: float, unacceptable: float, run_length: float) -> Chart:
    """Chart findings among pieces looked at, for rises only.

    Parameters
    ----------
    looks
        In the order of time; at least one.
    acceptable
        Findings per piece that are accepted, above 0.
    unacceptable
        Findings per piece to be detected soon, above that.
    run_length
        Mean number of looks at the usual number of pieces until a false alarm, at least.

    Returns
    -------
    Chart
        The sum of findings above what is allowed at each look.
    """
    usual = sorted(look.pieces for look in looks)[len(looks) // 2]
    chart = count_sum_for(usual * acceptable, usual * unacceptable, run_length)
    per_piece = (unacceptable - acceptable) / math.log(unacceptable / acceptable)
    allowances = [max(1, round(COUNT_PARTS * per_piece * look.pieces)) for look in looks]
    total, last_zero = 0, -1
    drawn: list[float] = []
    signals: list[Signal] = []
    for place, (look, allowance) in enumerate(zip(looks, allowances, strict=True)):
        total = max(0, total + COUNT_PARTS * look.found - allowance)
        drawn.append(total / COUNT_PARTS)
        if total == 0:
            last_zero = place
        if total >= chart.limit_parts:
            signals.append(Signal(place, last_zero + 1, "rise"))
            total, last_zero = 0, place
    rule = (
        f"sum of findings less {chart.allowance_parts / COUNT_PARTS:g} for {usual} pieces stays below "
        f"{chart.limit_parts / COUNT_PARTS:g}"
    )
    return Chart(
        ChartKind.COUNTS,
        tuple(drawn),
        None,
        chart.limit_parts / COUNT_PARTS,
        CountSum(COUNT_PARTS, chart.allowance_parts, chart.limit_parts).run_length(usual * acceptable),
        rule,
        tuple(signals),
        false_alarm_chance(chart, [look.pieces * acceptable for look in looks], allowances),
    )
