"""Pieces moved by what geometry and jets say of them: rules of room first, every other rule of the plan kept."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import pytest

from patency.catalogue import Placing, read_department
from patency.demo import larkmere_texts
from patency.flow import nominal_flow_of_load
from patency.plan import FlowJudge, NoJudge, check_plan, place_by_reach
from patency.plan.by_reach.exchanges import Exchanges
from patency.plan.planner import MARGIN
from patency.quantities import Limit
from patency.reach import (
    JetSampling,
    LoadReach,
    Rule,
    arms_of_load,
    faults_of_arrangement,
    reach_of_load,
    solids_of_load,
    without_room,
)
from tests.demo.larkmere import hand_made_load
from tests.plan.larkmere import day_of, larkmere, larkmere_plan

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.load import Load, Plan

DEPARTMENT = larkmere()
DAY = day_of(DEPARTMENT)


def with_wide_handle() -> Department:
    """Return the demo department with a suction punch whose rings run into what stands at the next port."""
    texts = larkmere_texts()
    handle = (
        "{form: ring handle, name: handle, length: 110 mm, width: 70 mm, thickness: 7 mm}\n"
        "          - {form: tube, length: 168 mm"
    )
    joints = texts["instruments-joints.yaml"]
    assert joints.count(handle) == 1
    return read_department(
        {**texts, "instruments-joints.yaml": joints.replace(handle, handle.replace("70 mm", "74 mm"))}
    )


WIDE = with_wide_handle()


def of_room(load: Load) -> LoadReach:
    """Look at a load's rules of room alone, without the jets."""
    kind = WIDE.machine_kinds[load.machine_kind]
    arranged = solids_of_load(WIDE, load)
    faults = faults_of_arrangement(arranged, kind, WIDE.limits.load)
    return LoadReach(arranged, arms_of_load(kind, {}, 40.0), None, tuple(faults))


def running_into(plan: Plan) -> list[tuple[str, str]]:
    faults = [fault for load in plan.loads for fault in of_room(load).faults]
    return sorted(fault.piece for fault in faults if fault.rule is Rule.INTERSECTS)


@cache
def moved() -> Plan:
    return place_by_reach(WIDE, larkmere_plan(), of_room, FlowJudge(WIDE, DAY.date))


def used(load: Load) -> tuple[Counter[str], Counter[str], int]:
    """Count accessories and caps of a load, and its open ports."""
    links = Counter(link for piece in load.pieces for one in piece.lumens for link in one.chain)
    return links, Counter(capped.cap for capped in load.capped_ports), len(load.open_ports)


@pytest.mark.slow
def test_pieces_that_ran_into_each_other_stand_apart_afterwards() -> None:
    assert running_into(larkmere_plan()) != []
    assert running_into(moved()) == []
    assert moved().moved_for_reach != ()
    closer = [line for line in moved().moved_for_reach if "is laid closer" in line]
    assert closer != []
    assert all("pieces without room: 0 instead of" in line for line in closer)
    exchanged = [line for line in moved().moved_for_reach if line not in closer]
    assert len(exchanged) > 0
    assert all("rules broken in the load: 0 instead of 2" in line for line in exchanged)
    assert all("weakest margin of its lumens" in line for line in exchanged)


@pytest.mark.slow
def test_what_found_no_room_side_by_side_lies_closer_and_has_some() -> None:
    lost = [key for load in larkmere_plan().loads for key in without_room(of_room(load).arranged)]
    assert lost != []
    assert [key for load in moved().loads for key in without_room(of_room(load).arranged)] == []


@pytest.mark.slow
def test_the_second_check_finds_nothing_against_what_was_moved() -> None:
    assert check_plan(moved(), DEPARTMENT, DAY) == []


@pytest.mark.slow
def test_everything_else_is_as_it_was_planned() -> None:
    before, after = larkmere_plan(), moved()
    assert [used(load) for load in before.loads] == [used(load) for load in after.loads]
    for was, now in zip(before.loads, after.loads, strict=True):
        assert {(one.set, one.piece) for one in was.pieces} == {(one.set, one.piece) for one in now.pieces}
        assert now.model_copy(update={"pieces": was.pieces, "pods": {}}) == was
        elsewhere = [one.piece for one in now.pieces if one.model_copy(update={"lies": None}) not in was.pieces]
        assert len(elsewhere) in {0, 2}
    names = before.objective.keys() - {MARGIN}
    assert {name: before.objective[name] for name in names} == {name: after.objective[name] for name in names}
    assert after.objective[MARGIN] > 1.0


@pytest.mark.slow
@pytest.mark.parametrize("placing", [Placing.PORT, Placing.BASKET])
def test_every_exchange_of_a_piece_keeps_every_rule_of_the_second_check(placing: Placing) -> None:
    plan, exchanges = larkmere_plan(), Exchanges(DEPARTMENT)
    number, found = next(
        (number, found)
        for number, load in reversed(list(enumerate(plan.loads)))
        for one in load.pieces
        if one.placing is placing and (found := list(exchanges.of(load, (one.set, one.piece))))
    )
    # The first, one between and the last: each check computes the water of the whole day.
    for exchange in (found[0], found[len(found) // 2], found[-1]):
        loads = (*plan.loads[:number], exchange.load, *plan.loads[number + 1 :])
        broken = check_plan(plan.model_copy(update={"loads": loads}), DEPARTMENT, DAY)
        assert [one for one in broken if one.rule != "fed"] == [], exchange.words


def test_pieces_under_a_net_or_in_pods_stay() -> None:
    load = hand_made_load("L1")
    exchanges = Exchanges(DEPARTMENT)
    stay = [one for one in load.pieces if one.net or one.placing in {"pod", "optic_holder", "coil_rack"}]
    assert stay
    assert all(list(exchanges.of(load, (one.set, one.piece))) == [] for one in stay)


@pytest.mark.slow
def test_a_limit_of_the_site_moves_what_the_jets_strike_too_little() -> None:
    # At N6 the second wide sleeve stands in the shadow of the first; nothing shadows the free port N9.
    whole = next(load for load in larkmere_plan().loads if "Long Colon" in load.sets)
    pieces = tuple(one for one in whole.pieces if one.set == "Long Colon" and one.piece.startswith(("sleeve", "fan10")))
    load = whole.model_copy(update={"pieces": pieces, "sets": ("Long Colon",)})
    kept = larkmere_plan().model_copy(update={"loads": (load,)})

    def look(one: Load) -> LoadReach:
        stage = next(iter(nominal_flow_of_load(DEPARTMENT, one).stages.values()))
        flows = {name: flow.nominal for name, flow in stage.arms_m3_s.items()}
        return reach_of_load(DEPARTMENT, one, flows, stage.temperature_c, sampling=JetSampling(angle_steps=8, finer=4))

    def shares(one: Load) -> dict[tuple[str, str], float]:
        strikes = look(one).strikes
        assert strikes is not None
        return {key: piece.struck_share for key, piece in strikes.pieces.items()}

    before = shares(load)
    shadowed = ("Long Colon", "sleeve13/2/sleeve")
    plan = place_by_reach(asking(0.9), kept, look, NoJudge())
    after = shares(plan.loads[0])
    assert after[shadowed] >= 0.9 > before[shadowed]
    assert sum(share < 0.9 for share in after.values()) < sum(share < 0.9 for share in before.values())
    assert "pieces struck too little" in plan.moved_for_reach[0]


def asking(share: float) -> Department:
    """Ask for a least share of the surface that jets strike."""
    stated = DEPARTMENT.limits.load.struck_share
    assert isinstance(stated, Limit)
    load = DEPARTMENT.limits.load.model_copy(update={"struck_share": replace(stated, value=share)})
    return DEPARTMENT.model_copy(update={"limits": DEPARTMENT.limits.model_copy(update={"load": load})})
