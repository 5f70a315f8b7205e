"""A load with ports, connections, a pod and a net, broken in one place at a time: the fault names what was broken."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.catalogue import Part, State
from patency.quantities import Answer
from patency.reach import Pose, Role, Rule, faults_of_arrangement, held, solids_of_load
from tests.reach.drawn import drawn_load

if TYPE_CHECKING:
    from patency.load import PlacedPiece
    from patency.reach import Arranged, Fault, PlacedSolid

SET = "Gallbladder One"
TUBE, CLIP, SLEEVE = "mod5/1/tube", "clip10/1/instrument", "sleeve11/1/sleeve"
OPTIC, INSERT, OBTURATOR = "optic/1/optic", "mod5/1/insert", "sleeve11/1/obturator"
SEAL, SPRING, CABLE = "sleeve11/1/seal", "sleeve11/1/valve spring", "hfcable/1/cable"


@cache
def whole() -> Arranged:
    """Return the load as it should be."""
    return solids_of_load(*drawn_load())


def found(arranged: Arranged) -> list[Fault]:
    """Return what is wrong with places and directions."""
    department, load = drawn_load()
    return faults_of_arrangement(arranged, department.machine_kinds[load.machine_kind], department.limits.load)


def body(piece: str, role: Role = Role.PIECE) -> PlacedSolid:
    """Return the one body of a piece, or the one that connects it."""
    (one,) = [one for one in whole().solids if one.piece == (SET, piece) and one.role is role]
    return one


def with_body(was: PlacedSolid, now: PlacedSolid) -> Arranged:
    """Return the load with one body changed."""
    return replace(whole(), solids=tuple(now if one is was else one for one in whole().solids))


def test_the_load_as_it_should_be_breaks_nothing() -> None:
    assert found(whole()) == []
    assert {reply.answer for reply in held(*drawn_load()).values()} == {Answer.YES}


@pytest.mark.parametrize(
    ("piece", "role", "by_mm", "rule", "others"),
    [
        (CLIP, Role.PIECE, (0, 0, 110), Rule.SWEEP, set()),  # at a hose port: into the arm above
        (CLIP, Role.PIECE, (0, 0, 400), Rule.OUTSIDE, set()),
        (SLEEVE, Role.PIECE, (0, 0, 500), Rule.OUTSIDE, set()),  # off its injector nozzle, through the ceiling
        (TUBE, Role.PIECE, (120, -320, 0), Rule.INTERSECTS, {CLIP}),
        (TUBE, Role.CONNECTION, (135, -70, 20), Rule.INTERSECTS, {SLEEVE}),  # flushing sleeve into the other's nozzle
        (TUBE, Role.CONNECTION, (0, -250, -60), Rule.SWEEP, set()),
        (SLEEVE, Role.CONNECTION, (-300, -20, -280), Rule.POKES, set()),  # nozzle through a basket
        (SEAL, Role.PIECE, (0, 0, 30), Rule.POKES, set()),  # out of its pod, above
        (SEAL, Role.PIECE, (0, -15, 0), Rule.POKES, set()),
        (OBTURATOR, Role.PIECE, (0, -12, 0), Rule.POKES, set()),  # from the basket into the pod
        (OPTIC, Role.PIECE, (-30, 0, 0), Rule.INTERSECTS, {INSERT}),
        (INSERT, Role.PIECE, (0, 0, -5), Rule.POKES, set()),  # under its net, through the floor
        (CABLE, Role.PIECE, (0, 0, -190), Rule.SWEEP, set()),  # off its drum
    ],
)
def test_what_was_moved_is_named(
    piece: str, role: Role, by_mm: tuple[float, ...], rule: Rule, others: set[str]
) -> None:
    was = body(piece, role)
    faults = found(with_body(was, was.moved_to(Pose(was.pose.turn, was.pose.shift_m + np.array(by_mm) / 1000))))
    assert rule in {one.rule for one in faults if one.piece == (SET, piece)}
    assert {one.piece[1] for one in faults} == {piece} | others


def test_what_is_too_small_for_its_pod_is_named() -> None:
    was = body(SPRING)
    small = replace(
        was, mesh=was.mesh.moved(0.1 * np.eye(3), np.zeros(3)), pose=Pose(np.eye(3), was.in_carrier.bounds_m[0])
    )
    assert [(one.rule, one.piece[1]) for one in found(with_body(was, small))] == [(Rule.SLIPS, SPRING)]


@pytest.mark.parametrize(
    ("piece", "change", "why"),
    [
        (INSERT, {"states": {}}, "jaws planned as found, prescribed open"),
        (CLIP, {"states": {Part.JAWS: State.OPEN}}, "cap planned as found, prescribed removed"),
        (TUBE, {"way_up": "distal down"}, "placed distal down, prescribed distal up"),
        (INSERT, {"net": False}, "no net goes over it"),
    ],
)
def test_what_is_prepared_otherwise_than_prescribed_is_named(piece: str, change: dict[str, object], why: str) -> None:
    department, load = drawn_load()

    def changed(one: PlacedPiece) -> PlacedPiece:
        return one.model_copy(update=change) if one.piece == piece else one

    replies = held(department, load.model_copy(update={"pieces": tuple(map(changed, load.pieces))}))
    ((key, reply),) = [(key, one) for key, one in replies.items() if one.answer is not Answer.YES]
    assert (key[1], reply.answer) == (piece, Answer.NO)
    assert why in reply.why
