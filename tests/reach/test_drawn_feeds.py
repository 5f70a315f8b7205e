"""What feeds a piece is drawn: hoses as long as stated, rigid links end to end, and both keep jets away."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.catalogue import Adapter, ChainLink, Hose, Place, Strainer
from patency.load import CappedPort
from patency.reach import JetSampling, Role, Rule, faults_of_arrangement, solids_of_load, strikes_of_load
from patency.reach.solids.connections import Feed, connection_solids, hose_path
from patency.reach.solids.placed import standing_pose
from tests.reach.cast import LUER, bored, mm, port
from tests.reach.drawn import arm, arranged, drawn_load, jet, square, struck_places

if TYPE_CHECKING:
    from patency.catalogue import Port
    from patency.reach import PlacedSolid

BACK = np.array([0.0, 1.0, 0.0])
HOSE = {"bore": "4 mm", "length": "300 mm", "outer": "7 mm", "end": LUER}


def link(kind: type[ChainLink], length: float, **more: object) -> ChainLink:
    """Return a link of a chain."""
    word = {Adapter: "adapter", Strainer: "strainer", Hose: "hose"}[kind]
    facts = {"name": word, "kind": word, "stock": 1, "near": LUER, "far": LUER, "bore": "3 mm", "length": mm(length)}
    return kind.model_validate({**facts, **({"loss": 8} if kind is Strainer else {}), **more})


def drawn(at: Port, *links: ChainLink, down: bool = False) -> tuple[list[PlacedSolid], list[str]]:
    """Return what is drawn between a port and a piece of 200 mm that stands upright there."""
    pose = standing_pose(np.zeros(3), 90.0, None)
    piece = bored(("tube", 200, 10))
    return connection_solids(Feed(("S", "p"), piece, at, "H1", links, pose, pose, "H1", down, BACK), 0.004)


@pytest.mark.parametrize("ends", [(0.0, 0.0, 0.0), (0.0, 0.0, -0.045), (0.1, 0.05, 0.02), (0.0, 0.29, 0.0)])
def test_a_hose_leads_from_end_to_end_and_is_as_long_as_stated(ends: tuple[float, float, float]) -> None:
    path = hose_path(np.zeros(3), np.array(ends), 0.3, BACK)
    assert np.allclose(path[0], 0.0)
    assert np.allclose(path[-1], ends)
    assert np.linalg.norm(np.diff(path, axis=0), axis=1).sum() == pytest.approx(0.3, rel=1e-6)
    assert path[:, 2].min() >= min(0.0, ends[2]) - 1e-12  # slack lies level and hangs into no arm
    assert path[:, 1].mean() > np.array(ends)[1] / 2 - 1e-9  # to the side it is told


def test_a_hose_too_short_is_straight() -> None:
    path = hose_path(np.zeros(3), np.array([0.4, 0.0, 0.0]), 0.3, BACK)
    assert np.allclose(path[:, 1:], 0.0)
    assert path[:, 0].max() == pytest.approx(0.4)


def test_links_without_a_hose_stand_on_the_port_one_on_the_other() -> None:
    first, second = (link(Adapter, 22, outer="8 mm"), link(Strainer, 35, outer="12 mm"))
    bodies, gaps = drawn(port(), first, second)
    assert gaps == []
    assert [one.words for one in bodies] == ["adapter", "strainer"]
    ends = [one.in_carrier.bounds_m[:, 2].tolist() for one in bodies]
    assert np.allclose(ends, [[0.0, 0.022], [0.022, 0.057]])
    widths = [float(np.ptp(one.in_carrier.bounds_m[:, 0])) for one in bodies]
    assert widths == pytest.approx([0.008, 0.012], abs=0.0005)


@pytest.mark.parametrize(("down", "inlet", "outward"), [(False, 0.0, -1.0), (True, 0.2, 1.0)])
def test_links_behind_a_hose_hang_at_the_inlet_and_the_hoses_lead_there(
    *, down: bool, inlet: float, outward: float
) -> None:
    chain = (link(Hose, 100, outer="9 mm"), link(Strainer, 35, outer="12 mm"))
    bodies, gaps = drawn(port(kind="hose", hose=HOSE), *chain, down=down)
    assert gaps == []
    strainer, hose = bodies
    ends = sorted((inlet, inlet + outward * 0.035))
    assert np.allclose(strainer.in_carrier.bounds_m[:, 2], ends)
    assert (hose.role, hose.words, hose.stands_on) == (Role.HOSE, "hose", "H1")
    far = inlet + outward * 0.035
    assert hose.in_carrier.bounds_m[:, 2] == pytest.approx([min(0.0, far) - 0.0045, max(0.0, far) + 0.0045], abs=0.002)
    whole = 0.4 * np.pi * 0.009  # both hoses together, as thick as the thicker one
    assert hose.in_carrier.patch_areas_m2.sum() == pytest.approx(whole, rel=0.05)


def test_a_link_of_unknown_outside_is_a_gap() -> None:
    bodies, gaps = drawn(port(kind="hose", hose=HOSE), link(Adapter, 22))
    assert [one.role for one in bodies] == [Role.HOSE]
    assert gaps == ["the outer diameter of adapter is not stated"]


def test_a_hose_keeps_a_jet_off_the_strip_behind_it() -> None:
    """A jet straight up meets a plate at 300 mm; a hose of 7 mm at 200 mm shadows 7 · 300 / 200 = 10.5 mm of it."""
    plate = square(0.06, (0.0, 0.0, 0.3), cell=0.001)
    place = {"x": "-100 mm", "y": "0 mm", "z": "200 mm"}
    taut = port(kind="hose", hose={**HOSE, "length": "200 mm"}).model_copy(update={"at": Place.model_validate(place)})
    piece_there = standing_pose(np.array([0.1, 0.0, 0.2]), 90.0, None)
    feed = Feed(("S", "p"), bored(("tube", 200, 10)), taut, "H1", (), piece_there, piece_there, "H1", False, BACK)
    (hose,), _ = connection_solids(feed, 0.001)
    bare = arranged(plate)
    behind = replace(bare, solids=(*bare.solids, hose))
    jets = arm(jet(90.0, half_spread=10.0))
    without, covered = (
        struck_places(strikes_of_load(one, jets, JetSampling(4, 4)), "0", facing=(0, 0, -1)) for one in (bare, behind)
    )
    assert without[:, 0].sum() == pytest.approx(0.06**2)
    assert without[:, 0].sum() - covered[:, 0].sum() == pytest.approx(0.0105 * 0.06, rel=0.05)
    assert np.abs(covered[:, 2]).min() == pytest.approx(0.00525, abs=0.0005)


def test_hoses_of_a_load_keep_jets_away_and_run_into_nothing() -> None:
    site, load = drawn_load()
    with_hoses = solids_of_load(site, load)
    hoses = [one for one in with_hoses.solids if one.role is Role.HOSE]
    carrier = site.carriers[load.carrier]
    on_hoses = {c.port for one in load.pieces for c in one.lumens if carrier.ports[c.port].hose}
    assert {one.stands_on for one in hoses} == on_hoses
    kind = site.machine_kinds[load.machine_kind]
    runs = [one for one in faults_of_arrangement(with_hoses, kind, site.limits.load) if one.rule is Rule.INTERSECTS]
    assert runs == []


@pytest.mark.parametrize("stated", [True, False])
def test_a_cap_of_stated_size_stands_on_its_rigid_port(stated: bool) -> None:
    site, load = drawn_load()
    size = {"outer_m": 0.022, "length_m": 0.018} if stated else {}
    caps = {key: site.accessories[key].model_copy(update=size) for key in ("taper_cap", "hose_cap")}
    sized = site.model_copy(update={"accessories": {**site.accessories, **caps}})
    closed = (CappedPort(port="T1", cap="taper_cap"), CappedPort(port="H1", cap="hose_cap"))
    arranged = solids_of_load(sized, load.model_copy(update={"capped_ports": closed}))
    drawn = [one for one in arranged.solids if one.words.startswith("cap for a")]
    assert [one.stands_on for one in drawn] == ["T1"] * stated  # where the end of a hose hangs is not known
    for one in drawn:
        port = site.carriers[load.carrier].ports["T1"]
        up = np.radians(port.stand.inclination_deg)
        axis = np.array([0.0, np.cos(up), np.sin(up)])
        from_port = one.in_carrier.vertices - np.array([port.at.x_m, port.at.y_m, port.at.z_m])
        along = from_port @ axis
        assert (along.min(), along.max()) == pytest.approx((0.0, 0.018), abs=1e-9)
        assert np.linalg.norm(from_port - np.outer(along, axis), axis=1).max() == pytest.approx(0.011, abs=1e-9)
