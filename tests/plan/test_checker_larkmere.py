"""The demo department: four loads put together by hand keep every rule; what goes wrong on a day breaks one."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

import pytest

from patency.catalogue import Placing
from patency.flow import flow_of_load
from patency.load import CappedPort, LeftOut, Load, Plan
from patency.plan.checker import check_plan, open_points
from patency.plan.checking import on_flow
from tests.demo.larkmere import hand_made_load, larkmere
from tests.plan.breaking import load, piece, with_more

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.flow import LoadFlow
    from patency.plan import Finding

SITE = larkmere()
# Each load starts when the last of its sets is prepared; Dunlin runs beside Lapwing on the other machine.
TIMES = {
    "L1": ("Alder", "13:26", "14:32"),
    "D1": ("Birch", "15:14", "16:20"),
    "L2": ("Alder", "16:04", "17:10"),
    "L3": ("Alder", "18:32", "19:38"),
}


def timed(name: str) -> Load:
    """Return a load put together by hand, on its machine and at its time, its optics in their holders."""
    machine, starts, ends = TIMES[name]
    one = hand_made_load(name)
    pieces = (
        placed.model_copy(update={"position": "optic_holder"}) if placed.placing is Placing.OPTIC_HOLDER else placed
        for placed in one.pieces
    )
    day = "2026-05-12T"
    return one.model_copy(
        update={
            "machine": machine,
            "starts": datetime.fromisoformat(day + starts),
            "ends": datetime.fromisoformat(day + ends),
            "pieces": tuple(pieces),
        }
    )


assert SITE.day is not None
PLAN = Plan(
    site=SITE.site,
    day=SITE.day.date,
    loads=tuple(timed(name) for name in TIMES),
    left_out=(LeftOut(set="Visiting Wrist", why="on hold: instructions for use incomplete"),),
    loads_at_least=4,
    proven_fewest=True,
    objective={"loads": 4.0},
    bound={"loads": 4.0},
)
FLOWS: dict[str, LoadFlow] = {}
NUMBER = {one.id: number for number, one in enumerate(PLAN.loads)}


@pytest.fixture(autouse=True)
def _flow_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Compute the flow of each arrangement once: nothing here changes it but the arrangement itself."""

    def known(department: Department, one: Load) -> LoadFlow:
        key = one.model_dump_json(exclude={"starts", "ends", "machine", "sets"})
        if key not in FLOWS:
            FLOWS[key] = flow_of_load(department, one)
        return FLOWS[key]

    monkeypatch.setattr(on_flow, "flow_of_load", known)


def findings(plan: Plan, department: Department = SITE) -> list[Finding]:
    """Return what the check finds."""
    assert department.day is not None
    return check_plan(plan, department, department.day)


def stocked(name: str, stock: int) -> Department:
    """Return the department with another number of an accessory."""
    accessory = SITE.accessories[name].model_copy(update={"stock": stock})
    return with_more(SITE, accessories={**SITE.accessories, name: accessory})


def used(name: str, load_id: str) -> int:
    """Count an accessory in a load."""
    one = PLAN.loads[NUMBER[load_id]]
    chains = sum(connection.chain.count(name) for placed in one.pieces for connection in placed.lumens)
    return chains + sum(capped.cap == name for capped in one.capped_ports)


def test_the_hand_made_day_keeps_every_rule() -> None:
    assert [finding.line for finding in findings(PLAN)] == []


def test_all_that_is_left_open_are_the_blind_branches_of_the_two_shavers() -> None:
    assert SITE.day is not None
    points = open_points(PLAN, SITE, SITE.day)
    assert [(point.rule, point.set, point.piece) for point in points] == [
        ("drain angle", "Knee Scope", "shaver/1/handpiece"),
        ("drain angle", "Shoulder Scope", "shaver/1/handpiece"),
    ]


def test_a_forgotten_taper_cap_is_found_with_the_lumens_it_starves() -> None:
    number = NUMBER["L3"]
    capped = tuple(one for one in PLAN.loads[number].capped_ports if one.port != "T1")
    first, *others = findings(load(PLAN, number, capped_ports=capped))
    assert (first.rule, first.load, first.port) == ("unused ports", "L3", "T1")
    assert {(finding.rule, finding.load) for finding in others} == {("fed", "L3")}


def test_two_cracked_hose_caps_matter_only_where_more_are_used_than_are_left() -> None:
    most = max(used("hose_cap", one.id) for one in PLAN.loads)
    assert findings(PLAN, stocked("hose_cap", most)) == []
    assert {finding.rule for finding in findings(PLAN, stocked("hose_cap", most - 1))} == {"stock of caps"}


def test_sleeves_are_counted_over_loads_that_run_at_the_same_time() -> None:
    alone = used("flushing_sleeve_m", "L1"), used("flushing_sleeve_m", "L2"), used("flushing_sleeve_m", "L3")
    assert findings(PLAN, stocked("flushing_sleeve_m", max(alone))) == []
    together = load(PLAN, NUMBER["D1"], starts=PLAN.loads[NUMBER["L2"]].starts, ends=PLAN.loads[NUMBER["L2"]].ends)
    pods = findings(together, stocked("lidded_fine_basket", 5))
    assert {finding.rule for finding in pods} == {"stock of pods"}
    assert any("6 pods are needed at 16:04" in finding.sentence for finding in pods)


def test_the_visiting_set_cannot_be_planned() -> None:
    number = NUMBER["D1"]
    sets = (*PLAN.loads[number].sets, "Visiting Wrist")
    found = findings(load(PLAN.model_copy(update={"left_out": ()}), number, sets=sets))
    assert {"hold", "instructions", "whole sets"} <= {finding.rule for finding in found}
    held = next(finding for finding in found if finding.rule == "hold")
    assert (held.load, held.set) == ("D1", "Visiting Wrist")


@pytest.mark.parametrize("name", sorted(TIMES))
def test_a_load_on_the_machine_for_baskets_breaks_docking_kind_and_programme(name: str) -> None:
    found = findings(load(PLAN, NUMBER[name], machine="Cedar"))
    assert {finding.rule for finding in found} == {"programme offered", "docking", "kind of machine"}


@pytest.mark.parametrize(
    ("load_id", "set_name", "key"),
    [("L1", "Gallbladder One", "veress/1/outer"), ("L2", "Pelvis One", "manipulator/1/shaft")],
)
def test_a_lumen_without_its_hose_is_found(load_id: str, set_name: str, key: str) -> None:
    number = NUMBER[load_id]
    placed = next(one for one in PLAN.loads[number].pieces if (one.set, one.piece) == (set_name, key))
    *kept, loose = placed.lumens
    closed = (*PLAN.loads[number].capped_ports, CappedPort(port=loose.port, cap="hose_cap"))
    plan = load(piece(PLAN, set_name, key, lumens=tuple(kept)), number, capped_ports=closed)
    found = [(finding.rule, finding.set, finding.piece) for finding in findings(plan, stocked("hose_cap", 99))]
    assert found == [("every lumen", set_name, key)]


def test_long_instruments_do_not_stand_at_ports_for_needles() -> None:
    number = NUMBER["L1"]
    tube = next(one for one in PLAN.loads[number].pieces if one.piece == "mod5/1/tube")
    needle = next(one for one in PLAN.loads[number].pieces if one.piece == "veress/1/outer" and one.set == tube.set)
    there, here = tube.lumens[0].port, needle.lumens[0].port
    swapped = piece(
        piece(PLAN, tube.set, tube.piece, position=here, lumens=_at(tube.lumens, here)),
        needle.set,
        needle.piece,
        position=there,
        lumens=_at(needle.lumens, there),
    )
    broken = {(finding.rule, finding.piece) for finding in findings(swapped)}
    assert ("room at the port", "mod5/1/tube") in broken
    assert ("tipping", "veress/1/outer") in broken


def _at(lumens: tuple, port: str) -> tuple:  # type: ignore[type-arg]
    first, *others = lumens
    return (first.model_copy(update={"port": port}), *others)
