"""What the catalogue leaves out makes the pieces concerned unknown and no others; nothing is guessed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.catalogue import FlushingSleeve, MeshFile, Net, Placing, Pod
from patency.load import Load
from patency.reach import Arranged, JetSampling, Role, Rule, Wetting, Zone, reach_of_load, solids_of_load
from patency.reach.changes import _tries
from patency.reach.solids.bodies import box
from tests.reach.drawn import drawn_load

if TYPE_CHECKING:
    from collections.abc import Callable

    from patency.catalogue import Department
    from patency.load import PlacedPiece
    from patency.reach import LoadReach

SET = "Gallbladder One"


def told(site: Department, load: Load) -> dict[str, set[str]]:
    """Return each gap and the pieces it concerns."""
    gaps: dict[str, set[str]] = {}
    for key, words in solids_of_load(site, load).gaps.items():
        for each in words:
            gaps.setdefault(each, set()).add(key[1])
    return gaps


def with_accessories(kind: type[object], **update: object) -> Department:
    """Return the demo department with other facts about a kind of accessory."""
    site, _ = drawn_load()
    changed = {
        key: one.model_copy(update=update) if isinstance(one, kind) else one for key, one in site.accessories.items()
    }
    return site.model_copy(update={"accessories": changed})


def with_carrier(**update: object) -> Department:
    """Return the demo department with other facts about the carrier of the load."""
    site, load = drawn_load()
    carrier = site.carriers[load.carrier].model_copy(update=update)
    return site.model_copy(update={"carriers": {**site.carriers, load.carrier: carrier}})


def pieces(which: Callable[[PlacedPiece], bool]) -> set[str]:
    """Return the pieces of the load of which something holds."""
    return {one.piece for one in drawn_load()[1].pieces if which(one)}


def changed(which: str, **update: object) -> Load:
    """Return the load with other facts about one of its pieces."""
    _, load = drawn_load()
    return load.model_copy(
        update={"pieces": tuple(one.model_copy(update=update) if one.piece == which else one for one in load.pieces)}
    )


def test_a_frame_that_is_not_stated_leaves_every_piece_unknown() -> None:
    gaps = told(with_carrier(frame=None), drawn_load()[1])
    assert gaps["pipes and rods of the carrier are not stated"] >= pieces(lambda one: one.set == SET)


def test_a_mesh_file_replaces_the_frame_of_a_carrier_and_is_unknown_where_it_is_not_at_hand() -> None:
    _, load = drawn_load()
    site = with_carrier(frame=None, mesh=MeshFile(file="rack.glb", unit="m"))
    name = site.carriers[load.carrier].name
    away = told(site, load)
    assert away["the mesh file rack.glb of the carrier is not at hand"] >= pieces(lambda one: one.set == SET)
    plate = box(np.array([0.0, 0.0, 0.0]), np.array([0.6, 0.7, 0.002]), [Zone("plate", sided=True)] * 6, 0.2)
    there = solids_of_load(site, load, {"rack.glb": (plate.vertices, plate.faces)})
    assert all(gaps == () for gaps in there.gaps.values())
    (drawn,) = [one for one in there.solids if one.role is Role.CARRIER and not one.holds]
    assert (drawn.words, len(drawn.mesh.faces)) == (name, len(plate.faces))


def test_the_mesh_of_a_carrier_shadows_and_is_run_into() -> None:
    """A plate under the carrier keeps the lower arm's jets away from all above it; one through a tube is found."""
    _, load = drawn_load()
    lone = load.model_copy(update={"pieces": tuple(one for one in load.pieces if one.piece == "mod5/1/tube")})
    site = with_carrier(mesh=MeshFile(file="rack.glb", unit="m"))
    kind = site.machine_kinds[load.machine_kind]
    lowest = min(kind.arms, key=lambda name: kind.arms[name].height_m)
    only = site.model_copy(
        update={
            "machine_kinds": {
                **site.machine_kinds,
                load.machine_kind: kind.model_copy(update={"arms": {lowest: kind.arms[lowest]}}),
            }
        }
    )
    key = (SET, "mod5/1/tube")

    def found(height_m: float) -> LoadReach:
        low, high = np.array([-0.2, -0.2, height_m]), np.array([0.9, 1.0, height_m + 0.002])
        plate = box(low, high, [Zone("plate", sided=True)] * 6, 1.0)
        meshes = {"rack.glb": (plate.vertices, plate.faces)}
        return reach_of_load(only, lone, {lowest: 95 / 60000}, 50.0, meshes, JetSampling(4, 4))

    beside, above, through = found(-0.3), found(0.02), found(0.45)
    assert beside.strikes is not None
    assert above.strikes is not None
    assert beside.strikes.pieces[key].share(Wetting.STRUCK) > 0.05
    assert above.strikes.pieces[key].share(Wetting.STRUCK) == 0.0
    runs = [one.words for one in through.faults if one.rule is Rule.INTERSECTS and one.piece == key]
    assert runs == [f"runs into {site.carriers[load.carrier].name} at {site.carriers[load.carrier].name}"]
    assert not [one for one in above.faults if one.rule is Rule.INTERSECTS]


def test_a_sleeve_pod_or_net_of_unknown_size_or_wire_concerns_what_it_holds() -> None:
    _, load = drawn_load()
    sleeve = told(with_accessories(FlushingSleeve, outer_m=None), load)
    assert sleeve == {"the outer diameter of flushing sleeve M is not stated": {"mod5/1/tube"}}
    pod = told(with_accessories(Pod, mesh=None), load)
    assert pod == {"what the lidded fine basket is made of is not stated": pieces(lambda one: one.placing == "pod")}
    netted = {one.position for one in load.pieces if one.net}
    net = told(with_accessories(Net, mesh=None), load)
    loose = pieces(lambda one: one.placing is Placing.BASKET and one.position in netted)
    assert loose <= net["what its net is made of is not stated"]


def test_a_basket_or_coil_place_of_unknown_make_concerns_what_lies_there() -> None:
    site, load = drawn_load()
    carrier = site.carriers[load.carrier]
    areas = {key: area.model_copy(update={"mesh": None}) for key, area in carrier.basket_areas.items()}
    baskets = told(with_carrier(basket_areas=areas), load)
    in_baskets = pieces(lambda one: one.placing in (Placing.BASKET, Placing.OPTIC_HOLDER))
    assert set().union(*baskets.values()) == in_baskets
    places = {key: place.model_copy(update={"bars": None}) for key, place in carrier.coil_places.items()}
    coils = told(with_carrier(coil_places=places), load)
    assert coils == {"what the mandrel of its coil place is made of is not stated": {"hfcable/1/cable"}}


def test_a_lean_or_a_basket_the_plan_does_not_name_is_unknown() -> None:
    site, load = drawn_load()
    carrier = site.carriers[load.carrier]
    ports = {
        key: port.model_copy(update={"stand": port.stand.model_copy(update={"leans": None})})
        for key, port in carrier.ports.items()
    }
    lean = told(with_carrier(ports=ports), changed("mod5/1/tube", leans=None))
    assert lean == {"toward which side it leans is not stated": {"mod5/1/tube"}}
    nowhere = told(site, changed("optic/1/optic", stands_in=None))
    assert nowhere == {"in which basket it stands is not stated": {"optic/1/optic"}}


def test_what_finds_no_room_in_its_basket_is_unknown() -> None:
    site, load = drawn_load()
    carrier = site.carriers[load.carrier]
    areas = {
        key: area.model_copy(update={"width_m": 0.1, "depth_m": 0.16}) for key, area in carrier.basket_areas.items()
    }
    gaps = told(with_carrier(basket_areas=areas), load)
    assert any(gap.startswith("it finds no room beside the rest") for gap in gaps)
    assert any(gap.startswith("its pod finds no room beside the rest") for gap in gaps)


def test_a_piece_with_its_distal_end_down_stands_on_it() -> None:
    site, load = drawn_load()
    up, down = (solids_of_load(site, one) for one in (load, changed("clip10/1/instrument", way_up="distal down")))

    def jaw_height(arranged: Arranged) -> float:
        solid = arranged.solids[arranged.number_of[SET, "clip10/1/instrument"]]
        mesh = solid.in_carrier
        jaw = np.array(["jaw" in mesh.zones[zone].word for zone in mesh.zone_of])
        return float(mesh.patch_centres[jaw, 2].mean())

    assert jaw_height(up) - jaw_height(down) > 0.2


def test_changes_name_free_ports_and_baskets_of_other_levels() -> None:
    site, load = drawn_load()
    arranged = solids_of_load(site, load)
    tried = {
        one.piece: [words for words, _, _ in _tries(site, load, arranged, one)]
        for one in load.pieces
        if one.piece in ("mod5/1/tube", "mod5/1/handle", "hfcable/1/cable")
    }
    assert any(words.startswith("move it to port H") for words in tried["mod5/1/tube"])
    assert any(words.startswith("move it to basket") and "level" in words for words in tried["mod5/1/handle"])
    assert all(words.startswith("turn it by") for words in tried["hfcable/1/cable"])
    assert "turn it end for end" in tried["mod5/1/handle"]


@pytest.mark.parametrize("kept", [("mod5/1/insert",)])
def test_a_light_insert_without_its_net_can_be_moved_by_strong_jets(kept: tuple[str, ...]) -> None:
    site, load = drawn_load()
    one = [each.model_copy(update={"net": False}) for each in load.pieces if each.piece in kept]
    bare = load.model_copy(update={"pieces": tuple(one)})
    kind = site.machine_kinds[load.machine_kind]
    for flow, moved in ((60 / 60000, 0), (400 / 60000, 1)):
        found = reach_of_load(site, bare, dict.fromkeys(kind.arms, flow), 50.0, sampling=JetSampling(24, 1))
        assert sum(fault.rule.value == "can be moved by the jets" for fault in found.faults) == moved
