"""Bayes by hand: a few causes on one or two columns, weighed and grouped."""

from __future__ import annotations

import math

import numpy as np
import pytest

from patency.flow.diagnosis.causes import AS_PLANNED, Cause
from patency.flow.diagnosis.grouping import NOT_TOLD_APART, Grouping
from patency.flow.diagnosis.signatures import Signatures
from patency.flow.diagnosis.weighing import Weighing

NO_ARM = np.zeros(0, dtype=bool)


def signatures(causes: list[Cause], shares: list[list[float]], deviation: float = 10.0) -> Signatures:
    """Return causes whose water shows these shares of 1000 Pa, each column uncertain by itself."""
    columns = len(shares[0])
    return Signatures(
        causes=(Cause(AS_PLANNED, 1.0), *causes),
        columns=tuple(("wash", f"P{k}") for k in range(columns)),
        planned=np.full(columns, 1000.0),
        shares=np.array([[1.0] * columns, *shares]),
        offsets=np.array([[0.0] * columns, *([cause.offset] * columns for cause in causes)]),
        covariance=np.eye(columns) * deviation**2,
        not_computed=(),
    )


def test_the_probabilities_are_those_of_bayes_by_hand() -> None:
    """Odds 1/9 and 1/99; readings 0, 3 and 1 deviations from as planned, the cap and the sieve."""
    weighing = Weighing(signatures([Cause("cap", 0.1), Cause("sieve", 0.01)], [[0.97], [0.99]]), (), 0.01)
    posterior = weighing.posterior(weighing.whitened(np.array([990.0])), NO_ARM)
    both = 1000.0 * 0.97 * 0.99
    seen = {"planned": 1000.0, "cap": 970.0, "sieve": 990.0, "both": both}
    odds = {"planned": 1.0, "cap": 1.0 / 9.0, "sieve": 1.0 / 99.0, "both": 1.0 / 9.0 / 99.0}
    weight = {name: odds[name] * math.exp(-0.5 * ((990.0 - seen[name]) / 10.0) ** 2) for name in odds}
    total = sum(weight.values())
    assert posterior == pytest.approx([weight[name] / total for name in ("planned", "cap", "sieve", "both")])


def test_covariance_between_columns_counts() -> None:
    """An error both columns share makes a fall of both no sign of a cause that moves one of them alone."""
    one_alone = signatures([Cause("circuit", 0.5)], [[0.97, 1.0]])
    shared = Signatures(
        **{name: getattr(one_alone, name) for name in Signatures.__slots__ if name != "covariance"},
        covariance=np.array([[100.0, 99.0], [99.0, 100.0]]),
    )
    both_fall = np.array([970.0, 970.0])
    apart = Weighing(one_alone, (), 0.01)
    together = Weighing(shared, (), 0.01)
    with_apart = apart.posterior(apart.whitened(both_fall), NO_ARM)[1]
    with_shared = together.posterior(together.whitened(both_fall), NO_ARM)[1]
    assert with_apart > 0.9
    assert with_shared < 0.01


def test_what_cannot_happen_is_not_weighed_and_one_name_happens_once() -> None:
    causes = [Cause("never", 0.0), Cause("pump", 0.05, step=0), Cause("pump", 0.05, step=1)]
    weighing = Weighing(signatures(causes, [[0.9], [0.8], [0.7]]), (), 0.01)
    pairs = list(zip(weighing.hypotheses.first.tolist(), weighing.hypotheses.second.tolist(), strict=True))
    assert pairs == [(0, 0), (2, 0), (3, 0)]
    assert np.exp(weighing.hypotheses.log_prior).sum() == pytest.approx(1.0)


def test_what_a_sensor_adds_sums_and_what_water_does_multiplies() -> None:
    causes = [Cause("cap", 0.1), Cause("sensor", 0.1, offset=50.0)]
    found = signatures(causes, [[0.9], [1.0]])
    assert found.shown(np.array([1, 2, 1]), np.array([0, 0, 2]))[:, 0] == pytest.approx([900.0, 1050.0, 950.0])


def test_an_arm_that_is_seen_to_stand_decides_between_causes_that_show_alike() -> None:
    causes = [Cause("stuck", 0.01, arm="top"), Cause("blocked", 0.01)]
    weighing = Weighing(signatures(causes, [[1.0], [1.0]]), ("top",), 0.005)
    nothing = np.zeros(1)
    stands, turns = (weighing.posterior(nothing, np.array([stood])) for stood in (True, False))
    by_hand = 0.995 * 0.01 / 0.99 / (0.005 * (1.0 + 0.01 / 0.99))
    assert stands[1] / (stands[0] + stands[2]) == pytest.approx(by_hand, rel=1e-9)
    assert turns[1] < 1e-4


def grouped(weighing: Weighing, shown: list[float]) -> tuple[Grouping, dict[tuple[str, ...], float]]:
    posterior = weighing.posterior(weighing.whitened(np.array(shown)), np.zeros(len(weighing.arms), dtype=bool))
    grouping = Grouping(weighing, posterior)
    keys, sums = grouping.sums(posterior)
    named = {
        tuple(weighing.names[name] for group in key if group >= 0 for name in grouping.members[group]): float(total)
        for key, total in zip(keys.tolist(), sums, strict=True)
    }
    return grouping, named


def test_what_shows_the_same_is_never_split_and_as_planned_stands_with_what_does_not_show() -> None:
    causes = [Cause("hose off", 0.01), Cause("cap", 0.01), Cause("other cap", 0.02)]
    weighing = Weighing(signatures(causes, [[0.999], [0.93], [0.931]]), (), 0.01)
    _, named = grouped(weighing, [930.0])
    assert set(named) == {(AS_PLANNED, "hose off"), ("cap", "other cap"), ("cap", "other cap") * 2}
    assert named["cap", "other cap"] > 0.99
    assert sum(named.values()) == pytest.approx(1.0)


def test_a_chain_of_near_causes_is_one_group_and_a_gap_ends_it() -> None:
    step = 1.0 - NOT_TOLD_APART * 0.9 * 10.0 / 1000.0
    shares = [[step], [2 * step - 1.0], [2 * step - 1.0 - 0.006]]
    weighing = Weighing(signatures([Cause(name, 0.01) for name in "abc"], shares), (), 0.01)
    _, named = grouped(weighing, [1000.0])
    assert {AS_PLANNED, "a", "b"} in [set(names) for names in named]
    assert ("c",) in named


def test_causes_in_degrees_stand_for_a_group_with_the_step_that_fits_best() -> None:
    pump = [Cause("pump", 0.01, step=k) for k in range(3)]
    weighing = Weighing(signatures([*pump, Cause("cap", 0.01)], [[0.96], [0.92], [0.88], [0.921]]), (), 0.01)
    assert ("pump", "cap") in grouped(weighing, [920.0])[1]
    assert ("pump",) in grouped(weighing, [880.0])[1]


def test_two_causes_of_which_one_does_not_show_belong_to_the_other() -> None:
    causes = [Cause("hose off", 0.3), Cause("cap", 0.01)]
    weighing = Weighing(signatures(causes, [[0.999], [0.93]]), (), 0.01)
    grouping, named = grouped(weighing, [930.0])
    assert set(named) == {(AS_PLANNED, "hose off"), ("cap",)}
    point = weighing.whitened(np.array([930.0]))
    assert grouping.key_of_pair((1, 2), point, NO_ARM) == grouping.key_of_pair((2, 0), point, NO_ARM)


def test_two_causes_that_show_together_what_one_alone_shows_belong_to_that_one() -> None:
    causes = [Cause("cap", 0.05), Cause("clog", 0.05), Cause("arm lost", 0.001)]
    weighing = Weighing(signatures(causes, [[0.9], [0.8], [0.72]]), (), 0.01)
    _, named = grouped(weighing, [720.0])
    assert ("arm lost",) in named
    assert ("cap", "clog") not in named
    assert named["arm lost",] > 0.99


def test_arms_that_stand_keep_causes_apart() -> None:
    causes = [Cause("stuck", 0.01, arm="top"), Cause("blocked", 0.01)]
    weighing = Weighing(signatures(causes, [[1.0], [1.0]]), ("top",), 0.005)
    _, named = grouped(weighing, [1000.0])
    assert set(named) >= {(AS_PLANNED, "blocked"), ("stuck",)}
