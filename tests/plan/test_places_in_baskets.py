"""Places inside a basket chosen by what jets strike: the better one where there is one, none where a piece collides."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.catalogue import Leaning
from patency.flow import nominal_flow_of_load
from patency.load import Load, OnFloor, Plan
from patency.plan import NoJudge, TimeLimit, place_by_reach
from patency.plan.by_reach.lying import Floors, where_words
from patency.quantities import Limit
from patency.reach import (
    JetSampling,
    LoadReach,
    Rule,
    free_places,
    pose_there,
    posed_reach,
    reach_of_load,
    stated_anew,
    without_room,
)
from tests.demo.larkmere import hand_made_load, larkmere
from tests.reach.test_floors import appendix

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.load import PlacedPiece
    from patency.reach import PieceStrikes

OBTURATOR = ("Knee Scope", "scopesheath/1/obturator")
CAP = ("Little Otter", "fix3/1/port cap")
FEW = JetSampling(angle_steps=48, finer=4)


@cache
def one_piece() -> Load:
    """Return a load of one obturator, at the front edge of a low basket, where few jets get to."""
    whole = hand_made_load("D1")
    pieces = tuple(
        one.model_copy(
            update={"position": "B1", "lies": OnFloor(from_left_m=0.0, from_front_m=0.0, points=Leaning.RIGHT)}
        )
        for one in whole.pieces
        if (one.set, one.piece) == OBTURATOR
    )
    return whole.model_copy(update={"pieces": pieces, "sets": ("Knee Scope",)})


def plan_of(load: Load) -> Plan:
    return Plan(
        site=larkmere().site,
        day=load.starts.date(),
        loads=(load,),
        loads_at_least=1,
        proven_fewest=True,
        objective={},
        bound={},
    )


def look_with(department: Department, one: Load) -> LoadReach:
    flows, temperature_c = _water()
    return reach_of_load(department, one, flows, temperature_c, sampling=FEW)


@cache
def _water() -> tuple[dict[str, float], float]:
    stage = next(iter(nominal_flow_of_load(larkmere(), hand_made_load("D1")).stages.values()))
    return {name: flow.nominal for name, flow in stage.arms_m3_s.items()}, stage.temperature_c


def placed(department: Department, load: Load) -> tuple[Plan, list[tuple[Load, LoadReach]]]:
    """Place a load by reach; return the plan with what was kept of it."""
    kept: list[tuple[Load, LoadReach]] = []
    plan = place_by_reach(
        department,
        plan_of(load),
        lambda one: look_with(department, one),
        NoJudge(),
        keep=lambda one, found: kept.append((one, found)),
    )
    return plan, kept


def share_of(found: LoadReach, key: tuple[str, str]) -> float:
    assert found.strikes is not None
    return found.strikes.pieces[key].struck_share


def with_rods(department: Department) -> Department:
    """Stretch thin rods through the low basket so that a piece has room only at its front edge; jets pass between."""
    carrier = department.carriers["Dunlin"]
    assert carrier.frame is not None
    rod = next(iter(carrier.frame.values()))
    rods = {
        f"rod {y}": rod.model_copy(
            update={
                "begins": rod.begins.model_copy(update={"x_m": 0.06, "y_m": y / 1000, "z_m": 0.046}),
                "ends": rod.ends.model_copy(update={"x_m": 0.30, "y_m": y / 1000, "z_m": 0.046}),
                "width_m": 0.002,
            }
        )
        for y in range(60, 500, 12)
    }
    dunlin = carrier.model_copy(update={"frame": {**carrier.frame, **rods}})
    return department.model_copy(update={"carriers": {**department.carriers, "Dunlin": dunlin}})


def narrow(department: Department) -> Department:
    """Make the low basket so small that the obturator fits in one place alone."""
    carrier = department.carriers["Dunlin"]
    area = carrier.basket_areas["B1"].model_copy(update={"width_m": 0.188, "depth_m": 0.024})
    dunlin = carrier.model_copy(update={"basket_areas": {**carrier.basket_areas, "B1": area}})
    return department.model_copy(update={"carriers": {**department.carriers, "Dunlin": dunlin}})


def test_a_piece_goes_where_more_of_it_is_struck_and_the_plan_says_where_and_what_it_costs() -> None:
    before = look_with(larkmere(), one_piece())
    plan, kept = placed(larkmere(), one_piece())
    (line,) = plan.moved_for_reach
    (piece,) = plan.loads[0].pieces
    assert piece.lies is not None
    assert share_of(before, OBTURATOR) < 0.7
    assert share_of(look_with(larkmere(), plan.loads[0]), OBTURATOR) > 0.9
    assert where_words(piece, piece.lies) in line
    assert "pieces struck too little: 0 instead of 1" in line
    assert "no other piece loses a percentage point" in line
    assert [one for one, _ in kept] == [plan.loads[0]]


def test_what_is_kept_of_a_load_moved_piece_by_piece_is_that_of_the_load_computed_anew() -> None:
    plan, kept = placed(larkmere(), one_piece())
    anew, (_, found) = look_with(larkmere(), plan.loads[0]), kept[0]
    assert found.strikes is not None
    assert anew.strikes is not None
    mine, its = found.strikes.pieces[OBTURATOR], anew.strikes.pieces[OBTURATOR]
    assert np.array_equal(mine.wetting, its.wetting)
    assert mine.push_n == pytest.approx(its.push_n)
    assert _zones(mine) == _zones(its)
    assert found.arranged.assumed == anew.arranged.assumed
    assert [one.words for one in found.faults] == [one.words for one in anew.faults]


def _zones(one: PieceStrikes) -> list[tuple[str, float]]:
    return [(zone.name, round(zone.struck_share, 6)) for zone in one.zones]


def test_where_no_place_helps_the_piece_stays() -> None:
    department = narrow(larkmere())
    found = look_with(department, one_piece())
    (piece,) = one_piece().pieces
    shares = [
        posed_reach(department, one_piece(), found, OBTURATOR, pose_there(found.arranged, piece, lies)).struck_share
        for lies in free_places(found.arranged, piece, 50)
    ]
    assert shares
    assert all(share is not None and share < share_of(found, OBTURATOR) + 0.01 for share in shares)
    plan, kept = placed(department, one_piece())
    assert plan == plan_of(one_piece())
    assert [one for one, _ in kept] == [one_piece()]


def test_a_place_that_would_be_struck_better_but_runs_into_something_is_not_taken() -> None:
    department = with_rods(larkmere())
    found = look_with(department, one_piece())
    (piece,) = one_piece().pieces
    assert found.faults == ()
    better = OnFloor(from_left_m=0.05, from_front_m=0.3, points=Leaning.RIGHT)
    seen = posed_reach(department, one_piece(), found, OBTURATOR, pose_there(found.arranged, piece, better))
    assert seen.struck_share is not None
    assert seen.struck_share > share_of(found, OBTURATOR) + 0.2
    assert {fault.rule for fault in seen.faults} == {Rule.INTERSECTS}
    plan, _ = placed(department, one_piece())
    after = look_with(department, plan.loads[0])
    assert after.faults == ()
    lies = plan.loads[0].pieces[0].lies
    assert lies is not None
    assert lies.from_front_m < 0.06


def test_a_basket_laid_closer_is_told_with_what_it_gains_and_which_piece_loses_most() -> None:
    site, before = asking(0.0), look_with(larkmere(), appendix())
    plan, ((load, _),) = placed(site, appendix())
    after = look_with(larkmere(), load)
    (line,) = plan.moved_for_reach
    lost = without_room(before.arranged)
    assert f"; pieces without room: 0 instead of {len(lost)}, " in line
    assert before.strikes is not None
    known = [key for key in before.strikes.pieces if not before.gaps(key) and not after.gaps(key)]
    most = max(known, key=lambda key: share_of(before, key) - share_of(after, key))
    now, was = (f"{100 * share_of(found, most):.0f} %" for found in (after, before))
    assert re.search(rf"most is lost by .+ \(Appendix\): {now} instead of {was}$", line)


def test_without_a_limit_of_the_site_nothing_is_moved_for_the_share() -> None:
    site = larkmere()
    load = site.limits.load.model_copy(update={"struck_share": None})
    department = site.model_copy(update={"limits": site.limits.model_copy(update={"load": load})})
    plan, _ = placed(department, one_piece())
    assert plan == plan_of(one_piece())


def test_a_share_that_hardly_reaches_the_limit_is_bettered_where_there_is_a_place() -> None:
    share = share_of(look_with(larkmere(), one_piece()), OBTURATOR)
    plan, _ = placed(asking(share - 0.005), one_piece())
    assert "more of the load is struck" in plan.moved_for_reach[0]
    plan, _ = placed(asking(share - 0.05), one_piece())
    assert plan.moved_for_reach == ()


def test_a_piece_in_a_pod_finds_another_place_in_it_and_all_others_stay() -> None:
    whole = hand_made_load("D1")
    pieces = tuple(one for one in whole.pieces if one.set == "Little Otter" and one.piece.endswith("port cap"))
    load = whole.model_copy(update={"pieces": pieces, "sets": ("Little Otter",)})
    found = look_with(larkmere(), load)
    floors = Floors(larkmere(), None, TimeLimit())
    cap = next(one for one in pieces if (one.set, one.piece) == CAP)
    place = floors.places(load, found, cap, 0)[0]
    moved, seen = floors.moved(load, found, cap, place)
    assert set(moved.pods) == {"Little Otter"}
    assert _lies(moved, cap) == place.lies
    whole_again = stated_anew(larkmere(), moved, seen)
    anew = look_with(larkmere(), moved)
    assert whole_again.strikes is not None
    assert anew.strikes is not None
    for key, one in anew.strikes.pieces.items():
        assert np.array_equal(whole_again.strikes.pieces[key].wetting, one.wetting), key
    assert share_of(seen, CAP) == pytest.approx(place.struck_share)


def _lies(load: Load, which: PlacedPiece) -> OnFloor | None:
    return next(one.lies for one in load.pieces if (one.set, one.piece) == (which.set, which.piece))


def asking(share: float) -> Department:
    """Ask for a least share of the surface that jets strike."""
    stated = larkmere().limits.load.struck_share
    assert isinstance(stated, Limit)
    load = larkmere().limits.load.model_copy(update={"struck_share": replace(stated, value=share)})
    return larkmere().model_copy(update={"limits": larkmere().limits.model_copy(update={"load": load})})
