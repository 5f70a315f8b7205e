"""The one place that calls scipy: linear programs and the assignment problem."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

FORBIDDEN = 1e12
"""Stands for "not allowed" in an assignment; far above any sum of real costs."""


@dataclass(frozen=True, slots=True)
class Row:
    """A constraint of a linear program, bounded on one side.

    Parameters
    ----------
    terms
        Column to coefficient.
    low, high
        Bounds of the sum; one of them is infinite.
    """

    terms: Mapping[int, float]
    low: float
    high: float


def minimise(costs: Sequence[float], rows: Sequence[Row], highest: Sequence[float]) -> tuple[list[float], list[float]]:
    """Solve a linear program with columns from zero upwards.

    Parameters
    ----------
    costs
        Cost of each column.
    rows
        The constraints.
    highest
        Upper bound of each column; may be infinite.

    Returns
    -------
    tuple[list[float], list[float]]
        Values of the columns, and by how much the least cost rises for each unit that a row's bound rises.

    Raises
    ------
    ArithmeticError
        When there is no solution.
    """
    from scipy.optimize import linprog
    from scipy.sparse import csr_array

    # Everything as "at most": a lower bound is turned round.
    signs = [-1.0 if row.low > -float("inf") else 1.0 for row in rows]
    limits = [-row.low if sign < 0 else row.high for row, sign in zip(rows, signs, strict=True)]
    data = [sign * value for row, sign in zip(rows, signs, strict=True) for value in row.terms.values()]
    where = [column for row in rows for column in row.terms]
    ends = [0]
    for row in rows:
        ends.append(ends[-1] + len(row.terms))
    matrix = csr_array((data, where, ends), shape=(len(rows), len(costs)))
    result = linprog(costs, A_ub=matrix, b_ub=limits, bounds=[(0.0, high) for high in highest], method="highs-ds")
    if result.status != 0:
        raise ArithmeticError(result.message)
    duals = [sign * float(marginal) for sign, marginal in zip(signs, result.ineqlin.marginals, strict=True)]
    return [float(value) for value in result.x], duals


def cheapest_matching(costs: Sequence[Sequence[float]]) -> list[int] | None:
    """Assign every row its own column at the least total cost.

    Parameters
    ----------
    costs
        Cost of each pair; ``FORBIDDEN`` where a pair is not allowed.

    Returns
    -------
    list[int] | None
        The column of each row; None where some row finds none.
    """
    from scipy.optimize import linear_sum_assignment

    if not costs:
        return []
    if len(costs) > len(costs[0]):
        return None
    _, columns = linear_sum_assignment(costs)
    chosen = [int(column) for column in columns]
    if any(costs[row][column] >= FORBIDDEN for row, column in enumerate(chosen)):
        return None
    return chosen
