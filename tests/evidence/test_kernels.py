"""The kernels as machine code and as they stand give the same bits, and what slow, obvious versions give."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from patency.evidence import kernels, level_kernels, measure_kernels
from patency.evidence.machine_code import compiled

FORMS: dict[str, Callable[[str], Callable[..., Any]]] = {
    "as it stands": lambda name: next(
        getattr(room, name) for room in (kernels, level_kernels, measure_kernels) if hasattr(room, name)
    ),
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
        found = credit(elapsed, steps, celsius, counted, A0, (1.5, 5.0), (np.inf, 0.0))
        assert found == pytest.approx((whole, long), rel=1e-12)
        cooler = np.where(celsius <= 90.0, celsius, np.nan) - 0.5
        guarded = credit(elapsed, steps, celsius, counted, A0, (1.5, 5.0), (90.0, 0.5))
        assert guarded == credit(elapsed, steps, cooler, counted, A0, (1.5, 5.0), (np.inf, 0.0))


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


@pytest.mark.parametrize("form", FORMS)
def test_what_lasted_is_told_by_every_pair_of_samples(form: str) -> None:
    for seed in range(200):
        elapsed, steps, _, mask = drawn(seed)
        unknown = ~mask & (np.random.default_rng(seed).random(mask.size) < 0.5)
        broken = steps | (np.diff(elapsed) > 5.0)
        certain = [(a, b) for a, b in spans(mask) for a, b in cut(a, b, broken)]
        possible = spans(mask | unknown)
        lengths = [[float(elapsed[b] - elapsed[a]) for a, b in parts] for parts in (certain, possible)]
        expected = (max(lengths[0], default=0.0), max(lengths[1], default=0.0), *map(sum, lengths), len(certain))
        assert FORMS[form]("lasting")(mask, unknown, elapsed, steps, 5.0) == pytest.approx(expected, rel=1e-12)


def spans(mask: np.ndarray) -> list[tuple[int, int]]:
    """Give first and last position of each run."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], mask.astype(int), [0]))))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def cut(first: int, last: int, broken: np.ndarray) -> list[tuple[int, int]]:
    """Cut a run at what breaks it."""
    ends = [place for place in range(first, last) if broken[place]]
    return list(zip([first, *(end + 1 for end in ends)], [*ends, last], strict=True))


@pytest.mark.parametrize("form", FORMS)
def test_levels_are_those_of_the_array_library(form: str) -> None:
    for seed in range(200):
        elapsed, _, celsius, _ = drawn(seed)
        for share in (0.0, 0.3, 0.5, 0.95, 1.0):
            assert FORMS[form]("quantile")(celsius, share) == np.nanquantile(celsius, share)
        assert FORMS[form]("lowest_and_highest")(celsius) == (np.nanmin(celsius), np.nanmax(celsius))
        both = np.stack([celsius, celsius[::-1].copy()])
        low, high = FORMS[form]("ends_of_readings")(both, np.array([0.5, 0.2]), elapsed, 5.0)
        filled = [(kernels.fill_holes(one, elapsed, 5.0), -kernels.fill_holes(-one, elapsed, 5.0)) for one in both]
        np.testing.assert_array_equal(low, np.min([filled[0][0] - 0.5, filled[1][0] - 0.2], axis=0))
        np.testing.assert_array_equal(high, np.max([filled[0][1] + 0.5, filled[1][1] + 0.2], axis=0))
        inside, unknown = FORMS[form]("in_band")(low, high, (65.0, 90.0))
        np.testing.assert_array_equal(inside, (low >= 65.0) & (high <= 90.0))
        np.testing.assert_array_equal(unknown, np.isnan(low) | np.isnan(high))
        on = celsius - 60.0 > 10.0
        latest = np.maximum.accumulate(np.where(np.isnan(celsius), 0, np.arange(on.size)))
        np.testing.assert_array_equal(FORMS[form]("above_level")(celsius, 60.0, 10.0), on[latest])
    nothing = np.full(4, np.nan)
    assert np.isnan(FORMS[form]("quantile")(nothing, 0.5))
    assert np.isnan(FORMS[form]("lowest_and_highest")(nothing)).all()


@pytest.mark.parametrize("form", FORMS)
def test_shares_meters_climbs_and_steps_are_those_of_the_array_library(form: str) -> None:
    for seed in range(200):
        elapsed, steps, celsius, _ = drawn(seed)
        within = (elapsed >= elapsed[0] + 0.25 * np.ptp(elapsed)) & (elapsed <= elapsed[0] + 0.75 * np.ptp(elapsed))
        found = FORMS[form]("readings_within")(celsius, elapsed, (0, elapsed.size - 1), (0.25, 0.75))
        np.testing.assert_array_equal(found, celsius[within & ~np.isnan(celsius)])
        assert FORMS[form]("longest_step")(elapsed) == np.diff(elapsed).max()
        known = celsius[~np.isnan(celsius)]
        for meter in (celsius, np.sort(celsius)):
            read = meter[~np.isnan(meter)]
            expected = (
                (read.size, read[-1] - read[0], bool((np.diff(read) < 0).any())) if read.size else (0, 0.0, False)
            )
            assert FORMS[form]("meter_counted")(meter) == expected
        for level in (70.0, 99.0):
            climbed, rise, took = FORMS[form]("climb")(celsius, elapsed, steps, level)
            assert climbed == (known.size > 1 and not steps.any())
            if climbed:
                places = np.flatnonzero(~np.isnan(celsius))
                warm = places[celsius[places] >= level]
                end = warm[0] if warm.size else places[celsius[places].argmax()]
                start = places[celsius[places[places <= end]].argmin()]
                assert (rise, took) == (celsius[end] - celsius[start], elapsed[end] - elapsed[start])


@pytest.mark.parametrize("form", FORMS)
def test_holes_and_rises_are_those_of_every_pair_of_readings(form: str) -> None:
    for seed in range(200):
        elapsed, steps, celsius, _ = drawn(seed)
        end = celsius.size - 1
        holes = [elapsed[min(b + 1, end)] - elapsed[max(a - 1, 0)] for a, b in spans(np.isnan(celsius))]
        assert FORMS[form]("longest_hole")(celsius, elapsed) == max(holes, default=-1.0)
        rises = []
        for place in range(end):
            last = int(np.flatnonzero(elapsed <= elapsed[place] + 9.0)[-1])
            if last > place and not steps[place:last].any():
                rises.append(celsius[last] - celsius[place])
        known = [rise for rise in rises if not np.isnan(rise)]
        found = FORMS[form]("largest_rise")(celsius, elapsed, steps, 9.0)
        assert found == max(known) if known else np.isnan(found)


@pytest.mark.parametrize(
    "kernel", ["credit", "bounds_of_stretches", "held_within", "fill_holes", "window_highest", "lasting", "quantile"]
)
def test_both_forms_give_the_same_bits(kernel: str) -> None:
    elapsed, steps, celsius, counted = drawn(7)
    known = np.nan_to_num(celsius, nan=60.0)
    given: dict[str, tuple[Any, ...]] = {
        "credit": (elapsed, steps, celsius, counted, A0, (1.5, 5.0), (90.0, 0.3)),
        "bounds_of_stretches": (counted,),
        "held_within": (counted, elapsed, steps, 5.0),
        "fill_holes": (celsius, elapsed, 5.0),
        "window_highest": (known, elapsed, np.array([[0, elapsed.size - 1]]), 9.0),
        "lasting": (counted, ~counted, elapsed, steps, 5.0),
        "quantile": (celsius, 0.3),
    }
    one, other = (np.asarray(form(kernel)(*given[kernel])) for form in FORMS.values())
    np.testing.assert_array_equal(one, other)


@pytest.mark.parametrize("form", FORMS)
def test_what_is_asked_together_is_what_each_kernel_finds_alone(form: str) -> None:
    nan = np.nan
    for seed in range(100):
        elapsed, steps, celsius, moist = drawn(seed)
        values = np.stack([celsius, celsius[::-1], celsius + 0.3])
        first, last = elapsed.size // 3, elapsed.size - 1
        worsened = np.array([[0.5, nan, 0.2], [0.0, 0.1, nan]])
        kinds = [
            (measure_kernels.LONGEST_GAP, measure_kernels.WHOLE, -1, -1, 0.0, 0.0),
            (measure_kernels.LONGEST_GAP, measure_kernels.WHOLE, 1, -1, 0.0, 0.0),
            (measure_kernels.TIME_WITHIN, 0, -1, 0, 65.0, 90.0),
            (measure_kernels.TIME_WITHIN, 0, -1, -1, 0.0, 0.0),
            (measure_kernels.TIME_RUNNING, 0, -1, -1, 0.0, 0.0),
            (measure_kernels.CREDIT, measure_kernels.WHOLE, 2, -1, 90.0, 0.5),
            (measure_kernels.BEST_WINDOW, 0, -1, 1, 4.0, 0.0),
            (measure_kernels.EXTREMES, measure_kernels.IN_WINDOW, 1, -1, 0.0, 0.0),
            (measure_kernels.EXTREMES, 0, 2, -1, 0.0, 0.0),
        ]
        asked = (np.array([one[:4] for one in kinds]), np.array([one[4:] for one in kinds]), worsened)
        axis = (elapsed, steps, 1.5, 5.0)
        found = FORMS[form]("numbers")(asked, np.array([[first, last]]), values, axis, (moist, ~moist), A0)
        part, within = slice(first, last + 1), (elapsed[first:], steps[first:last])
        low, high = kernels_alone("ends_of_readings", values[[0, 2]], worsened[0, [0, 2]], elapsed, 5.0)
        inside, unknown = kernels_alone("in_band", low[part], high[part], (65.0, 90.0))
        every = np.ones(last + 1 - first, dtype=bool)
        cold, _ = kernels_alone("ends_of_readings", values[:2], worsened[1, :2], elapsed, 5.0)
        usable = kernels_alone("held_within", ~np.isnan(cold[part]), *within, 5.0)
        start, end = kernels_alone("window_highest", cold[part], within[0], usable, 4.0)
        window = (first + start, first + end) if start >= 0 else (-1, -1)
        held = kernels_alone("lowest_and_highest", values[1, window[0] : window[1] + 1]) if start >= 0 else (nan, nan)
        expected = [
            (kernels_alone("longest_step", elapsed),),
            (kernels_alone("longest_hole", values[1], elapsed),),
            kernels_alone("lasting", inside, unknown, *within, 5.0),
            kernels_alone("lasting", every, ~every, *within, 5.0),
            kernels_alone("lasting", ~moist[part], ~every, *within, 5.0),
            kernels_alone("credit", elapsed, steps, values[2], moist, A0, (1.5, 5.0), (90.0, 0.5)),
            window,
            held,
            kernels_alone("lowest_and_highest", values[2, part]),
        ]
        for answer, alone in zip(found, expected, strict=True):
            np.testing.assert_array_equal(answer, [*alone, *[nan] * (5 - len(alone))])


def kernels_alone(name: str, *given: object) -> Any:  # noqa: ANN401 - what a kernel finds
    """Ask one kernel, as machine code."""
    return compiled(name)(*given)
