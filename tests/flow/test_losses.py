"""Steps are charged where the formula says, and senseless steps are refused."""

from __future__ import annotations

import pytest

from patency.errors import InputError
from patency.flow.losses import sudden_contraction, sudden_expansion


def test_no_step_costs_nothing() -> None:
    assert sudden_expansion(1.0, 1.0) == 0.0
    assert sudden_contraction(1.0, 1.0) == 0.0


def test_a_widening_costs_more_than_a_narrowing_of_the_same_sizes() -> None:
    assert sudden_expansion(1.0, 4.0) > sudden_contraction(4.0, 1.0)


@pytest.mark.parametrize(("before", "after"), [(2.0, 1.0), (0.0, 1.0), (-1.0, 1.0), (float("nan"), 1.0)])
def test_a_widening_that_does_not_widen_is_refused(before: float, after: float) -> None:
    with pytest.raises(InputError, match="areas above 0"):
        sudden_expansion(before, after)


@pytest.mark.parametrize(("before", "after"), [(1.0, 2.0), (1.0, 0.0), (1.0, float("nan"))])
def test_a_narrowing_that_does_not_narrow_is_refused(before: float, after: float) -> None:
    with pytest.raises(InputError, match="areas above 0"):
        sudden_contraction(before, after)
