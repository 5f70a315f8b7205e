"""A0 against its published definition, published equivalences and closed forms.

Definition: ISO 15883-1, Annex B.1, as rendered publicly: "the equivalent time in seconds at a temperature of 80 °C"
with z = 10 °C, counted from 65 °C up. The standard itself was not at hand; every figure below follows from that one
sentence and is worked out independently in the test where no public text states it.

Published equivalences:
* 80 °C 10 min, 90 °C 1 min, 70 °C 100 min each give 600: European Forum for Hospital Sterile Supply, questions and
  answers on A0, 2004.
* 90 °C 1 min gives 600, 90 °C 5 min gives 3000: German Society for Hospital Hygiene (DGKH), Hygiene-Tipp, June 2012.
* 93 °C 10 min is called "12 000" in handbooks, rounded from 11 972: Infect. Control Hosp. Epidemiol., letter, 2017.
* Linen bands of NHS HTM 01-04: 65 °C 10 min and 71 °C 3 min. These are no equivalents of A0 600.

Agreement reached: 1e-9 relative for constant temperatures; for ramps as stated beside each.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from patency.evidence import a0, lethal_rate


def held(temperature_c: float, seconds: float) -> float:
    """Return A0 of a constant temperature, sampled every second."""
    time = np.arange(0.0, seconds + 0.5)
    return a0(time, np.full(time.size, temperature_c)).a0_s


def ramp_closed_form(from_c: float, to_c: float, rate_k_s: float) -> float:
    """Integrate 10^((T - 80)/10) along a straight ramp by hand: (z / ln 10) / r times the difference of the ends."""
    ends = 10 ** ((to_c - 80) / 10) - 10 ** ((from_c - 80) / 10)
    return 10 / math.log(10) / rate_k_s * ends


@pytest.mark.parametrize(
    ("temperature_c", "minutes", "published"),
    [(80, 10, 600), (90, 1, 600), (70, 100, 600), (90, 5, 3000), (80, 50, 3000), (80, 1, 60), (90, 0.2, 120)],
)
def test_published_equivalences_are_met(temperature_c: float, minutes: float, published: float) -> None:
    assert held(temperature_c, minutes * 60) == pytest.approx(published, rel=1e-9)


@pytest.mark.parametrize(
    ("temperature_c", "seconds", "expected"),
    [
        (93, 600, 11971.57),  # the old German programme, "12 000" in handbooks
        (64.9, 36000, 0.0),
        (65, 600, 18.974),  # a linen band, HTM 01-04
        (71, 180, 22.661),  # a linen band, HTM 01-04
        (73, 180, 35.915),
        (90, 1, 10.0),
    ],
)
def test_other_constant_temperatures_follow_the_definition(
    temperature_c: float, seconds: float, expected: float
) -> None:
    assert held(temperature_c, seconds) == pytest.approx(expected, rel=5e-5)


# Rate, and the hold for A0 600 in seconds: a table as public explainers print it, worked out from the definition.
@pytest.mark.parametrize(
    ("temperature_c", "rate", "hold_600_s"),
    [
        (65, 0.031623, 18973.7),
        (70, 0.1, 6000),
        (75, 0.316228, 1897.4),
        (80, 1, 600),
        (85, 3.162278, 189.7),
        (87, 5.011872, 119.7),
        (90, 10, 60),
        (91, 12.58925, 47.7),
        (93, 19.95262, 30.1),
        (95, 31.62278, 19.0),
    ],
)
def test_the_table_of_rates_and_holding_times_is_met(temperature_c: float, rate: float, hold_600_s: float) -> None:
    computed = float(lethal_rate(np.array([temperature_c]))[0])
    assert computed == pytest.approx(rate, rel=1e-5)
    assert 600 / computed == pytest.approx(hold_600_s, abs=0.05)


@pytest.mark.parametrize(
    ("from_c", "to_c", "rate_k_min", "expected"),
    [
        (65, 90, 1, 2597.53),
        (65, 90, 2, 1298.76),
        (65, 90, 3, 865.84),
        (65, 90, 5, 519.51),
        (65, 93, 2, 2595.47),
        (65, 80, 2, 126.17),
    ],
)
def test_a_ramp_agrees_with_its_closed_form(from_c: float, to_c: float, rate_k_min: float, expected: float) -> None:
    closed = ramp_closed_form(from_c, to_c, rate_k_min / 60)
    assert closed == pytest.approx(expected, abs=0.01)
    time = np.linspace(0.0, (to_c - from_c) / rate_k_min * 60, 6001)
    assert a0(time, from_c + rate_k_min / 60 * time).a0_s == pytest.approx(closed, rel=1e-6)


@pytest.mark.parametrize(("step_s", "trapezoid"), [(1, 1298.8), (5, 1298.9), (10, 1299.4), (30, 1304.5)])
def test_sampling_every_thirty_seconds_still_agrees_within_half_a_percent(step_s: float, trapezoid: float) -> None:
    time = np.arange(0.0, 750.1, step_s)
    computed = a0(time, 65 + 2 / 60 * time).a0_s
    assert computed == pytest.approx(trapezoid, abs=0.05)
    assert computed == pytest.approx(ramp_closed_form(65, 90, 2 / 60), rel=0.005)


def test_a_falling_ramp_is_worth_as_much_as_the_rising_one() -> None:
    time = np.arange(0.0, 751.0)
    rising = a0(time, 65 + 2 / 60 * time).a0_s
    assert a0(time, 90 - 2 / 60 * time).a0_s == pytest.approx(rising, rel=1e-12)


def test_a_whole_profile_agrees_with_the_sum_worked_out_by_hand() -> None:
    profile = np.array([60, 64, 66, 70, 76, 82, 87, 90, 91, 91, 90, 90, 91, 90, 90, 88, 80, 70, 64], dtype=float)
    rates = [10 ** ((t - 80) / 10) if t >= 65 else 0.0 for t in profile.tolist()]
    by_hand = sum(10.0 * (before + after) / 2 for before, after in pairwise(rates))
    assert by_hand == pytest.approx(1023.12, abs=0.005)
    assert a0(np.arange(0.0, 190.0, 10.0), profile).a0_s == pytest.approx(by_hand, rel=1e-12)


@pytest.mark.parametrize(("offset_k", "factor"), [(0.5, 1.122), (-0.5, 0.891), (1, 1.259), (-1, 0.794)])
def test_a_sensor_that_reads_wrong_moves_a0_by_the_known_factor(offset_k: float, factor: float) -> None:
    assert held(90 + offset_k, 300) / held(90, 300) == pytest.approx(factor, abs=0.0005)


def test_the_mean_temperature_would_give_too_little() -> None:
    """The mean of the rates exceeds the rate of the mean: averaging temperatures first would be another quantity."""
    time = np.arange(0.0, 601.0)
    swinging = 85 + 5 * np.sin(time / 20)
    assert a0(time, swinging).a0_s > 1.1 * a0(time, np.full(time.size, float(swinging.mean()))).a0_s
