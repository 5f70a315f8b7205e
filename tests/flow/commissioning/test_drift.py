"""A port that clogs is flagged before it matters; one that stays as it is gives false alarms as seldom as stated."""

from __future__ import annotations

import numpy as np
import pytest

from patency.flow.commissioning.drift import innovations, limit_for, run_length, watch

NOISE = 0.01  # of a bucket and a stopwatch with an expanded uncertainty of 2 %
DOUBT = 0.015  # of what a fit predicts for a port
LIMIT = limit_for(1000.0)


def test_false_alarms_come_as_seldom_as_stated_though_the_fit_is_wrong_about_each_port() -> None:
    """600 ports, 250 readings each: 600 (1 - exp(-250/1000)) flags, give or take three standard deviations."""
    chance = np.random.default_rng(8)
    flags = 0
    for _ in range(600):
        shortfalls = DOUBT * chance.normal() + NOISE * chance.normal(size=250)
        flags += watch(innovations(list(shortfalls), NOISE, DOUBT), LIMIT).flagged_at is not None
    share = 1.0 - np.exp(-250 / run_length(LIMIT))
    assert flags / 600 == pytest.approx(share, abs=3.0 * np.sqrt(share * (1.0 - share) / 600) + 0.01)


def test_a_port_that_loses_half_a_percent_a_reading_is_flagged_before_it_lost_a_tenth() -> None:
    chance = np.random.default_rng(9)
    lost = []
    for _ in range(300):
        before, clogging = 12, 40
        decline = np.concatenate((np.zeros(before), 0.005 * np.arange(1, clogging + 1)))
        shortfalls = DOUBT * chance.normal() + decline + NOISE * chance.normal(size=decline.size)
        drift = watch(innovations(list(shortfalls), NOISE, DOUBT), LIMIT)
        assert drift.flagged_at is not None
        if drift.flagged_at >= before:
            lost.append(float(decline[drift.flagged_at]))
            assert drift.began_at is not None
            assert drift.began_at <= drift.flagged_at
    assert len(lost) > 290
    assert np.mean(lost) < 0.05
    assert np.quantile(lost, 0.99) < 0.10


def test_innovations_are_independent_and_standard_normal_for_a_port_that_stays() -> None:
    chance = np.random.default_rng(10)
    rows = np.array(
        [innovations(list(DOUBT * chance.normal() + NOISE * chance.normal(size=6)), NOISE, DOUBT) for _ in range(4000)]
    )
    assert np.cov(rows.T) == pytest.approx(np.eye(6), abs=0.08)
    assert rows.mean(axis=0) == pytest.approx(np.zeros(6), abs=0.06)


def test_the_flag_names_the_reading_since_which_the_sum_rose() -> None:
    drift = watch([0.0, -1.0, 2.0, 2.0, 2.0], 4.0)
    assert drift.sums == pytest.approx((0.0, 0.0, 1.5, 3.0, 4.5))
    assert (drift.began_at, drift.flagged_at) == (2, 4)
    calm = watch([0.1, -0.2], 4.0)
    assert (calm.began_at, calm.flagged_at) == (None, None)


def test_a_port_that_gives_more_than_predicted_is_not_flagged() -> None:
    assert watch(innovations([-0.1] * 50, NOISE, DOUBT), LIMIT).flagged_at is None
