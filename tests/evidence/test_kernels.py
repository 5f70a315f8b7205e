"""The kernels as machine code and as they stand give the same bits, and what slow, obvious versions give."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from patency.evidence import kernels
from patency.evidence.machine_code import compiled

FORMS: dict[str, Callable[[str], Callable[..., Any]]] = {
    "as it stands": lambda name: getattr(kernels, name),
    "machine code": compiled,
}
A0 = (80.0, 10.0, 65.0)


def drawn(seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Draw elapsed time, clock steps, temperatures with holes, and what counts."""
    rng = np.random.default_rng(seed)
    size = int(rng.integers(2, 60))
    elapsed = np.cumsum(rng.choice([0.0, 1.0, 1.0, 1.0, 7.0], size))
    steps = rng.random(size - 1) < 0.05
    celsius = rng.uniform(60.0, 95.0, size)
    celsius[rng.random(size) < 0.1] = np.nan
    return elapsed, steps, celsius, rng.random(size) < 0.9


@pytest.mark.parametrize("form", FORMS)
def test_credit_is_the_sum_over_intervals_that_count(form: str) -> None:
    credit = FORMS[form]("credit")
    for seed in range(200):
        elapsed, steps, celsius, counted = drawn(seed)
        present = np.flatnonzero(~np.isnan(celsius))
        whole = long = 0.0
        for left, right in pairwise(present):
            if not counted[left : right + 1].all() or steps[left:right].any():
                continue
            rates = [10 ** ((t - 80) / 10) if t >= 65 else 0.0 for t in (celsius[left], celsius[right])]
            length = elapsed[right] - elapsed[left]
            worth = length * (min(rates) if length > 1.5 else sum(rates) / 2)
            whole += worth
            long += worth if length > 5 else 0.0
        assert credit(elapsed, steps, celsius, counted, A0, (1.5, 5.0)) == pytest.approx((whole, long), rel=1e-12)


@pytest.mark.parametrize("form", FORMS)
def test_stretches_and_holes_are_what_slow_versions_find(form: str) -> None:
    for seed in range(200):
        elapsed, steps, celsius, counted = drawn(seed)
        runs: list[list[int]] = []
        for place in np.flatnonzero(counted).tolist():
            if not (runs and runs[-1][-1] == place - 1):
                runs.append([])
            runs[-1].append(place)
        assert FORMS[form]("bounds_of_stretches")(counted).tolist() == [[run[0], run[-1]] for run in runs]
        parts: list[list[int]] = []
        for run in runs:
            for place in run:
                broken = place == run[0] or steps[place - 1] or elapsed[place] - elapsed[place - 1] > 5
                if broken:
                    parts.append([place, place])
                parts[-1][1] = place
        assert FORMS[form]("held_within")(counted, elapsed, steps, 5.0).tolist() == parts
        filled = FORMS[form]("fill_holes")(celsius, elapsed, 5.0)
        for place in range(celsius.size):
            before, after = np.flatnonzero(~np.isnan(celsius[:place])), np.flatnonzero(~np.isnan(celsius[place:]))
            expected = celsius[place]
            if np.isnan(expected) and before.size and after.size:
                ends = before[-1], place + after[0]
                if elapsed[ends[1]] - elapsed[ends[0]] <= 5:
                    expected = min(celsius[ends[0]], celsius[ends[1]])
            np.testing.assert_equal(filled[place], expected)


@pytest.mark.parametrize("form", FORMS)
def test_the_best_window_is_the_first_whose_lowest_value_is_highest(form: str) -> None:
    for seed in range(200):
        rng = np.random.default_rng(seed)
        time = np.cumsum(rng.choice([1.0, 2.0], 40))
        lowest = np.round(rng.uniform(60, 70, 40))
        parts, length = np.array([[0, 14], [16, 39]]), float(rng.integers(0, 30))
        best = (-1, -1)
        for first, last in parts.tolist():
            for start in range(first, last + 1):
                ends = [end for end in range(start, last + 1) if time[end] - time[start] >= length]
                window = (start, ends[0]) if ends else None
                if window and (
                    best == (-1, -1) or lowest[start : ends[0] + 1].min() > lowest[best[0] : best[1] + 1].min()
                ):
                    best = window
        assert tuple(FORMS[form]("window_highest")(lowest, time, parts, length)) == best


@pytest.mark.parametrize("kernel", ["credit", "bounds_of_stretches", "held_within", "fill_holes", "window_highest"])
def test_both_forms_give_the_same_bits(kernel: str) -> None:
    elapsed, steps, celsius, counted = drawn(7)
    known = np.nan_to_num(celsius, nan=60.0)
    given: dict[str, tuple[Any, ...]] = {
        "credit": (elapsed, steps, celsius, counted, A0, (1.5, 5.0)),
        "bounds_of_stretches": (counted,),
        "held_within": (counted, elapsed, steps, 5.0),
        "fill_holes": (celsius, elapsed, 5.0),
        "window_highest": (known, elapsed, np.array([[0, elapsed.size - 1]]), 9.0),
    }
    one, other = (np.asarray(form(kernel)(*given[kernel])) for form in FORMS.values())
    np.testing.assert_array_equal(one, other)
