"""Pieces that are moved on trial: where they go, how that is written, what is said of it and what is kept."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.errors import InputError
from patency.reach import JetSampling, LoadReach, Pose, after_move, held_bytes, reach_of_load, without_samples
from patency.steps import (
    KeptReach,
    Move,
    Nudge,
    changed_bodies,
    moves_words,
    read_moves,
    tried_pieces,
    with_nudge,
    with_shift,
)
from patency.steps.reach_moves import moved_pose
from patency.steps.reach_scene import body_documents
from tests.reach.drawn import arranged, drawn_load, square

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.load import Load

TUBE = ("Gallbladder One", "mod5/1/tube")


@cache
def few_found() -> LoadReach:
    site, load = drawn_load()
    kept = [one for one in load.pieces if one.piece in (TUBE[1], "sleeve11/1/obturator")]
    small = load.model_copy(update={"pieces": tuple(kept)})
    arms = site.machine_kinds[load.machine_kind].arms
    return reach_of_load(site, small, dict.fromkeys(arms, 95 / 60000), 50.0, sampling=JetSampling(8, 1))


def test_a_piece_is_shifted_and_turned_about_its_middle_as_the_words_of_the_buttons_say() -> None:
    (plate,) = arranged(square(0.10, (0.2, 0.3, 0.4))).solids

    def corner_after(**by: float) -> list[float]:
        """Where the middle of the right edge goes."""
        pose = moved_pose(plate, Move(0, **by))
        at: list[float] = (pose.turn @ np.array([0.25, 0.3, 0.4]) + pose.shift_m).tolist()
        return at

    assert corner_after(across_mm=10.0, back_mm=-20.0, up_mm=30.0) == pytest.approx([0.26, 0.28, 0.43])
    # Turned left, seen from above, the right edge goes to the back; rolled about its upright axis as well.
    assert corner_after(turned_deg=90.0) == pytest.approx([0.2, 0.35, 0.4])
    assert corner_after(rolled_deg=90.0) == pytest.approx([0.2, 0.35, 0.4])
    pose = moved_pose(plate, Move(0, tipped_deg=90.0))
    back = pose.turn @ np.array([0.2, 0.35, 0.4]) + pose.shift_m
    assert back == pytest.approx([0.2, 0.3, 0.45])  # tipped to the front, the back edge comes up


def test_every_button_has_one_that_undoes_it() -> None:
    pairs = [(Nudge.LEFT, Nudge.RIGHT), (Nudge.FRONT, Nudge.BACK), (Nudge.UP, Nudge.DOWN)]
    pairs += [(Nudge.TURN_LEFT, Nudge.TURN_RIGHT), (Nudge.TIP_BACK, Nudge.TIP_FRONT)]
    pairs += [(Nudge.ROLL_LEFT, Nudge.ROLL_RIGHT)]
    for one, other in pairs:
        there = with_nudge((), 3, one)
        assert len(there) == 1
        assert with_nudge(there, 3, other) == ()
    assert {nudge for pair in pairs for nudge in pair} | {Nudge.AS_PLANNED} == set(Nudge)
    both = with_nudge(with_nudge((), 3, Nudge.UP), 4, Nudge.UP)
    assert [one.body for one in with_nudge(both, 3, Nudge.UP)] == [4, 3]
    assert with_nudge(both, 3, Nudge.AS_PLANNED) == both[1:]


def test_moves_are_written_and_read_back_and_held_at_the_walls() -> None:
    moves = with_shift(with_nudge((), 12, Nudge.TURN_LEFT), 12, (1.4, -2.6, 0.0))
    assert moves_words(moves) == ["12:1,-3,0,15,0,0"]
    assert read_moves(moves_words(moves)) == moves
    (far,) = with_shift((), 12, (5000.0, -5000.0, 0.0))
    assert (far.across_mm, far.back_mm) == (1000.0, -1000.0)
    (round_,) = read_moves(["12:0,0,0,350,0,0"])
    assert round_.turned_deg == -10.0
    for words in (["12"], ["a:1"], ["12:1,2,3,4,5,6,7"], ["12:inf,0,0,0,0,0"]):
        with pytest.raises(InputError):
            read_moves(words)


def test_each_state_is_computed_once_and_what_was_moved_long_ago_is_forgotten_first() -> None:
    site, load = drawn_load()
    planned = few_found()
    kept = KeptReach({}, most_bytes=held_bytes([planned]))  # room for the plan; moves take some more
    kept._found[load.id, ()] = planned
    body = planned.arranged.number_of[TUBE]
    first = kept.of(site, load, read_moves([f"{body}:1,0,0,0,0,0"]))
    assert kept.of(site, load, read_moves([f"{body}:1,0,0,0,0,0"])) is first
    assert first.arranged.solids[body].pose.shift_m[0] == pytest.approx(
        planned.arranged.solids[body].pose.shift_m[0] + 0.001
    )
    kept.of(site, load, read_moves([f"{body}:0,0,1,0,0,0"]))
    assert kept.of(site, load) is planned
    assert list(kept._found) == [(load.id, read_moves([f"{body}:0,0,1,0,0,0"])), (load.id, ())]
    with pytest.raises(InputError, match="is no piece that is drawn"):
        kept.of(site, load, (Move(9999, 1.0),))


def test_of_a_load_that_is_forgotten_as_planned_can_still_be_read_what_is_struck() -> None:
    site, load = drawn_load()
    kept = KeptReach({}, most_bytes=held_bytes([few_found()]))
    kept._found["L0", ()] = few_found()
    kept._found[load.id, ()] = replace(few_found())
    kept.of(site, load, (Move(few_found().arranged.number_of[TUBE], 1.0),))
    assert ("L0", ()) not in kept._found
    read = kept.known(load.model_copy(update={"id": "L0"}))
    assert read is not None
    assert read.strikes is not None
    planned = few_found().strikes
    assert planned is not None
    for key, one in planned.pieces.items():
        other = read.strikes.pieces[key]
        assert (other.zones, other.push_n, other.lift_n) == (one.zones, one.push_n, one.lift_n)
        assert (other.wetting == one.wetting).all()
    assert held_bytes([read]) == 0
    assert without_samples(replace(few_found(), strikes=None)).strikes is None


def test_what_several_states_share_counts_once() -> None:
    site, load = drawn_load()
    planned, pose = few_found(), few_found().arranged.solids[few_found().arranged.number_of[TUBE]].pose
    assert planned.strikes is not None
    moved = after_move(site, load, planned, TUBE, Pose(pose.turn, pose.shift_m + 0.001))
    whole = held_bytes([planned])
    assert whole > 27 * sum(len(part.share) for one in planned.strikes.pieces.values() for part in one.samples)
    assert held_bytes([planned, planned]) == whole
    assert whole < held_bytes([planned, moved]) < 2 * whole


def test_a_state_goes_on_from_the_nearest_one_that_is_kept_and_is_what_it_is_by_any_way(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    site, load = drawn_load()
    tube, other = sorted(few_found().arranged.number_of.values())
    asked: list[tuple[str, str]] = []

    def counted(department: Department, load: Load, found: LoadReach, piece: tuple[str, str], pose: Pose) -> LoadReach:
        asked.append(piece)
        return after_move(department, load, found, piece, pose)

    monkeypatch.setattr("patency.steps.reach_trying.after_move", counted)
    kept = KeptReach({})
    kept._found[load.id, ()] = few_found()
    both = kept.of(site, load, (Move(tube, 40.0), Move(other, 0.0, 10.0)))
    assert len(asked) == 2
    assert kept.of(site, load, (Move(other, 0.0, 10.0), Move(tube, 40.0))) is both
    kept.of(site, load, (Move(tube, 41.0), Move(other, 0.0, 10.0)))
    alone = kept.of(site, load, (Move(other, 0.0, 10.0),))
    assert len(asked) == 4
    solids = few_found().arranged.solids
    assert alone.arranged.solids[tube].pose is solids[tube].pose
    anew = after_move(
        site, load, few_found(), solids[other].piece or ("", ""), moved_pose(solids[other], Move(other, 0, 10))
    )
    assert [one.share for one in tried_pieces(few_found(), alone, ())] == pytest.approx(
        [one.share for one in tried_pieces(few_found(), anew, ())], abs=1e-12
    )


def test_only_bodies_that_changed_are_sent_and_none_of_them_is_left_out() -> None:
    site, load = drawn_load()
    number = few_found().arranged.number_of[TUBE]
    pose = few_found().arranged.solids[number].pose
    moved = after_move(site, load, few_found(), TUBE, Pose(pose.turn, pose.shift_m + np.array([0.0, 0.0, 0.02])))
    was, now = body_documents(few_found()), body_documents(moved)
    differ = {at: one for at, one in enumerate(now) if one != was[at]}
    assert number in differ
    assert changed_bodies(few_found(), moved) == differ
    assert changed_bodies(moved, moved) == {}


def test_a_piece_pushed_into_an_arm_is_told_with_its_share_before() -> None:
    site, load = drawn_load()
    kept = KeptReach({})
    kept._found[load.id, ()] = few_found()
    body = few_found().arranged.number_of[TUBE]
    moves = read_moves([f"{body}:0,0,150,0,0,0"])
    told = {one.body: one for one in tried_pieces(few_found(), kept.of(site, load, moves), moves)}
    assert told[body].moved
    assert ("sweep of an arm" in [rule for rule, _ in told[body].new_faults]) == bool(told[body].new_faults)
    assert told[body].new_faults
    assert told[body].share_before is not None
    (other,) = (one for one in told.values() if one.body != body)
    assert not other.moved
    assert (other.new_faults, other.gaps) == ((), ())


def test_a_piece_moved_out_of_the_chamber_is_told_by_how_much() -> None:
    site, load = drawn_load()
    kept = KeptReach({})
    kept._found[load.id, ()] = few_found()
    body = few_found().arranged.number_of[TUBE]
    right = 1000 * few_found().arranged.solids[body].in_carrier.bounds_m[1, 0]
    across = math.floor(660 - right)
    moves = read_moves([f"{body}:{across},0,0,0,0,0"])
    told = {one.body: one for one in tried_pieces(few_found(), kept.of(site, load, moves), moves)}
    (words,) = (words for rule, words in told[body].new_faults if rule == "out of the chamber")
    (out,) = re.findall(r"^reaches (\d+) mm out of the chamber \(right\)$", words)
    assert float(out) == pytest.approx(right + across - 640, abs=0.51)  # the demo's chamber ends at 640 mm there
