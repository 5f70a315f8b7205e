"""Control charts: how often they signal without cause, how soon with one, and since when."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from patency.evidence import Inspected, counts_chart, ewma_chart, individuals_chart
from patency.evidence.statistics.distributions import normal_of_t
from patency.evidence.statistics.run_lengths import CountSum, false_alarm_chance

SERIES = 300


def first_signals(charts: list[object]) -> list[int]:
    return [chart.signals[0].at if chart.signals else -1 for chart in charts]  # type: ignore[attr-defined]


def test_a_chart_of_individuals_gives_false_alarms_as_seldom_as_stated_whatever_mean_and_spread_are() -> None:
    chance = np.random.default_rng(7)
    outside = 0
    for _ in range(SERIES):
        values = chance.normal(chance.uniform(-50, 50), chance.uniform(0.1, 10), size=42)
        outside += bool(individuals_chart(values.tolist(), 100.0).signals)
    stated = 1.0 - 0.99**40  # forty points after the two it learns from
    assert outside / SERIES == pytest.approx(stated, abs=3 * math.sqrt(stated * (1 - stated) / SERIES))


def test_a_moving_average_runs_as_long_as_stated_though_nobody_told_mean_and_spread() -> None:
    chance = np.random.default_rng(11)
    lengths = []
    for _ in range(SERIES):
        chart = ewma_chart(chance.normal(5.0, 2.0, size=600).tolist(), 50.0, 0.2)
        assert chart.run_length == pytest.approx(50.0, rel=1e-3)
        assert chart.signals
        lengths.append(chart.signals[0].at - 1)
    assert np.mean(lengths) == pytest.approx(50.0, abs=3 * 50.0 / math.sqrt(SERIES))


def test_a_sum_of_counts_runs_as_long_as_stated() -> None:
    chance = np.random.default_rng(13)
    looks = [Inspected(20, int(found)) for found in chance.poisson(0.4, size=60_000)]
    chart = counts_chart(looks, 0.02, 0.06, 100.0)
    assert chart.run_length >= 100.0
    lengths = np.diff([-1, *(signal.at for signal in chart.signals)])
    assert np.mean(lengths) == pytest.approx(chart.run_length, abs=3 * chart.run_length / math.sqrt(lengths.size))


def test_the_chance_of_a_false_alarm_by_now_counts_what_was_truly_inspected() -> None:
    chance = np.random.default_rng(17)
    pieces = [10, 30, 20, 5, 40, 25, 20, 15, 30, 20] * 3
    stated = counts_chart([Inspected(number, 0) for number in pieces], 0.02, 0.06, 50.0).false_alarm_chance
    alarms = sum(
        bool(counts_chart([Inspected(n, int(chance.poisson(0.02 * n))) for n in pieces], 0.02, 0.06, 50.0).signals)
        for _ in range(SERIES)
    )
    assert alarms / SERIES == pytest.approx(stated, abs=3 * math.sqrt(stated * (1 - stated) / SERIES))


def test_points_all_alike_have_the_chance_of_their_run_length() -> None:
    chart = CountSum(20, 15, 60)
    chances = [false_alarm_chance(chart, [0.4] * points, [15] * points) for points in (10, 20, 40)]
    assert all(one < next_ for one, next_ in pairwise(chances))
    assert chances[2] == pytest.approx(1 - math.exp(-40 / chart.run_length(0.4)), abs=0.03)


@pytest.mark.parametrize("direction", ["rise", "fall"])
def test_a_lasting_change_is_told_with_its_beginning_and_direction(direction: str) -> None:
    chance = np.random.default_rng(19)
    shift = 2.0 if direction == "rise" else -2.0
    began = []
    for _ in range(100):
        values = chance.normal(10.0, 1.0, size=60)
        values[40:] += shift
        chart = ewma_chart(values.tolist(), 500.0, 0.2)
        signal = next(signal for signal in chart.signals if signal.at >= 40)
        assert signal.direction == direction
        assert signal.at < 60
        began.append(signal.began)
    assert np.median(began) == 40


def test_a_rise_of_findings_begins_where_the_sum_was_last_zero() -> None:
    looks = [Inspected(20, 0)] * 10 + [Inspected(20, 3)] * 3
    chart = counts_chart(looks, 0.02, 0.06, 500.0)
    (signal,) = chart.signals
    assert (signal.began, signal.direction) == (10, "rise")


def test_values_that_never_differed_signal_at_the_first_that_does() -> None:
    chart = individuals_chart([120.0, 120.0, 120.0, 0.0], 370.0)
    assert [signal.at for signal in chart.signals] == [3]
    assert [signal.at for signal in individuals_chart([60.0, 60.0, 60.0, 60.0, 61.0], 370.0, step=5.0).signals] == []


def test_nothing_is_charted_while_there_is_too_little_to_compare_with() -> None:
    assert all(math.isnan(one) for one in individuals_chart([1.0, 5.0], 100.0).statistic)
    assert individuals_chart([], 100.0).false_alarm_chance == 0.0


@pytest.mark.parametrize("degrees", [1, 3, 30])
def test_a_value_of_t_becomes_a_normal_one_without_a_jump_far_out(degrees: int) -> None:
    assert normal_of_t(0.0, degrees) == pytest.approx(0.0, abs=1e-9)
    near, far = normal_of_t(7.9999, degrees), normal_of_t(8.0001, degrees)
    assert near < far < near + 1e-3
    assert normal_of_t(-9.0, degrees) == -normal_of_t(9.0, degrees)
    assert math.isfinite(normal_of_t(1e12, degrees))
