"""Published values for control charts and sampling."""

from __future__ import annotations

from functools import partial

from patency.evidence import CountSum, acceptance_chance, ewma_run_length, exact_excess, individuals_run_length
from patency.steps.self_checking.check import PublishedCheck

_LUCAS_SACCUCCI = "J. M. Lucas and M. S. Saccucci, Technometrics 32 (1990), table 3 (as quoted by an open library)"
_CROWDER = "S. V. Crowder, Technometrics 29 (1987), table 1 (as quoted by an open library)"
_MONTGOMERY = "D. C. Montgomery, Introduction to Statistical Quality Control, 2009 (from memory, not verified)"
_FISHER = "R. A. Fisher, The Design of Experiments, 1935: eight cups, four with milk first"
_MOVING_AVERAGES = (
    (0.5, 3.071, 0.0, 500.0, 1.5, _LUCAS_SACCUCCI),
    (0.5, 3.071, 1.0, 17.5, 0.051, _LUCAS_SACCUCCI),
    (0.03, 2.437, 1.0, 12.6, 0.051, _LUCAS_SACCUCCI),
    (0.5, 2.0, 0.0, 26.45, 0.006, _CROWDER),
    (0.05, 2.0, 1.0, 8.38, 0.006, _CROWDER),
)
_POINTS = "points"


def statistics_checks() -> list[PublishedCheck]:
    """List the checks on charts and sampling.

    Returns
    -------
    list[PublishedCheck]
        Mean run lengths of three kinds of chart, and chances of sampling.
    """
    averages = [
        PublishedCheck(
            "statistics",
            f"mean run of a moving average of weight {weight:g} and limits {width:g}, shift {shift:g}",
            source,
            expected,
            _POINTS,
            tolerance,
            "the limits are rounded, and the last printed digit",
            partial(ewma_run_length, weight, width, shift),
        )
        for weight, width, shift, expected, tolerance, source in _MOVING_AVERAGES
    ]
    return [
        *averages,
        PublishedCheck(
            "statistics",
            "mean run of single values within three standard deviations",
            _MONTGOMERY,
            370.4,
            _POINTS,
            0.051,
            "half the last printed digit, rounded up",
            partial(individuals_run_length, 3.0),
        ),
        PublishedCheck(
            "statistics",
            "mean run of a sum of counts, limit 10, allowance 0.25, mean 0.25",
            "J. M. Lucas, Technometrics 27 (1985), table 2 (as quoted by an open library)",
            438.0,
            _POINTS,
            0.5,
            "half the last printed digit",
            partial(CountSum(parts=4, allowance_parts=1, limit_parts=40).run_length, 0.25),
        ),
        PublishedCheck(
            "statistics",
            "chance of telling at least three of four cups right by guessing",
            _FISHER,
            17.0 / 70.0,
            "1",
            1e-12,
            "rounding",
            partial(exact_excess, [(8, 4, 4)], 3),
        ),
        PublishedCheck(
            "statistics",
            "chance to accept 1.03 % by a sample of 80 with 2",
            "ISO 2859-1:1999, table 10-J (from memory, not verified)",
            0.95,
            "1",
            0.003,
            "the share is rounded; a lot of 100 000",
            partial(acceptance_chance, 100_000, 1030, 80, 2),
        ),
    ]
