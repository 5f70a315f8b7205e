"""What the jets can move of what lies free: pushed, lifted, lifted at one end; against weight and levers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from patency.catalogue import LoadLimits
from patency.load import Load
from patency.quantities import Answer
from patency.reach import (
    JetSampling,
    Pose,
    Rule,
    Strikes,
    held,
    jet_force_n,
    lying_pose,
    movable,
    reach_of_load,
    strikes_of_load,
)
from patency.reach.moving import moved_by_jets
from patency.reach.solids.mesh import Mesh
from patency.reach.solids.pieces import piece_solid
from tests.reach.cast import limit
from tests.reach.drawn import arm, arranged, drawn_load, jet, part, shape, square

GRAVITY = 9.80665
KEY = ("S", "0")
FREE = {KEY: False}
FAST = 300.0


def struck(mesh: Mesh, *, weight_n: float | None, times: float = 1.0, out: float = 0.0) -> Strikes:
    """Return what one upright jet strikes of a body of a weight [N] from below; nobody knows it where that is None."""
    arms = replace(arm(jet(out=out, half_spread=3.0, speed=FAST)), forces_times=times)
    load = arranged(mesh)
    mass = None if weight_n is None else weight_n / GRAVITY
    solids = tuple(replace(one, mass_kg=mass) for one in load.solids)
    return strikes_of_load(replace(load, solids=solids), arms, JetSampling(angle_steps=24, finer=1))


PUSH = struck(square(0.1, (0.0, 0.0, 0.15), cell=0.002), weight_n=None).pieces[KEY].push_n


def test_a_jet_pushes_a_plate_with_its_momentum() -> None:
    assert pytest.approx(jet_force_n(1000.0, 1e-4, FAST), rel=0.04) == PUSH


@pytest.mark.parametrize("share", [0.3, 1.0])
@pytest.mark.parametrize("times", [1.0, 1.3])
def test_what_jets_push_with_more_than_its_share_of_the_weight_is_found_unless_it_is_held(
    share: float, times: float
) -> None:
    plate = square(0.1, (0.0, 0.0, 0.15), cell=0.002)
    for part_of_limit, found in ((1.01, []), (0.99, [Rule.MOVED])):
        strikes = struck(plate, weight_n=part_of_limit * times * PUSH / share, times=times)
        assert [one.rule for one in movable(strikes, FREE, share)] == found
        assert movable(strikes, {KEY: True}, share) == []
        stated = LoadLimits(push_share=limit(share, "1"))
        assert [one.rule for one in moved_by_jets(bare_load(), strikes, stated)] == found
    assert [one.rule for one in movable(struck(plate, weight_n=None), FREE, share)] == [Rule.MOVED]


def bare_load() -> Load:
    """Return a load of one piece that lies free in a basket."""
    _, load = drawn_load()
    one = next(one for one in load.pieces if one.placing == "basket" and not one.net)
    return load.model_copy(update={"pieces": (one.model_copy(update={"set": KEY[0], "piece": KEY[1]}),)})


@pytest.mark.parametrize(("beside", "turned"), [(0.03, 0.0), (-0.03, 0.0), (0.03, 90.0), (0.04, 30.0)])
def test_a_plate_that_is_struck_beside_its_middle_comes_up_at_that_side(beside: float, turned: float) -> None:
    # About the far side: F (L/2 + x) against W L/2, Archimedes, On the Equilibrium of Planes, 3rd century BC.
    size, turn = 0.1, np.radians(turned)
    about = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1.0]])
    plate = square(size, (0.0, 0.0, 0.0), cell=0.002)
    place = about @ np.array([-beside, 0.0, 0.0]) + np.array([0.0, 0.0, 0.15])
    balance = PUSH * (size / 2 + abs(beside)) / (size / 2)
    for part_of_balance, found in ((1.05, []), (0.95, [Rule.MOVED])):
        strikes = struck(plate, weight_n=part_of_balance * balance)
        posed = strikes.arranged.solids[0].moved_to(Pose(about, place))
        strikes = strikes_of_load(replace(strikes.arranged, solids=(posed,)), strikes.arms, strikes.sampling)
        faults = movable(strikes, FREE)
        assert [one.rule for one in faults] == found
        assert all("lift one end" in one.words for one in faults)


def test_the_worse_end_of_a_tapered_body_decides() -> None:
    drawn = piece_solid(shape(part("rod", 100, 20), part("rod", 100, 4)), 0.004).mesh
    assert drawn is not None
    middle = (0.1 * 0.02**2 * 0.05 + 0.1 * 0.004**2 * 0.15) / (0.1 * 0.02**2 + 0.1 * 0.004**2)  # of a solid one
    pose = lying_pose(drawn, np.array([0.0, 0.0, 0.15]), 0.0)
    thin = (pose.turn @ np.array([0.0, 0.0, 0.19]) + pose.shift_m)[:2]
    bodies = arranged(drawn)
    shifted = Pose(pose.turn, pose.shift_m - np.array([*thin, 0.0]))
    posed = tuple(replace(one, pose=shifted, mass_kg=None) for one in bodies.solids)
    arms = arm(jet(half_spread=0.7, speed=FAST))
    sampling = JetSampling(angle_steps=24, finer=1)
    force = strikes_of_load(replace(bodies, solids=posed), arms, sampling).pieces[KEY].lift_n
    # Lifted at its thin end it turns about the thick one, from which its middle is nearer.
    balance = force * 0.19 / middle
    for part_of_balance, found in ((1.1, []), (0.9, [Rule.MOVED])):
        weighed = tuple(replace(one, mass_kg=part_of_balance * balance / GRAVITY) for one in posed)
        strikes = strikes_of_load(replace(bodies, solids=weighed), arms, sampling)
        assert [one.rule for one in movable(strikes, FREE)] == found


def test_where_no_share_is_stated_whether_what_lies_free_stays_is_not_known() -> None:
    site, load = drawn_load()
    kind = site.machine_kinds[load.machine_kind]
    found = reach_of_load(site, load, dict.fromkeys(kind.arms, 95 / 60000), 50.0, sampling=JetSampling(12, 1))
    bare = site.model_copy(
        update={
            "limits": site.limits.model_copy(update={"load": site.limits.load.model_copy(update={"push_share": None})})
        }
    )
    stated, left_out = held(site, load, found), held(bare, load, found)
    free = {(one.set, one.piece) for one in load.pieces if one.placing == "basket" and not one.net}
    changed = {key for key, reply in left_out.items() if reply.answer is not stated[key].answer}
    assert changed
    assert changed <= free
    assert {left_out[key].answer for key in changed} == {Answer.UNKNOWN}
    assert "is not stated" in left_out[changed.pop()].why
