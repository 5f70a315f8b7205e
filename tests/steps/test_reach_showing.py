"""What the jets strike in a load of the demo, as people and programs get it, and shapes from files."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Literal

import numpy as np
import pytest
import trimesh

from patency.catalogue import MeshFile
from patency.errors import InputErrors
from patency.flow import flow_of_load
from patency.load import Plan
from patency.plan import TimeLimit
from patency.quantities import Answer
from patency.reach import (
    JetSampling,
    held,
    reach_of_load,
    reached,
    smallest_change,
    strikes_after_move,
)
from patency.steps import Looks, ReachShown, load_reach, reach_document, reach_of_plan, read_meshes
from tests.demo.larkmere import larkmere
from tests.reach.drawn import drawn_load
from tests.small_plan import SMALL_PLAN
from tests.small_site import small_department

if TYPE_CHECKING:
    from pathlib import Path

    from patency.catalogue import Department
    from patency.load import Load
    from patency.reach import LoadReach

FLOW = 95 / 60000


def few() -> Load:
    """Return a load with a tube in a sleeve and an obturator."""
    _, load = drawn_load()
    kept = [one for one in load.pieces if one.piece in ("mod5/1/tube", "sleeve11/1/obturator")]
    return load.model_copy(update={"pieces": tuple(kept)})


@pytest.fixture(scope="module")
def found() -> LoadReach:
    kind = larkmere().machine_kinds[few().machine_kind]
    return reach_of_load(larkmere(), few(), dict.fromkeys(kind.arms, FLOW), 50.0)


def limited(**limits: object) -> Department:
    """Return the demo department with other limits of loads."""
    site = larkmere()
    load = site.limits.load.model_copy(update=limits)
    return site.model_copy(update={"limits": site.limits.model_copy(update={"load": load})})


def test_a_piece_is_reached_when_enough_of_it_is_struck_and_not_when_less(found: LoadReach) -> None:
    key = ("Gallbladder One", "mod5/1/tube")
    least = larkmere().limits.load.struck_share
    assert least is not None
    yes = reached(larkmere(), few(), found)[key]
    assert yes.answer is Answer.YES
    share = next(figure for figure in yes.figures if figure.name == "share of the surface struck directly")
    assert share.value > 0.9
    assert share.limit == least
    asked = type(least)(1.0, "1", "invented")
    no = reached(limited(struck_share=asked), few(), found)[key]
    assert no.answer is Answer.NO
    assert "at least 100 % are asked for" in no.why
    nobody = reached(limited(struck_share=None), few(), found)[key]
    assert nobody.answer is Answer.UNKNOWN
    assert nobody.why.endswith("the site states no least share")


def test_held_carries_the_push_of_the_jets(found: LoadReach) -> None:
    for reply in held(larkmere(), few(), found).values():
        (push,) = [figure.value for figure in reply.figures if figure.name == "largest push of the jets"]
        assert 0.0 < push < 5.0


def test_the_smallest_change_helps_as_much_as_it_says(found: LoadReach) -> None:
    placed = next(one for one in few().pieces if one.piece == "sleeve11/1/obturator")
    assert found.strikes is not None
    key = (placed.set, placed.piece)
    under_net = placed.model_copy(update={"net": True})  # so it stays in its basket
    for asked, one in ((0.8, placed), (0.999, under_net)):  # the second is reached nowhere: told is which helps most
        change = smallest_change(larkmere(), few(), found.strikes, one, asked)
        assert change is not None
        assert " mm to the " in change.words
        moved = strikes_after_move(found.strikes, key, change.pose)
        assert moved.pieces[key].struck_share == pytest.approx(change.struck_share, abs=1e-12)
        assert change.struck_share > found.strikes.pieces[key].struck_share + 0.02


def test_a_smaller_change_that_suffices_wins_over_a_larger_that_helps_more(found: LoadReach) -> None:
    placed = next(one for one in few().pieces if one.piece == "sleeve11/1/obturator")
    assert found.strikes is not None
    here = found.arranged.solids[found.arranged.number_of[placed.set, placed.piece]].pose
    shares, ways = [], []
    for asked in (0.8, 0.9, 0.999):
        change = smallest_change(larkmere(), few(), found.strikes, placed, asked)
        assert change is not None
        shares.append(change.struck_share)
        ways.append(float(np.linalg.norm(change.pose.shift_m - here.shift_m)))
    assert 0.8 <= shares[0] < 0.9 <= shares[1] < shares[2]
    assert ways[0] < ways[1] < ways[2]


def test_what_is_kept_of_a_load_answers_the_same_and_no_longer_holds_samples(found: LoadReach) -> None:
    looks = Looks(larkmere())
    looks.keep(few(), found)
    kept = looks.at(few())
    assert kept is not None
    assert found.strikes is not None
    assert kept.strikes is not None
    assert all(one.samples for one in found.strikes.pieces.values())
    assert not any(one.samples for one in kept.strikes.pieces.values())
    assert reached(larkmere(), few(), kept) == reached(larkmere(), few(), found)
    assert held(larkmere(), few(), kept) == held(larkmere(), few(), found)
    assert looks.at(few()) is kept


def test_when_the_time_is_over_nothing_more_is_looked_at_and_what_is_known_is_recalled(found: LoadReach) -> None:
    limit = TimeLimit.from_now(0.0, lambda: 0.0)
    looks = Looks(larkmere(), limit=limit)
    assert looks.at(few()) is None
    assert limit.cut_short == (f"load {few().id}: what the jets strike",)
    looks.keep(few(), found)
    assert looks.at(few()) is not None


def test_arms_get_the_least_flow_of_all_stages() -> None:
    site, load = small_department(), SMALL_PLAN.loads[0]
    water = flow_of_load(site, load)
    small = load_reach(site, load, water)
    assert small.strikes is None
    assert small.arms.gaps
    assert all("are not stated" in gap for gap in small.arms.gaps)


def test_a_plan_without_shapes_is_answered_with_what_is_missing() -> None:
    said: list[str] = []
    shown = reach_of_plan(small_department(), SMALL_PLAN, {}, on_progress=said.append)
    assert said == ["load L1: what the jets strike"]
    assert not shown[0].all_reached
    document = reach_document(SMALL_PLAN, shown)
    assert document["format"] == "patency-reach/1"
    assert {piece["answer"] for piece in document["loads"][0]["pieces"]} == {"unknown"}
    assert {piece["shares"] is None for piece in document["loads"][0]["pieces"]} == {True}


def test_a_plan_of_drawn_pieces_is_answered_for_programs() -> None:
    plan = Plan.model_validate(
        {**SMALL_PLAN.model_dump(), "site": larkmere().site, "loads": [few().model_dump()]}, strict=False
    )
    (shown,) = reach_of_plan(larkmere(), plan, {}, load_id=few().id)
    (load,) = reach_document(plan, [shown])["loads"]
    assert load["gaps"] == []
    for piece in load["pieces"]:
        assert sum(piece["shares"].values()) == pytest.approx(1.0)
        assert piece["push_n"] > 0
        assert piece["assumed"]
        assert piece["clearance"]["to_sweep_m"] > 0  # nothing stands in what an arm sweeps
        assert piece["clearance"]["arm"] in larkmere().machine_kinds[few().machine_kind].arms
        assert piece["clearance"]["to_body_m"] >= 0
        assert piece["place"] in ("H17", "B1, 0 mm from the left, 0 mm from the front")
        area = sum(zone["area_m2"] for zone in piece["zones"])
        struck = sum(zone["struck_share"] * zone["area_m2"] for zone in piece["zones"]) / area
        assert struck == pytest.approx(piece["shares"]["struck"] + piece["shares"]["injected"])
        assert {arm for zone in piece["zones"] for arm in zone["arms"]} <= set(
            larkmere().machine_kinds[few().machine_kind].arms
        )


def test_of_pieces_alike_each_is_named_by_the_place_at_which_it_stands_or_lies() -> None:
    _, load = drawn_load()
    kept = [one for one in load.pieces if one.piece.startswith(("mod5/", "optic/", "hf"))]
    load = load.model_copy(update={"pieces": tuple(kept)})
    arms = larkmere().machine_kinds[load.machine_kind].arms
    found = reach_of_load(larkmere(), load, dict.fromkeys(arms, FLOW), 50.0, sampling=JetSampling(12, 1))
    places = ReachShown(load, found, {}, {}, {}, {}, {}).places
    assert places["Gallbladder One", "mod5/1/tube"] == "H17"
    assert places["Gallbladder One", "hfcable/1/cable"] == "C1"
    on_floors = [place for place in places.values() if place not in ("H17", "C1")]
    assert len({*on_floors}) == len(on_floors) == len(kept) - 2
    within = re.compile(r"(B1|pod of Gallbladder One), \d+ mm from the left, \d+ mm from the front")
    assert all(within.fullmatch(place) for place in on_floors)


def meshed(name: str) -> Department:
    """Return the demo department in which an obturator takes its shape from a file."""
    site = larkmere()
    sleeve = site.instruments["sleeve11"]
    piece = sleeve.pieces["obturator"].model_copy(update={"mesh": MeshFile(file=name, unit="mm")})
    pieces = {**sleeve.pieces, "obturator": piece}
    instruments = {**site.instruments, "sleeve11": sleeve.model_copy(update={"pieces": pieces})}
    return site.model_copy(update={"instruments": instruments})


@pytest.mark.parametrize("ending", ["stl", "ply", "glb"])
def test_a_shape_is_read_from_a_file_of_each_kind(tmp_path: Path, ending: str) -> None:
    trimesh.creation.box((10.0, 20.0, 130.0)).export(tmp_path / f"shape.{ending}")
    vertices, faces = read_meshes(meshed(f"shape.{ending}"), tmp_path)[f"shape.{ending}"]
    assert np.ptp(vertices, axis=0) == pytest.approx([0.010, 0.020, 0.130])
    assert len(faces) == 12


@pytest.mark.parametrize("long", [0.13, 50.0, 500.0])
def test_a_shape_not_about_as_long_as_its_piece_is_told_in_one_line(tmp_path: Path, long: float) -> None:
    trimesh.creation.box((10.0, 20.0, long)).export(tmp_path / "shape.stl")
    with pytest.raises(
        InputErrors, match=rf"shape.stl: {long:.4g} mm long \(expected: about the 1\d\d mm of the outline"
    ):
        read_meshes(meshed("shape.stl"), tmp_path)


@pytest.mark.parametrize(
    ("name", "what"),
    [
        ("absent.stl", "no such file"),
        ("shape.obj", "not a mesh file of this folder"),
        ("../shape.stl", "not a mesh file of this folder"),
        ("broken.glb", "cannot be read as a mesh"),
        ("open.stl", "its triangles do not bound a closed body"),
    ],
)
def test_a_file_that_holds_no_closed_body_is_told_in_one_line(tmp_path: Path, name: str, what: str) -> None:
    (tmp_path / "broken.glb").write_bytes(b"not a mesh at all")
    box = trimesh.creation.box((1.0, 1.0, 1.0))
    trimesh.Trimesh(box.vertices, box.faces[:-1], process=False).export(tmp_path / "open.stl")
    with pytest.raises(InputErrors) as told:
        read_meshes(meshed(name), tmp_path)
    assert what in str(told.value)
    assert "\n" not in str(told.value)
    with pytest.raises(InputErrors) as of_carrier:
        read_meshes(racked(name), tmp_path)
    assert str(of_carrier.value) == str(told.value)


def racked(name: str, unit: Literal["mm", "m"] = "mm") -> Department:
    """Return the demo department in which one carrier takes its shape from a file."""
    site = larkmere()
    carrier = site.carriers["Dunlin"].model_copy(update={"mesh": MeshFile(file=name, unit=unit)})
    return site.model_copy(update={"carriers": {**site.carriers, "Dunlin": carrier}})


def test_the_shape_of_a_carrier_has_to_lie_where_the_carrier_does(tmp_path: Path) -> None:
    rack = trimesh.creation.box((600.0, 780.0, 20.0))
    rack.apply_translation((310.0, 395.0, 10.0))
    rack.export(tmp_path / "rack.stl")
    vertices, _ = read_meshes(racked("rack.stl"), tmp_path)["rack.stl"]
    assert vertices.max(axis=0) == pytest.approx([0.610, 0.785, 0.020])
    rack.apply_translation((-310.0, 0.0, 0.0))
    rack.export(tmp_path / "centred.stl")
    with pytest.raises(InputErrors) as told:
        read_meshes(racked("centred.stl"), tmp_path)
    assert str(told.value) == (
        "centred.stl: reaches along x from -300 to 300 mm"
        " (expected: within Dunlin, 0 to 620 mm; x from the left, y from the front, z up from the rails)"
    )


def test_the_shape_of_a_carrier_in_another_unit_is_no_speck_that_shadows_nothing(tmp_path: Path) -> None:
    trimesh.creation.box(bounds=[(0.0, 0.0, 0.0), (0.6, 0.3, 0.02)]).export(tmp_path / "rack.stl")
    cases: dict[Literal["mm", "m"], str] = {"mm": "along x from 0 to 0.6 mm", "m": "along y from 0 to 300 mm"}
    for unit, reaches in cases.items():
        with pytest.raises(InputErrors, match=rf"rack.stl: reaches {reaches} \(expected: at least half of Dunlin, "):
            read_meshes(racked("rack.stl", unit), tmp_path)


def test_a_file_is_in_one_unit(tmp_path: Path) -> None:
    both = racked("rack.stl", "m").model_copy(update={"instruments": meshed("rack.stl").instruments})
    with pytest.raises(InputErrors, match=r"rack.stl: is named with unit mm and with unit m \("):
        read_meshes(both, tmp_path)


def test_a_shape_too_large_to_compute_with_is_told_in_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    trimesh.creation.box((10.0, 20.0, 30.0)).export(tmp_path / "shape.stl")
    with pytest.raises(InputErrors, match=r"shape.stl: 30 m large \(expected: at most 2 m; is its unit m\?\)"):
        read_meshes(racked("shape.stl", "m"), tmp_path)
    monkeypatch.setattr("patency.steps.mesh_reading._MOST_TRIANGLES", 11)
    with pytest.raises(InputErrors, match=r"shape.stl: 12 triangles \(expected: at most 11: "):
        read_meshes(racked("shape.stl"), tmp_path)
    with (tmp_path / "shape.stl").open("r+b") as file:
        file.truncate(65_000_000)
    with pytest.raises(InputErrors, match=r"shape.stl: 65 MB \(expected: a file of at most 64 MB\)"):
        read_meshes(racked("shape.stl"), tmp_path)


def test_a_piece_whose_file_is_not_at_hand_is_unknown() -> None:
    kind = larkmere().machine_kinds[few().machine_kind]
    flows = dict.fromkeys(kind.arms, FLOW)
    away = reach_of_load(meshed("shape.stl"), few(), flows, 50.0, sampling=JetSampling(8, 1))
    key = ("Gallbladder One", "sleeve11/1/obturator")
    assert "its mesh file shape.stl is not at hand" in reached(meshed("shape.stl"), few(), away)[key].why
    box = trimesh.creation.box((0.02, 0.02, 0.05))
    box.apply_translation((0.0, 0.0, 0.025))
    meshes = {"shape.stl": (np.asarray(box.vertices), np.asarray(box.faces))}
    there = reach_of_load(meshed("shape.stl"), few(), flows, 50.0, meshes, JetSampling(8, 1))
    assert there.strikes is not None
    assert there.gaps(key) == ()
    assert there.strikes.pieces[key].surface.areas_m2.sum() == pytest.approx(0.0048)
