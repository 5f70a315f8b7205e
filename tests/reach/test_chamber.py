"""What reaches out of the chamber: exactly where its place is stated, else what no place of it could hold."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.catalogue import LoadLimits, Place
from patency.load import Question, Reply
from patency.quantities import Answer
from patency.reach import (
    Arms,
    Arranged,
    LoadReach,
    Mesh,
    PlacedSolid,
    Pose,
    Role,
    Rule,
    Zone,
    faults_of_arrangement,
    solids_of_load,
)
from patency.reach.checks import faults_of_piece
from patency.reach.jet_replies import with_jets
from patency.reach.solids.bodies import box
from patency.reach.solids.chamber import chamber_around
from tests.reach.cast import carrier, machine
from tests.reach.drawn import drawn_load

if TYPE_CHECKING:
    from collections.abc import Sequence

# A chamber of 600 mm around a carrier of 500 mm and an arm that sweeps from 10 to 510 mm, and up to 540 mm.
KIND = machine({"height": 520.0, "centre_x": 260.0, "centre_y": 260.0})
PLACED = KIND.model_copy(update={"chamber_at": Place.model_validate({"x": "-30 mm", "y": "-40 mm", "z": "-50 mm"})})
STILL = Pose(np.eye(3), np.zeros(3))
PLAIN = [Zone("side", sided=False)] * 6


def brick(low: Sequence[float], name: str = "a", role: Role = Role.PIECE) -> PlacedSolid:
    """Return a cube of 20 mm from its low corner [mm]."""
    corner = np.array(low) / 1000
    mesh: Mesh = box(corner, corner + 0.02, PLAIN, 0.01)
    return PlacedSolid(role, name, mesh, STILL, ("S", name), "B1", mass_kg=0.1)


def arranged(*solids: PlacedSolid, stated: bool) -> Arranged:
    """Return bodies in the chamber."""
    return Arranged(solids, (), {}, {}, chamber_around(PLACED if stated else KIND, carrier()))


def outside(*solids: PlacedSolid, stated: bool) -> list[tuple[str, str]]:
    """Return which pieces are out of the chamber, and the words of it."""
    found = faults_of_arrangement(arranged(*solids, stated=stated), KIND, LoadLimits())
    return [(one.piece[1], one.words) for one in found if one.rule is Rule.OUTSIDE]


@pytest.mark.parametrize(
    ("axis", "low", "high", "sides"),
    [(0, -30, 570, ("left", "right")), (1, -40, 560, ("front", "back")), (2, -50, 550, ("below", "above"))],
)
def test_where_the_chamber_is_stated_its_walls_are_exact(
    axis: int, low: int, high: int, sides: tuple[str, str]
) -> None:
    for wall, outward, side in ((low, -1, sides[0]), (high - 20, 1, sides[1])):
        at = [100.0, 100.0, 100.0]
        at[axis] = wall
        assert outside(brick(at), stated=True) == []
        at[axis] += 3 * outward
        assert outside(brick(at), stated=True) == [("a", f"reaches 3 mm out of the chamber ({side})")]


def test_where_it_is_not_what_no_place_around_carrier_and_arms_could_hold_is_found() -> None:
    """The chamber has to hold the carrier, 0 to 500 mm, and the arm: so it ends between 510 and 600 mm on the right."""
    assert outside(brick((580, 100, 100)), stated=False) == []
    assert outside(brick((584, 100, 100)), stated=False) == [("a", "reaches at least 4 mm out of the chamber (right)")]
    assert outside(brick((-90, 100, 100)), stated=False) == []
    assert outside(brick((-95, 100, 100)), stated=False) == [("a", "reaches at least 5 mm out of the chamber (left)")]
    assert outside(brick((100, 100, -60)), stated=False) == []
    assert outside(brick((100, 100, -62)), stated=False) == [("a", "reaches at least 2 mm out of the chamber (below)")]


def test_two_pieces_that_no_place_of_the_chamber_could_hold_both_are_told_of_each_other() -> None:
    left, right, between = brick((-50, 100, 100)), brick((552, 100, 100), "b"), brick((100, 100, 100), "c")
    assert outside(left, between, stated=False) == outside(right, between, stated=False) == []
    assert outside(left, right, between, stated=False) == [
        ("a", "is 22 mm too far from b at B1 for the chamber"),
        ("b", "is 22 mm too far from a at B1 for the chamber"),
    ]
    far = brick((700, 100, 100), "d")
    assert [name for name, _ in outside(left, between, far, stated=False)] == ["d"]  # the others could be as they are


def test_what_connects_a_piece_counts_as_the_piece_and_what_gives_way_does_not() -> None:
    joined = brick((-40, 100, 100), role=Role.CONNECTION)
    assert outside(joined, stated=True) == [("a", "reaches 10 mm out of the chamber (left)")]
    assert outside(brick((-40, 100, 100), role=Role.HOSE), stated=True) == []


def test_one_piece_alone_is_told_its_own_fault() -> None:
    both = arranged(brick((-35, 100, 100)), brick((100, 100, 560), "b"), stated=True)
    found = faults_of_piece(both, 1, KIND, LoadLimits())
    assert [(one.piece[1], one.rule) for one in found] == [("b", Rule.OUTSIDE)]
    assert found[0].value == pytest.approx(0.030)


@pytest.mark.parametrize(
    ("right", "stated", "doubted"),
    [(510, False, False), (515, False, True), (515, True, False), (600, False, True), (604, False, False)],
)
def test_a_piece_beyond_carrier_and_arms_is_unknown_where_the_place_of_the_chamber_is(
    right: float, stated: bool, doubted: bool
) -> None:
    bodies = arranged(brick((right - 20, 100, 100)), stated=stated)
    faults = tuple(faults_of_arrangement(bodies, machine(), LoadLimits()))
    so_far = {("S", "a"): Reply(Question.REACHED, Answer.YES, "drains")}
    reply = with_jets(so_far, LoadReach(bodies, Arms((), 1000.0, ()), None, faults), LoadLimits())["S", "a"]
    doubt = f"it reaches {right - 510} mm beyond carrier and arms, and where the chamber begins is not stated"
    assert (doubt in reply.why) == doubted
    assert (reply.answer is Answer.NO) == (right > 600)  # else unknown: no jets were computed


def test_a_load_stands_in_the_chamber_of_its_kind_of_machine() -> None:
    site, load = drawn_load()
    chamber = solids_of_load(site, load).chamber
    assert chamber is not None
    assert chamber.stated
    assert chamber.reach_m.tolist() == [[-0.02, -0.025, -0.06], [0.64, 0.815, 0.8]]
