"""The excess loss of developing laminar flow rises from nothing to its limit, the faster the slower the flow."""

from __future__ import annotations

import itertools

import pytest

from patency.flow.development import laminar_development_loss


@pytest.mark.parametrize("ratio", [0.0, 0.01, 0.3, 0.72, 0.99])
def test_the_excess_rises_with_the_length(ratio: float) -> None:
    lengths = [1e-4, 1e-3, 1e-2, 0.1, 1.0, 10.0]
    losses = [laminar_development_loss(length, 1e-3, 1000.0, ratio) for length in lengths]
    assert all(a < b for a, b in itertools.pairwise(losses))
    assert losses[0] > 0.0


def test_a_faster_flow_needs_a_longer_way() -> None:
    slow = laminar_development_loss(0.05, 1e-3, 200.0, ratio=0.0)
    fast = laminar_development_loss(0.05, 1e-3, 1800.0, ratio=0.0)
    assert fast < slow


def test_an_annulus_develops_sooner_and_loses_less_than_a_bore() -> None:
    assert laminar_development_loss(0.3, 1e-3, 1500.0, ratio=0.7) < 0.6 * laminar_development_loss(
        0.3, 1e-3, 1500.0, ratio=0.0
    )


def test_between_the_ratios_of_the_table_the_loss_is_between_theirs() -> None:
    low, middle, high = (laminar_development_loss(1e3, 1.0, 1.0, ratio) for ratio in (0.1, 0.3, 0.5))
    assert high < middle < low
    assert middle == pytest.approx((low + high) / 2.0, rel=1e-3)


def test_a_wire_counts_as_the_thinnest_rod_of_the_table() -> None:
    assert laminar_development_loss(0.3, 1e-3, 1500.0, 0.001) == laminar_development_loss(0.3, 1e-3, 1500.0, 0.05)
