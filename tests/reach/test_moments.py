"""Moments of jets about a support: force times lever."""

from __future__ import annotations

import numpy as np
import pytest

from patency.quantities import Answer
from patency.reach import JetSampling, LoadReach, held, jet_force_n, reach_of_load, strikes_of_load
from patency.reach.jets.moments import tipping_moment_n_m
from patency.reach.support import moment_left_n_m
from tests.reach.cast import leaning, piece
from tests.reach.drawn import arm, arranged, drawn_load, jet, square

FAST = 300.0
CLIP = ("Gallbladder One", "clip10/1/instrument")


@pytest.mark.parametrize("lever", [0.05, 0.2])
def test_a_jet_turns_a_plate_with_its_force_times_the_lever(lever: float) -> None:
    strikes = strikes_of_load(
        arranged(square(0.1, (0.0, 0.0, 0.15), cell=0.001)), arm(jet(half_spread=5.0, speed=FAST))
    )
    along_y = np.array([0.0, 1.0, 0.0])
    beside = np.array([lever, 0.0, 0.15])
    moment = tipping_moment_n_m(strikes, ("S", "0"), beside, along_y)
    assert moment == pytest.approx(lever * jet_force_n(1000.0, 1e-4, FAST), rel=0.04)
    assert tipping_moment_n_m(strikes, ("S", "0"), -beside, along_y) == 0.0  # there it only holds it down


def test_the_weight_leaves_the_difference_of_its_moments() -> None:
    rod = piece(("rod", 300.0, 10.0), mass_g=200.0)
    stands = leaning(30.0, support_at=100.0)
    # A bar of 300 mm held 100 mm from its foot: its middle lies 50 mm beyond the support.
    assert moment_left_n_m(rod, stands) == pytest.approx(-0.2 * 9.80665 * np.cos(np.radians(30)) * 0.05, rel=1e-9)
    assert moment_left_n_m(piece(("rod", 300.0, 10.0), mass_g=None), stands) is None


def of_flow(litres_per_min: float) -> LoadReach:
    """Return what is computed of a few pieces with strong or weak jets, roughly."""
    site, load = drawn_load()
    flows = dict.fromkeys(site.machine_kinds[load.machine_kind].arms, litres_per_min / 60000)
    return reach_of_load(site, load, flows, 50.0, sampling=JetSampling(12, 1))


def test_only_what_nothing_connects_can_be_tipped_by_the_jets() -> None:
    site, load = drawn_load()
    pieces = tuple(
        one.model_copy(update={"lumens": ()}) if (one.set, one.piece) == CLIP else one for one in load.pieces
    )
    bare = load.model_copy(update={"pieces": pieces})
    weak, strong = of_flow(20.0), of_flow(4000.0)
    assert "jets tip it" not in held(site, bare, weak)[CLIP].why
    told = held(site, bare, strong)[CLIP]
    assert told.answer is Answer.NO
    assert "jets tip it over its support" in told.why
    for found in (weak, strong):
        connected = held(site, load, found)[CLIP]
        assert "jets tip it" not in connected.why
        assert "largest moment with which jets tip it" in {figure.name for figure in connected.figures}
