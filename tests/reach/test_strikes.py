"""What jets strike of a load: classes of patches, zones with their shadows, moves, refinement, missing data."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest

from patency.reach import (
    Arms,
    Arranged,
    JetSampling,
    Pose,
    Screen,
    Strikes,
    Wetting,
    arms_of_load,
    lying_pose,
    rotated_in_place,
    solids_of_load,
    strikes_after_move,
    strikes_of_load,
)
from patency.reach.jets import machine_code
from patency.reach.solids.mesh import Zone
from patency.reach.solids.pieces import piece_solid
from tests.reach.drawn import arm, arranged, drawn_load, jet, part, shape, square, struck_places

FLOW = 95 / 60000
TURN = np.diag([-1.0, -1.0, 1.0])


def the_arms() -> Arms:
    """Return the arms of the demo's machine with an even flow."""
    site, load = drawn_load()
    kind = site.machine_kinds[load.machine_kind]
    return arms_of_load(kind, dict.fromkeys(kind.arms, FLOW), 50.0)


def shares(strikes: Strikes) -> dict[tuple[str, str], float]:
    """Return each piece's share that is struck directly."""
    return {key: one.share(Wetting.STRUCK) for key, one in strikes.pieces.items()}


@pytest.fixture(scope="module")
def load() -> Arranged:
    return solids_of_load(*drawn_load())


@pytest.fixture(scope="module")
def strikes(load: Arranged) -> Strikes:
    return strikes_of_load(load, the_arms())


def test_every_patch_of_every_piece_has_one_class(load: Arranged, strikes: Strikes) -> None:
    assert strikes.pieces.keys() == load.number_of.keys()
    for one in strikes.pieces.values():
        assert sum(one.share(each) for each in Wetting) == pytest.approx(1.0)
        struck = one.wetting == Wetting.STRUCK
        assert (one.hits_per_min[struck] > 0).all()
        assert (one.pressure_pa[struck] > 0).all()
        assert (one.least_incidence_deg[struck] <= one.largest_incidence_deg[struck]).all()
        assert (one.arms[struck] > 0).all()
        assert np.isnan(one.least_incidence_deg[one.pressure_pa == 0]).all()


def test_what_lies_under_an_open_flushing_sleeve_is_rinsed_and_not_struck(strikes: Strikes) -> None:
    tube = strikes.pieces["Gallbladder One", "mod5/1/tube"]
    area = tube.surface.areas_m2[tube.wetting == Wetting.RINSED].sum()
    assert area == pytest.approx(np.pi * 0.005 * 0.025, rel=0.1)  # the grip of 25 mm on a tube of 5 mm


def test_a_moved_piece_gives_the_same_as_the_whole_load_computed_anew(strikes: Strikes) -> None:
    for piece in ("clip10/1/instrument", "mod5/1/handle"):
        key = ("Gallbladder One", piece)
        number = strikes.arranged.number_of[key]
        pose = rotated_in_place(strikes.arranged.solids[number], TURN)
        after = strikes_after_move(strikes, key, pose)
        anew = strikes_of_load(strikes.arranged.with_pose(key, pose), strikes.arms)
        assert shares(after) == pytest.approx(shares(anew), abs=1e-12)
        for each, one in anew.pieces.items():
            assert (after.pieces[each].wetting == one.wetting).mean() > 0.999, each
        back = strikes_after_move(after, key, strikes.arranged.solids[number].pose)
        assert shares(back) == pytest.approx(shares(strikes), abs=1e-12)


def test_what_stands_behind_a_piece_that_left_is_known_when_it_leaves_too() -> None:
    low, *plates = (square(size, (0.0, 0.0, z)) for size, z in ((0.05, 0.0), (0.2, 0.03), (0.2, 0.06)))
    above = arm(jet(-90.0, out=0.05, half_spread=20.0), centre=(0.0, 0.0, 0.3))
    found = strikes_of_load(arranged(low, *plates), above)
    for piece in ("2", "1"):
        assert found.pieces["S", "0"].share(Wetting.STRUCK) == 0.0
        found = strikes_after_move(found, ("S", piece), Pose(np.eye(3), np.array([1.0, 0.0, 0.0])))
    anew = strikes_of_load(found.arranged, above)
    assert shares(found) == shares(anew)
    assert found.pieces["S", "0"].share(Wetting.STRUCK) > 0.3


def test_finer_patches_or_angles_change_no_share_by_a_percentage_point(strikes: Strikes) -> None:
    site, load = drawn_load()
    finer = strikes_of_load(solids_of_load(site, load, cell_m=0.00175), strikes.arms)
    oftener = strikes_of_load(strikes.arranged, strikes.arms, JetSampling(angle_steps=2 * JetSampling().angle_steps))
    for key, share in shares(strikes).items():
        assert shares(finer)[key] == pytest.approx(share, abs=0.01), key
        assert shares(oftener)[key] == pytest.approx(share, abs=0.01), key


def test_flights_that_a_second_look_leaves_out_would_have_met_what_stands_beside_them(
    load: Arranged, strikes: Strikes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("patency.reach.jets.runs._SPARSE", 1)
    whole = strikes_of_load(load, the_arms())
    pieces = [one.pieces.values() for one in (strikes, whole)]
    followed = [sum(len(part.share) for one in each for part in one.samples) for each in pieces]
    assert followed[0] < 0.6 * followed[1]
    told = [np.concatenate([found.pieces[key].wetting for key in whole.pieces]) for found in (strikes, whole)]
    assert (told[0] != told[1]).mean() < 2e-4
    for key, share in shares(whole).items():
        assert shares(strikes)[key] == pytest.approx(share, abs=0.001), key


def test_a_closed_jaw_is_not_struck_inside_and_an_open_one_is() -> None:
    shown = {}
    for opening in ("1 °", "60 °"):
        drawn = piece_solid(shape(part("jaw", 20, 6, opening=opening))).mesh
        assert drawn is not None
        mesh = drawn.moved(*lying_pose(drawn, np.zeros(3), 0.0, 90.0))
        above = arm(*(jet(-80.0, out=out, half_spread=25.0) for out in (-0.1, 0.05, 0.1)), centre=(0.0, 0.0, 0.4))
        zones = strikes_of_load(arranged(mesh), above).pieces["S", "0"].zones
        shown[opening] = max(zone.struck_share for zone in zones if zone.name.startswith("inner jaw"))
    assert shown["1 °"] < 0.2
    assert shown["60 °"] > 0.6


def test_a_covering_plate_is_named_as_what_shadows_and_splashes_do_not_count_as_struck() -> None:
    low, high = square(0.05, (0.0, 0.0, 0.0)), square(0.15, (0.0, 0.0, 0.01))
    above = arm(jet(-90.0, out=0.05, half_spread=20.0), centre=(0.0, 0.0, 0.3))
    found = strikes_of_load(arranged(low, high), above).pieces["S", "0"]
    assert found.share(Wetting.STRUCK) == 0.0
    assert found.share(Wetting.REFLECTED) == 1.0
    assert found.zones[0].shadowed_by == ("body 1 at floor",)
    assert found.push_n == found.lift_n == 0.0


def test_what_sees_nothing_that_is_struck_is_sheltered() -> None:
    plates = [square(0.2, (0.0, 0.0, z), cell=0.02) for z in (0.0, 0.02, 0.04)]
    sides = [
        square(0.2, at, cell=0.02, turned=turn)
        for at, turn in (
            ((0.1, 0.0, 0.0), np.array([[0.0, 0.0, 1.0], [0.0, 1.0, 0.0], [-1.0, 0.0, 0.0]])),
            ((-0.1, 0.0, 0.0), np.array([[0.0, 0.0, 1.0], [0.0, 1.0, 0.0], [-1.0, 0.0, 0.0]])),
            ((0.0, 0.1, 0.0), np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])),
            ((0.0, -0.1, 0.0), np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])),
        )
    ]
    above = arm(jet(-90.0, out=0.05, half_spread=20.0), centre=(0.0, 0.0, 0.3))
    found = strikes_of_load(arranged(*plates, *sides), above).pieces["S", "1"]
    assert found.share(Wetting.SHELTERED) == pytest.approx(1.0)


def test_nobody_knows_what_arms_strike_whose_nozzles_or_speed_or_flow_are_not_known() -> None:
    site, load = drawn_load()
    kind = site.machine_kinds[load.machine_kind]
    top = kind.arms["top arm"]
    flows = dict.fromkeys(kind.arms, FLOW)
    for update, gap in (
        ({"nozzles": None}, "place and direction of the nozzles of the top arm are not stated"),
        ({"rotation_rpm": None}, "how fast the top arm turns is not stated"),
    ):
        other = kind.model_copy(update={"arms": {**kind.arms, "top arm": top.model_copy(update=update)}})
        assert arms_of_load(other, flows, 50.0).gaps == (gap,)
    assert arms_of_load(kind, {}, 50.0).gaps[0] == "the flow of the bottom arm is not computed"
    assert len(arms_of_load(kind, flows, 50.0).arms) == 4


def test_a_slot_that_opens_between_two_angles_is_found() -> None:
    # Halfway between arm and plate a slot 0.8 mm wide leaves each point of the plate 1.6 mm of the nozzles' circle of
    # 200 mm, a third of a degree; angles of the second look are 1.9 degrees apart.
    plate, low = square(0.03, (0.2, 0.0, 0.2)), [(0.2, side * (0.0504), 0.1) for side in (-1, 1)]
    bodies = arranged(plate, *(square(0.1, at) for at in low))
    some = arm(jet(out=0.2, half_spread=12.0, speed=300.0))
    seen = [
        struck_places(strikes_of_load(bodies, some, JetSampling(24, finer)), "0", facing=(0.0, 0.0, -1.0))[:, 0].sum()
        for finer in (8, 128)
    ]
    assert seen[1] == pytest.approx(0.03**2, rel=1e-9)
    assert seen[0] < 0.5 * seen[1]


def test_a_load_without_arms_is_struck_nowhere() -> None:
    found = strikes_of_load(arranged(square(0.05, (0.0, 0.0, 0.1))), Arms((), 1000.0, ()))
    assert found.struck_share == 0.0
    one = found.pieces["S", "0"]
    assert one.push_n == one.lift_n == 0.0
    assert [(zone.struck_share, zone.shadowed_by) for zone in one.zones] == [(0.0, ())]


def test_the_kernels_give_the_same_interpreted_and_compiled(monkeypatch: pytest.MonkeyPatch) -> None:
    plates = (square(0.06, (0.0, 0.0, 0.2), cell=0.01), square(0.02, (0.01, 0.0, 0.1), cell=0.01))
    some = arm(jet(60.0, out=0.02, half_spread=20.0), jet(80.0, out=-0.04, half_spread=15.0))
    screens = solids_of_load(*drawn_load()).screens[:2]
    walls = tuple(replaced(one, z) for one, z in zip(screens, (0.05, 0.15), strict=True))
    compiled = strikes_of_load(arranged(*plates, screens=walls), some)
    moved = strikes_after_move(compiled, ("S", "1"), compiled.arranged.solids[1].pose)
    told = [(one.zones, one.wrench) for found in (compiled, moved) for one in found.pieces.values()]  # as compiled
    for module in ("after", "casting", "flights", "gaps", "looking", "runs", "strikes", "struck"):
        monkeypatch.setattr(f"patency.reach.jets.{module}.compiled", machine_code.kernel)
    interpreted = strikes_of_load(arranged(*plates, screens=walls), some)
    again = strikes_after_move(interpreted, ("S", "1"), interpreted.arranged.solids[1].pose)
    anew = [(one.zones, one.wrench) for found in (interpreted, again) for one in found.pieces.values()]
    for (zones, wrench), (other_zones, other_wrench) in zip(told, anew, strict=True):
        assert zones == other_zones
        assert wrench == pytest.approx(other_wrench, rel=1e-6, abs=1e-15)
    for one, other in ((compiled, interpreted), (moved, again)):
        assert 0.0 < one.struck_share < 1.0
        assert shares(one) == shares(other)
        for key in one.pieces:
            assert one.pieces[key].pressure_pa == pytest.approx(other.pieces[key].pressure_pa, rel=1e-6)
            assert one.pieces[key].hits_per_min == pytest.approx(other.pieces[key].hits_per_min, rel=1e-6)


@pytest.mark.parametrize("threads", [1, 3])
def test_the_number_of_threads_changes_nothing(monkeypatch: pytest.MonkeyPatch, threads: int) -> None:
    plates = [square(0.06, (x, 0.0, z), cell=0.01) for x, z in ((0.0, 0.1), (0.02, 0.15), (0.05, 0.2), (-0.04, 0.25))]
    some = arm(jet(60.0, out=0.02, half_spread=20.0), jet(80.0, out=-0.04, half_spread=15.0))
    usual = strikes_of_load(arranged(*plates), some)
    monkeypatch.setattr("patency.reach.jets.strikes.ThreadPoolExecutor", lambda _: ThreadPoolExecutor(threads))
    other = strikes_of_load(arranged(*plates), some)
    for key, one in usual.pieces.items():
        assert (one.wetting == other.pieces[key].wetting).all()
        assert (one.pressure_pa == other.pieces[key].pressure_pa).all()
        assert (one.hits_per_min == other.pieces[key].hits_per_min).all()
        assert one.push_n == other.pieces[key].push_n


def replaced(screen: Screen, height: float) -> Screen:
    """Return a level wire wall around the axis at a height, of the wire of another."""
    corner = np.array([-0.3, -0.3, height])
    along, across = np.array([0.6, 0.0, 0.0]), np.array([0.0, 0.6, 0.0])
    return screen._replace(corner_m=corner, along_m=along, across_m=across)


def test_what_comes_through_walls_is_told_alike_before_and_after_moves_whenever_it_is_asked() -> None:
    plates = (square(0.06, (0.0, 0.0, 0.2), cell=0.01), square(0.02, (0.01, 0.0, 0.1), cell=0.01))
    some = arm(jet(60.0, out=0.02, half_spread=20.0), jet(80.0, out=-0.04, half_spread=15.0))
    screens = solids_of_load(*drawn_load()).screens[:2]
    load = arranged(*plates, screens=tuple(replaced(one, z) for one, z in zip(screens, (0.05, 0.15), strict=True)))
    planned, here = strikes_of_load(load, some), load.solids[1].pose
    away = strikes_after_move(planned, ("S", "1"), here._replace(shift_m=here.shift_m + np.array([0.03, 0.0, 0.0])))
    back = strikes_after_move(away, ("S", "1"), here)
    fresh = strikes_of_load(load, some)
    gone = strikes_of_load(away.arranged, some)
    # What was looked at closer before a move stays so, and tells forces a little finer than a load computed anew.
    for one, other, finer in ((planned, fresh, 1e-12), (back, fresh, 0.01), (away, gone, 0.01)):
        for key, piece in other.pieces.items():
            most = np.abs(piece.wrench).max()
            assert most > 0.0
            assert np.abs(one.pieces[key].wrench - piece.wrench).max() <= finer * most
    assert [one.zones for one in planned.pieces.values()] == [one.zones for one in fresh.pieces.values()]
    assert np.abs(gone.pieces["S", "0"].wrench - fresh.pieces["S", "0"].wrench).max() > 0.02


def test_nothing_is_moved_where_samples_are_no_longer_kept() -> None:
    found = strikes_of_load(arranged(square(0.05, (0.0, 0.0, 0.1))), arm(jet())).without_samples()
    with pytest.raises(ValueError, match="samples are no longer kept"):
        strikes_after_move(found, ("S", "0"), found.arranged.solids[0].pose)


def test_moving_what_is_not_there_is_refused() -> None:
    found = strikes_of_load(arranged(square(0.05, (0.0, 0.0, 0.1))), arm(jet()))
    with pytest.raises(KeyError, match="ghost"):
        strikes_after_move(found, ("S", "ghost"), found.arranged.solids[0].pose)


def test_openings_of_lumens_are_no_surface() -> None:
    sleeve = shape(
        part("tube", 50, 20),
        placing="port",
        way_up="distal up",
        lumens={
            "bore": {
                "segments": [{"shape": "bore", "bore": "12 mm", "length": "50 mm"}],
                "fed_by": "injector nozzle",
            }
        },
    )
    mesh = piece_solid(sleeve, 0.001).mesh
    assert mesh is not None
    assert Zone("opening of a lumen", sided=False) in mesh.zones
    outside = mesh.patch_areas_m2[mesh.is_surface].sum()
    assert outside == pytest.approx(np.pi * (0.02 * 0.05 + 2 * (0.01**2 - 0.006**2)), rel=0.01)


def test_a_gap_of_one_arm_is_kept_beside_the_others() -> None:
    some = replace(arm(jet()), gaps=("how fast the top arm turns is not stated",))
    assert strikes_of_load(arranged(square(0.05, (0.0, 0.0, 0.1))), some).arms.gaps == some.gaps
