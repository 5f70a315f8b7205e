"""Names in a plan that the department does not have."""

from __future__ import annotations

import pytest

from patency.catalogue import read_department
from patency.load import LeftOut, Plan, read_plan, unknown_names, write_plan
from tests.small_plan import PLAN_OF_TWO, SMALL_PLAN
from tests.small_site import SMALL_SITE

DEPARTMENT = read_department(SMALL_SITE)
TEXT = write_plan(SMALL_PLAN)


def found_in(plan: Plan) -> list[str]:
    """Return the lines about the names of a plan."""
    return [fault.line for fault in unknown_names(plan, DEPARTMENT)]


@pytest.mark.parametrize("plan", [SMALL_PLAN, PLAN_OF_TWO], ids=["one load", "two loads"])
def test_every_name_of_a_good_plan_is_known(plan: Plan) -> None:
    assert found_in(plan) == []


@pytest.mark.parametrize(
    ("was", "now", "line"),
    [
        ('"carrier": "Wren"', '"carrier": "Wern"', "plan: loads[0].carrier: "),
        ('"machine_kind": "front_loader"', '"machine_kind": "top_loader"', "plan: loads[0].machine_kind: "),
        ('"machine": "Alpha"', '"machine": "Alfa"', "plan: loads[0].machine: "),
        ('"programme": "gentle"', '"programme": "gentel"', "plan: loads[0].programme: "),
        ('"Noon"\n      ]', '"Nun"\n      ]', "plan: loads[0].sets[1]: "),
        ('"set": "Morning"', '"set": "Mourning"', "plan: loads[0].pieces[0].set: "),
        ('"piece": "mod5/1/tube"', '"piece": "mod5/2/tube"', "plan: loads[0].pieces[1].piece: "),
        ('"lumen": "shaft"', '"lumen": "schaft"', "plan: loads[0].pieces[2].lumens[0].lumen: "),
        ('"lumen": "bore",\n              "port": "N1"', '"lumen": "bore", "port": "N7"', "lumens[0].port: "),
        ('"sleeve_5"', '"sleeve_6"', "plan: loads[0].pieces[1].lumens[0].chain[0]: "),
        ('"sleeve_5"', '"taper_cap"', "plan: loads[0].pieces[1].lumens[0].chain[0]: "),
        ('"position": "N1"', '"position": "N8"', "plan: loads[0].pieces[0].position: "),
        ('"position": "B1"', '"position": "B9"', "plan: loads[0].pieces[4].position: "),
        ('"position": "C1"', '"position": "B1"', "plan: loads[0].pieces[6].position: "),
        ('"position": "holder"', '"position": "pod"', "plan: loads[0].pieces[7].position: "),
        ('"placing": "pod",\n          "position": "Morning"', '"placing": "pod", "position": "Dusk"', ".position: "),
        ('"port": "T1"', '"port": "T2"', "plan: loads[0].capped_ports[0].port: "),
        ('"cap": "taper_cap"', '"cap": "sleeve_5"', "plan: loads[0].capped_ports[0].cap: "),
        ('"open_ports": []', '"open_ports": ["H9"]', "plan: loads[0].open_ports[0]: "),
    ],
)
def test_a_name_nobody_knows_is_told_with_its_path(was: str, now: str, line: str) -> None:
    assert was in TEXT
    found = found_in(read_plan(TEXT.replace(was, now, 1)))
    assert len(found) >= 1
    assert line in found[0]
    assert "is not known" in found[0] or "expected" in found[0]


def test_an_unknown_carrier_is_told_once_and_not_again_for_each_of_its_ports() -> None:
    assert len(found_in(read_plan(TEXT.replace('"carrier": "Wren"', '"carrier": "Robin"')))) == 1


def test_a_set_left_out_has_to_be_one() -> None:
    plan = SMALL_PLAN.model_copy(update={"left_out": (LeftOut(set="Dusk", why="no time"),)})
    assert [line.partition(": ")[2].partition(":")[0] for line in found_in(plan)] == ["left_out[0].set"]
