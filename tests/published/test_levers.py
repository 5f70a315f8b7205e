"""What tips a leaning piece against the law of the lever.

Archimedes, On the Equilibrium of Planes, book I, propositions 6 and 7 (T. L. Heath, The Works of Archimedes, 1897): two
weights balance at distances that are inversely as the weights.
"""

from __future__ import annotations

import pytest

from patency.catalogue import LoadLimits, PieceType
from patency.reach import tipping
from tests.reach.cast import leaning, piece


@pytest.mark.parametrize("ratio", [1.0, 2.0, 3.0])
@pytest.mark.parametrize("inclination", [20.0, 60.0])
def test_rods_balance_where_their_middles_are_inversely_as_their_weights(ratio: float, inclination: float) -> None:
    """Two solid rods in line: the lower so many times thicker, the upper so many times longer."""
    weights = ((4.0 * ratio) ** 2 * 100.0, 4.0**2 * 100.0 * ratio)
    middles = (50.0, 50.0 * ratio)
    assert weights[0] * middles[0] == pytest.approx(weights[1] * middles[1])
    body = piece(("rod", 100.0, 4.0 * ratio), ("rod", 100.0 * ratio, 4.0))
    for support_at, holds in ((95.0, False), (105.0, True)):
        assert (_holding_over_tipping(body, inclination, support_at) > 1.0) == holds
    assert _holding_over_tipping(body, inclination, 100.0) == pytest.approx(1.0)


def _holding_over_tipping(body: PieceType, inclination: float, support_at: float) -> float:
    """Return the larger of both ratios that are told: that of the body as solid."""
    reply = tipping(body, leaning(inclination, support_at=support_at), LoadLimits())
    (ratio,) = (one.high for one in reply.figures if one.name == "holding over tipping moment")
    assert ratio is not None
    return ratio
