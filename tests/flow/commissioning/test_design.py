"""Exchange against trying every choice, and the information it is reckoned with."""

from __future__ import annotations

from itertools import combinations, combinations_with_replacement

import numpy as np
import pytest

from patency.flow.commissioning.design import Criterion, choose, covariance_after, merit


def problem(seed: int, possible: int, parameters: int) -> tuple[np.ndarray, np.ndarray]:
    """Rows of possible readings and what is known before."""
    chance = np.random.default_rng(seed)
    root = chance.normal(size=(parameters, parameters))
    return chance.normal(size=(possible, parameters)) * 2.0, root @ root.T + 0.1 * np.eye(parameters)


@pytest.mark.parametrize("criterion", Criterion)
def test_exchange_is_within_one_percent_of_trying_every_choice_and_mostly_equal_to_it(criterion: Criterion) -> None:
    equal = 0
    for seed in range(20):
        rows, covariance = problem(seed, 12, 4)
        of_interest = [0, 1, 2]
        found = merit(rows, covariance, choose(rows, covariance, 5, of_interest, criterion), of_interest, criterion)
        best = min(merit(rows, covariance, some, of_interest, criterion) for some in combinations(range(12), 5))
        assert found >= best - 1e-9
        if criterion is Criterion.VOLUME:
            assert found <= best + 0.05  # of the logarithm of the squared volume
        else:
            assert found <= 1.02 * best
        equal += found < best + 1e-9
    assert equal >= 17


def test_a_reading_may_be_repeated_where_that_is_allowed() -> None:
    rows, covariance = problem(3, 5, 2)
    chosen = choose(rows, covariance, 4, [0, 1], Criterion.VOLUME, repeats=4)
    best = min(
        merit(rows, covariance, some, [0, 1], Criterion.VOLUME) for some in combinations_with_replacement(range(5), 4)
    )
    assert merit(rows, covariance, chosen, [0, 1], Criterion.VOLUME) == pytest.approx(best)
    assert len(set(choose(rows, covariance, 4, [0, 1], Criterion.VOLUME))) == 4


def test_no_more_readings_are_chosen_than_there_are() -> None:
    rows, covariance = problem(3, 5, 2)
    assert choose(rows, covariance, 9, [0, 1], Criterion.VARIANCES) == [0, 1, 2, 3, 4]


def test_what_is_known_after_is_the_inverse_of_the_sum_of_information() -> None:
    rows, covariance = problem(5, 6, 4)
    information = np.linalg.inv(covariance) + rows.T @ rows
    assert covariance_after(covariance, rows) == pytest.approx(np.linalg.inv(information))


def test_a_reading_of_what_does_not_matter_is_not_chosen() -> None:
    rows = np.array([[5.0, 0.0], [0.0, 0.5]])
    assert choose(rows, np.eye(2), 1, [1], Criterion.VOLUME) == [1]
    assert choose(rows, np.eye(2), 1, [0, 1], Criterion.VOLUME) == [0]
