"""Which way an arm turns: stated, told by its nozzles, or not known."""

from __future__ import annotations

import pytest

from patency.catalogue.gaps_of_shape import shape_gaps
from patency.reach import arms_of_load
from tests.published.test_turning_jets import Nozzle, arm_of
from tests.reach.cast import machine
from tests.reach.drawn import drawn_load

FLOW = 1e-4
UPRIGHT: Nozzle = (0.2, 90.0, 0.0)
LEFT: Nozzle = (0.2, 45.0, 90.0)


@pytest.mark.parametrize(
    ("nozzles", "sense"),
    [
        ([LEFT], -1),
        ([(0.2, 45.0, -90.0)], 1),
        ([(-0.2, 45.0, 90.0)], 1),
        ([LEFT, (-0.2, 45.0, -90.0)], -1),  # both ends drive it
        ([LEFT, (0.1, 45.0, -90.0), (-0.05, 0.0, 90.0)], -1),  # the outer one outweighs
        ([UPRIGHT], None),
        ([(0.2, 30.0, 180.0)], None),  # along the arm there is no lever
        ([LEFT, (-0.2, 45.0, 90.0)], None),
        ([LEFT, (-0.199, 45.0, 90.0)], None),  # as good as balanced
    ],
)
def test_an_arm_turns_against_what_leaves_its_nozzles(nozzles: list[Nozzle], sense: int | None) -> None:
    assert arm_of(nozzles, 30.0).turning_sense == sense
    assert arm_of(nozzles, 30.0, turns="clockwise").turning_sense == -1
    assert arm_of(nozzles, 30.0, turns="counter-clockwise").turning_sense == 1


def test_what_an_arm_strikes_of_which_nobody_knows_the_way_it_turns_is_not_known() -> None:
    kind = machine().model_copy(update={"arms": {"arm": arm_of([UPRIGHT], 30.0)}})
    found = arms_of_load(kind, {"arm": FLOW}, 20.0)
    assert found.gaps == ("which way the arm turns is not stated, and its nozzles balance each other",)
    assert found.arms == ()
    site, _ = drawn_load()
    gaps = {gap.path for gap in shape_gaps(site.model_copy(update={"machine_kinds": {"K": kind}}))}
    assert ("machine_kinds", "K", "arms", "arm", "turns") in gaps
    told = kind.model_copy(update={"arms": {"arm": arm_of([UPRIGHT], 30.0, turns="clockwise")}})
    less = {gap.path for gap in shape_gaps(site.model_copy(update={"machine_kinds": {"K": told}}))}
    assert gaps - less == {("machine_kinds", "K", "arms", "arm", "turns")}


def test_an_arm_without_flow_has_no_jets() -> None:
    kind = machine().model_copy(update={"arms": {"arm": arm_of([LEFT], 30.0)}})
    for flow, count in ((FLOW, 1), (0.0, 0)):
        (arm,) = arms_of_load(kind, {"arm": flow}, 20.0).arms
        assert len(arm.jets) == count
