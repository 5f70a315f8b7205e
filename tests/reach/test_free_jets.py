"""Jets of open ports in a load: which are counted, what shadows them, and what the answers say of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from patency.catalogue import Carrier, Leaning
from patency.flow import nominal_flow_of_load
from patency.load import CappedPort
from patency.reach import (
    Arms,
    JetSampling,
    Pose,
    Wetting,
    looks_of_bodies,
    reach_of_load,
    reached,
    strikes_after_move,
    strikes_of_load,
)
from patency.reach.arms import FreeJet, free_jets_of_load
from patency.reach.jets.moments import tipping_moment_n_m
from patency.reach.jets.strikes import struck_of_one
from patency.reach.looks import Look
from tests.demo.larkmere import hand_made_load, larkmere
from tests.reach.cast import carrier, port
from tests.reach.drawn import arm, arranged, drawn_load, jet, square

UP = FreeJet("T1", (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 0.02, 8.0)
ALONE = Arms((), 1000.0, (), (UP,))


def ported(**ports: object) -> Carrier:
    """Return a carrier with these ports."""
    return carrier().model_copy(update={"ports": ports})


def test_only_rigid_open_ports_that_point_somewhere_have_a_jet() -> None:
    upright, leaning = port(90.0), port(60.0)
    to_the_right = leaning.model_copy(update={"stand": leaning.stand.model_copy(update={"leans": Leaning.RIGHT})})
    hose = larkmere().carriers["Lapwing"].ports["H1"]
    ports = ported(A=upright, B=leaning, C=to_the_right, D=hose, E=upright)
    flows = {"A": 1e-4, "B": 1e-4, "C": 1e-4, "D": 1e-4, "E": 0.0}
    jets = free_jets_of_load(ports, flows)
    assert [one.port for one in jets] == ["A", "C"]
    assert jets[0].direction == pytest.approx((0.0, 0.0, 1.0), abs=1e-12)
    assert jets[1].direction == pytest.approx((0.5, 0.0, 3**0.5 / 2), abs=1e-12)
    assert jets[0].speed_m_s == pytest.approx(1e-4 / (np.pi / 4 * 0.004**2))


def test_what_only_a_free_jet_strikes_is_a_class_of_its_own_and_counts_as_struck() -> None:
    both = replace(arm(jet(out=0.1, half_spread=8.0)), free=(UP,))
    one = strikes_of_load(arranged(square(0.1, (0.0, 0.0, 0.3))), both).pieces["S", "0"]
    bare = strikes_of_load(arranged(square(0.1, (0.0, 0.0, 0.3))), replace(both, free=())).pieces["S", "0"]
    more = one.wetting == Wetting.INJECTED
    assert more.any()
    assert np.array_equal(one.wetting == Wetting.STRUCK, bare.wetting == Wetting.STRUCK)
    assert one.struck_share == pytest.approx(one.share(Wetting.STRUCK) + one.share(Wetting.INJECTED))
    assert one.struck_share > bare.struck_share > 0
    assert (one.pressure_pa[more] > 0).all()
    assert (bare.pressure_pa[more] == 0).all()
    assert one.push_n > bare.push_n
    assert one.zones[0].struck_share > bare.zones[0].struck_share


def test_what_stands_in_a_free_jet_shadows_what_is_behind_and_frees_it_when_it_moves() -> None:
    found = strikes_of_load(arranged(square(0.06, (0.0, 0.0, 0.3)), square(0.06, (0.0, 0.0, 0.2))), ALONE)
    assert found.pieces["S", "0"].share(Wetting.INJECTED) == 0.0
    assert found.pieces["S", "1"].share(Wetting.INJECTED) > 0.0
    away = Pose(np.eye(3), np.array([0.3, 0.0, 0.0]))
    after = strikes_after_move(found, ("S", "1"), away)
    anew = strikes_of_load(found.arranged.with_pose(("S", "1"), away), ALONE)
    for key, one in anew.pieces.items():
        assert (after.pieces[key].wetting == one.wetting).all()
    assert after.pieces["S", "0"].share(Wetting.INJECTED) > 0.0
    assert struck_of_one(found, after.arranged, ("S", "0")) == after.pieces["S", "0"].struck_share


def test_a_free_jet_tips_what_it_strikes_beside_its_support() -> None:
    found = strikes_of_load(arranged(square(0.08, (0.03, 0.0, 0.1), cell=0.001)), ALONE)
    force = 1000.0 * np.pi / 4 * 0.02**2 * 8.0 * np.sqrt(8.0**2 - 2 * 9.80665 * 0.1)
    ahead, behind = (
        tipping_moment_n_m(found, ("S", "0"), np.array([x, 0.0, 0.1]), np.array([0.0, -1.0, 0.0]))
        for x in (-0.05, 0.05)
    )
    assert ahead == pytest.approx(force * 0.05, rel=0.03)
    assert behind == 0.0


def test_a_port_left_open_under_a_basket_is_told_in_the_answer_and_a_capped_one_is_not() -> None:
    site, load = drawn_load()
    whole = hand_made_load("L1")
    assert "T1" in {one.port for one in whole.capped_ports}
    opened = whole.model_copy(
        update={"capped_ports": tuple(one for one in whole.capped_ports if one.port != "T1"), "open_ports": ("T1",)}
    )
    stage, closed = (next(iter(nominal_flow_of_load(site, each).stages.values())) for each in (opened, whole))
    assert closed.open_ports_m3_s == {}
    flow = stage.open_ports_m3_s["T1"].low
    assert flow > 1e-4
    kind = site.machine_kinds[load.machine_kind]
    optic = next(one for one in load.pieces if one.piece.startswith("optic/1/light post adapter"))
    key = (optic.set, optic.piece)
    only = load.model_copy(update={"pieces": (optic,), "capped_ports": (CappedPort(port="H1", cap="hose_cap"),)})
    arms = dict.fromkeys(kind.arms, 0.0)  # no jet of theirs
    found = reach_of_load(site, only, arms, 50.0, sampling=JetSampling(8, 1))
    middle = found.arranged.solids[found.arranged.number_of[key]].in_carrier.bounds_m.mean(axis=0)
    place = site.carriers[load.carrier].ports["T1"]
    at = place.at.model_copy(update={"x_m": middle[0], "y_m": middle[1], "z_m": middle[2] - 0.1})
    moved = {**site.carriers[load.carrier].ports, "T1": place.model_copy(update={"at": at})}
    under = site.carriers[load.carrier].model_copy(update={"ports": moved})
    there = site.model_copy(update={"carriers": {load.carrier: under}})
    ports = {"T1": flow}
    found = reach_of_load(there, only, arms, 50.0, sampling=JetSampling(8, 1), open_ports_m3_s=ports)
    assert found.strikes is not None
    share = found.strikes.pieces[key].share(Wetting.INJECTED)
    assert 0 < share < 1
    reply = reached(there, only, found)[key]
    assert f"{100 * share:.1f} % struck only by the free jet of open port T1" in reply.why
    assert [one.value for one in reply.figures if "free jets" in one.name] == [share]
    looks = next(looks for body, looks in looks_of_bodies(found) if body.piece == key)
    assert Look.OFTEN in looks
    assert found.strikes.struck_share == pytest.approx(share)
