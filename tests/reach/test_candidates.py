"""One piece somewhere else, and the bodies of a load for a picture: the same as the whole load computed anew."""

from __future__ import annotations

import numpy as np
import pytest

from patency.load import Load
from patency.reach import (
    JetSampling,
    LoadReach,
    Pose,
    Role,
    Rule,
    Wetting,
    after_move,
    bodies_shown,
    faults_of_arrangement,
    placing_reach,
    reach_of_load,
    smallest_change,
)
from tests.reach.drawn import drawn_load

FLOW = 95 / 60000
ROUGHLY = JetSampling(angle_steps=12, finer=4, reflection_rays=4)
CLIP = ("Gallbladder One", "clip10/1/instrument")


def computed(load: Load) -> LoadReach:
    """Return what geometry and jets say of a load with an even flow of the arms, roughly."""
    site, _ = drawn_load()
    flows = dict.fromkeys(site.machine_kinds[load.machine_kind].arms, FLOW)
    return reach_of_load(site, load, flows, 50.0, sampling=ROUGHLY)


@pytest.fixture(scope="module")
def found() -> LoadReach:
    return computed(drawn_load()[1])


def rules_of_clip(found: LoadReach) -> set[Rule]:
    return {one.rule for one in found.faults if one.piece == CLIP}


def test_a_piece_pushed_into_an_arm_and_into_its_neighbour_is_told_both(found: LoadReach) -> None:
    site, load = drawn_load()
    arm = found.arms.arms[0]
    solid = found.arranged.solids[found.arranged.number_of[CLIP]]
    low = Pose(solid.pose.turn, solid.pose.shift_m + np.array(arm.centre_m) - solid.in_carrier.bounds_m.mean(axis=0))
    assert Rule.SWEEP in rules_of_clip(after_move(site, load, found, CLIP, low))
    other = found.arranged.solids[found.arranged.number_of["Gallbladder One", "mod5/1/tube"]]
    into = Pose(other.pose.turn, other.pose.shift_m)
    assert Rule.INTERSECTS in rules_of_clip(after_move(site, load, found, CLIP, into))


def test_after_a_move_the_faults_are_those_of_the_whole_load(found: LoadReach) -> None:
    site, load = drawn_load()
    kind, limits = site.machine_kinds[load.machine_kind], site.limits.load
    other = found.arranged.solids[found.arranged.number_of["Gallbladder One", "mod5/1/tube"]]
    into = after_move(site, load, found, CLIP, Pose(other.pose.turn, other.pose.shift_m))
    home = found.arranged.solids[found.arranged.number_of[CLIP]].pose
    out = after_move(site, load, into, CLIP, Pose(home.turn, home.shift_m + np.array([0.0, 0.0, 0.9])))
    assert Rule.OUTSIDE in rules_of_clip(out)
    for moved in (into, out, after_move(site, load, out, CLIP, home)):
        whole = faults_of_arrangement(moved.arranged, kind, limits)
        told = [one for one in moved.faults if one.rule is not Rule.MOVED]
        assert sorted(told) == sorted(whole)
    assert {Rule.INTERSECTS} <= {one.rule for one in into.faults if one.piece != CLIP}


def test_a_piece_placed_otherwise_is_struck_as_in_a_load_that_places_it_so(found: LoadReach) -> None:
    site, load = drawn_load()
    placed = next(one for one in load.pieces if (one.set, one.piece) == CLIP)
    over = placed.model_copy(update={"way_up": "distal down"})
    pieces = tuple(over if one is placed else one for one in load.pieces)
    anew = computed(load.model_copy(update={"pieces": pieces}))
    assert anew.strikes is not None
    alone = placing_reach(site, load, found, over)
    assert alone.struck_share == pytest.approx(anew.strikes.pieces[CLIP].struck_share, abs=1e-12)
    assert placing_reach(site, load, found, over, most_faults=len(alone.faults)) == alone
    assert placing_reach(site, load, found, over, most_faults=len(alone.faults) - 1) == (None, alone.faults)
    assert set(alone.faults) <= {one for one in anew.faults if one.piece == CLIP}


def test_a_piece_that_cannot_be_drawn_there_has_no_share(found: LoadReach) -> None:
    site, load = drawn_load()
    placed = next(one for one in load.pieces if one.placing == "optic holder")
    nowhere = placed.model_copy(update={"stands_in": None})
    assert placing_reach(site, load, found, nowhere) == (None, ())


def test_without_the_jets_there_is_no_share_but_there_are_faults(found: LoadReach) -> None:
    site, load = drawn_load()
    bare = LoadReach(found.arranged, found.arms, None, found.faults)
    pose = found.arranged.solids[found.arranged.number_of[CLIP]].pose
    placed = next(one for one in load.pieces if (one.set, one.piece) == CLIP)
    assert placing_reach(site, load, bare, placed).struck_share is None
    assert after_move(site, load, bare, CLIP, pose).strikes is None
    assert all((one.wetting == -1).all() for one in bodies_shown(bare))


def test_a_change_into_what_an_arm_sweeps_is_not_proposed(found: LoadReach) -> None:
    site, load = drawn_load()
    placed = next(one for one in load.pieces if one.piece == "sleeve11/1/obturator")
    assert found.strikes is not None
    first = smallest_change(site, load, found.strikes, placed, 0.999)
    assert first is not None
    solid = found.arranged.solids[found.arranged.number_of[placed.set, placed.piece]]
    x, y, z = solid.moved_to(first.pose).in_carrier.bounds_m.mean(axis=0)
    kind = site.machine_kinds[load.machine_kind]
    there = {"centre_x_m": x, "centre_y_m": y, "height_m": z, "radius_m": 0.01}
    arms = {**kind.arms, "top arm": kind.arms["top arm"].model_copy(update=there)}
    kinds = {**site.machine_kinds, load.machine_kind: kind.model_copy(update={"arms": arms})}
    other = smallest_change(site.model_copy(update={"machine_kinds": kinds}), load, found.strikes, placed, 0.999)
    assert other is None or other.words != first.words


def test_every_body_is_shown_with_what_strikes_its_patches(found: LoadReach) -> None:
    assert found.strikes is not None
    shown = bodies_shown(found)
    assert [one.words for one in shown] == [one.words for one in found.arranged.solids]
    for body in shown:
        assert body.faces.max() < len(body.vertices_m)
        assert body.patch_of.max() < len(body.zone_of)
        assert body.zone_of.max() < len(body.zones)
        if body.role is Role.PIECE and body.piece is not None:
            strikes = found.strikes.pieces[body.piece]
            struck = np.count_nonzero(body.wetting == Wetting.STRUCK)
            assert struck == np.count_nonzero(strikes.wetting == Wetting.STRUCK) > 0
            assert (body.hits_per_min[body.wetting == Wetting.STRUCK] > 0).all()
        else:
            assert (body.wetting == -1).all()
