"""Run lengths of control charts and chances of sampling, against published tables.

The values of Lucas (1985), Lucas and Saccucci (1990), Crowder (1987) and Waldmann (1986) were read as quoted in the
examples of an open library of such charts, not in the papers; the others are from memory, as said at each.
"""

from __future__ import annotations

import pytest

from patency.evidence import (
    CountSum,
    acceptance_chance,
    ewma_run_length,
    ewma_width,
    exact_excess,
    individuals_run_length,
    individuals_width,
    pieces_to_inspect,
)

SHIFTS = (0.0, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0)
# J. M. Lucas and M. S. Saccucci, Technometrics 32 (1990), table 3: weight, limits, run lengths at the shifts above.
LUCAS_SACCUCCI = (
    (0.5, 3.071, (500, 255, 88.8, 35.9, 17.5, 6.53, 3.63, 2.50, 1.93, 1.58, 1.34, 1.07)),
    (0.03, 2.437, (500, 76.7, 29.3, 17.6, 12.6, 8.07, 5.99, 4.80, 4.03, 3.49, 3.11, 2.55)),
)
# S. V. Crowder, Technometrics 29 (1987), table 1: limits 2, weights 0.5 and 0.05; the value at 1.25 is left out, which
# the source of the quotation takes for a misprint.
CROWDER = {
    0.0: (26.45, 127.53),
    0.25: (20.12, 43.94),
    0.5: (11.89, 18.97),
    0.75: (7.29, 11.64),
    1.0: (4.91, 8.38),
    1.5: (2.80, 5.41),
    2.0: (1.94, 4.04),
    3.0: (1.26, 2.76),
    4.0: (1.05, 2.15),
}


@pytest.mark.parametrize(("weight", "width", "published"), LUCAS_SACCUCCI)
def test_moving_averages_run_as_long_as_lucas_and_saccucci_found_in_1990(
    weight: float, width: float, published: tuple[float, ...]
) -> None:
    for shift, length in zip(SHIFTS, published, strict=True):
        assert ewma_run_length(weight, width, shift) == pytest.approx(length, rel=3e-3)


@pytest.mark.parametrize("shift", CROWDER)
def test_moving_averages_run_as_long_as_crowder_found_in_1987(shift: float) -> None:
    lengths = ewma_run_length(0.5, 2.0, shift), ewma_run_length(0.05, 2.0, shift)
    assert lengths == pytest.approx(CROWDER[shift], abs=0.006)


def test_moving_averages_run_as_long_as_waldmann_found_in_1986() -> None:
    # K.-H. Waldmann (1986), table 1, two-sided with fixed limits.
    for weight, length in ((0.75, 104.0), (0.5, 1952.0)):
        width = 2.0 * ((2.0 - weight) / weight) ** 0.5
        assert ewma_run_length(weight, width) == pytest.approx(length, rel=1e-3)


@pytest.mark.parametrize(("weight", "width"), [(0.4, 3.054), (0.25, 2.998), (0.2, 2.962), (0.1, 2.814), (0.05, 2.615)])
def test_the_limits_for_500_points_are_those_of_lucas_and_saccucci(weight: float, width: float) -> None:
    # As tabled in D. C. Montgomery, Introduction to Statistical Quality Control (2009), table 9.11, from memory.
    assert ewma_width(weight, 500.0) == pytest.approx(width, abs=0.0015)


@pytest.mark.parametrize(("shift", "length"), [(0.0, 370.4), (1.0, 43.9), (2.0, 6.30), (3.0, 2.00)])
def test_individuals_within_three_standard_deviations_run_as_long_as_montgomery_says(
    shift: float, length: float
) -> None:
    # D. C. Montgomery, Introduction to Statistical Quality Control (2009), from memory.
    assert individuals_run_length(3.0, shift) == pytest.approx(length, rel=3e-3)
    assert individuals_width(370.4) == pytest.approx(3.0, abs=1e-3)


def test_a_sum_of_counts_runs_as_long_as_lucas_found_in_1985() -> None:
    # J. M. Lucas, Technometrics 27 (1985), table 2: limit 10, allowance 0.25, mean 0.25.
    assert CountSum(parts=4, allowance_parts=1, limit_parts=40).run_length(0.25) == pytest.approx(438, abs=0.5)
    # The same chart on a finer lattice is the same chart.
    assert CountSum(parts=20, allowance_parts=5, limit_parts=200).run_length(0.25) == pytest.approx(438, abs=0.5)


@pytest.mark.parametrize(
    ("pieces", "share", "inspect"), [(100, 0.10, 25), (100, 0.05, 45), (100, 0.02, 78), (100, 0.01, 95), (50, 0.1, 22)]
)
def test_as_many_pieces_are_drawn_as_cannon_and_roe_tabled_in_1982(pieces: int, share: float, inspect: int) -> None:
    # R. M. Cannon and R. T. Roe, Livestock Disease Surveys (1982), table for 95 %, from memory; by their approximate
    # formula, which may lie one beside the exact number.
    assert pieces_to_inspect(pieces, round(share * pieces), 0.95) == pytest.approx(inspect, abs=1)


@pytest.mark.parametrize(("soiled", "chance"), [(0.0103, 0.95), (0.0652, 0.10)])
def test_a_single_plan_accepts_as_iso_2859_1_says(soiled: float, chance: float) -> None:
    # ISO 2859-1:1999, table 10-J: sample of 80, accepted with 2 (AQL 1.0), from memory; a large lot.
    lot = 100_000
    assert acceptance_chance(lot, round(soiled * lot), 80, 2) == pytest.approx(chance, abs=0.003)


def test_the_lady_tasting_tea_has_the_chance_fisher_gave_in_1935() -> None:
    # R. A. Fisher, The Design of Experiments (1935): eight cups, four with milk first; three of four told right or
    # more 17/70, all four 1/70.
    assert exact_excess([(8, 4, 4)], 3) == pytest.approx(17 / 70)
    assert exact_excess([(8, 4, 4)], 4) == pytest.approx(1 / 70)
