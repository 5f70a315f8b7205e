"""Stretches of circulation given to stages, checked against trying every way of giving them."""

from __future__ import annotations

from itertools import combinations, product

import numpy as np
import pytest

from patency.catalogue import Stage
from patency.evidence.segmenting import Burst, _fits, assign

STAGES = [
    Stage.model_validate(stage)
    for stage in (
        {"name": "cold rinse", "kind": "flush", "hold": "60 s", "temperature": "20 °C", "doses": []},
        {
            "name": "cleaning",
            "kind": "clean",
            "hold": "300 s",
            "temperature": "50 °C",
            "doses": [{"agent": "soap", "volume": "100 mL"}],
        },
        {"name": "disinfection", "kind": "disinfect", "hold": "200 s", "temperature": "90 °C", "doses": []},
    )
]


def burst(start_s: float, end_s: float, hottest_c: float = 20.0, soap_m3: float = 0.0) -> Burst:
    return Burst(int(start_s), int(end_s), start_s, end_s, hottest_c, {"soap": soap_m3})


GOOD = [burst(0, 70), burst(120, 500, 51, 1e-4), burst(550, 1000, 91)]


def test_one_stretch_for_each_stage_needs_no_thought() -> None:
    found = assign(GOOD, STAGES)
    assert found is not None
    assert found.groups == ((0, 0), (1, 1), (2, 2))
    assert found.unclear == ()


def test_too_few_stretches_or_no_stage_give_nothing() -> None:
    assert assign(GOOD[:2], STAGES) is None
    assert assign(GOOD, []) is None


def test_a_stage_takes_two_stretches_where_heat_and_time_say_so() -> None:
    parted = [GOOD[0], burst(120, 300, 35, 1e-4), burst(310, 500, 51), GOOD[2]]
    found = assign(parted, STAGES)
    assert found is not None
    assert found.groups == ((0, 0), (1, 2), (3, 3))


def test_a_burst_of_filling_pipes_belongs_to_the_stage_behind_it_or_to_none() -> None:
    primed = [burst(0, 3), burst(6, 70), GOOD[1], GOOD[2]]
    found = assign(primed, STAGES)
    assert found is not None
    assert found.groups[0][1] == 1
    assert found.groups[1:] == ((2, 2), (3, 3))


def test_a_dose_tells_two_equally_long_stages_apart() -> None:
    twice = [burst(0, 60), burst(100, 400, np.nan), burst(450, 750, np.nan, 1e-4), burst(800, 1000, np.nan)]
    found = assign(twice, STAGES)
    assert found is not None
    assert found.groups[1][1] == 2


def test_an_end_that_could_as_well_lie_elsewhere_is_called_unclear() -> None:
    same = [STAGES[2], STAGES[2]]
    alike = [burst(0, 200, 90), burst(210, 410, 90), burst(420, 620, 90)]
    found = assign(alike, same)
    assert found is not None
    assert found.unclear


@pytest.mark.parametrize("seed", range(40))
def test_no_other_way_of_giving_stretches_costs_less(seed: int) -> None:
    rng = np.random.default_rng(seed)
    many = int(rng.integers(3, 7))
    edges = np.sort(rng.uniform(0, 1500, 2 * many))
    bursts = [
        burst(float(a), float(b), float(rng.choice([15, 50, 90, np.nan])), float(rng.choice([0, 1e-4])))
        for a, b in edges.reshape(-1, 2)
    ]
    found = assign(bursts, STAGES)
    assert found is not None
    costs = _fits(bursts, STAGES)

    def cost(groups: tuple[tuple[int, int], ...]) -> float:
        used = {place for first, last in groups for place in range(first, last + 1)}
        out = sum(3.0 + (b.end_s - b.start_s) / 20.0 for place, b in enumerate(bursts) if place not in used)
        return out + sum(float(costs[stage][group]) for stage, group in enumerate(groups))

    ways = [
        groups
        for firsts in combinations(range(many), 3)
        for lasts in product(range(many), repeat=3)
        if all(f <= z for f, z in zip(firsts, lasts, strict=True)) and lasts[0] < firsts[1] and lasts[1] < firsts[2]
        for groups in [tuple(zip(firsts, lasts, strict=True))]
    ]
    assert cost(found.groups) == pytest.approx(min(cost(groups) for groups in ways))
