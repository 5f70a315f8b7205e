"""The demo day: four loads, proven fewest; the visiting set refused; every rule kept; the same each time."""

from __future__ import annotations

from collections import Counter
from datetime import timedelta
from itertools import pairwise

import pytest

from patency.catalogue import Placing
from patency.flow import fed, flow_of_load
from patency.load import Question, pieces_of_set
from patency.plan import NoJudge, check_plan, plan_day, programmes_for, six_answers
from patency.plan.planner import MARGIN
from patency.plan.search.problem import OBJECTIVES
from patency.quantities import Answer
from patency.reach import held, reached
from tests.plan.larkmere import day_of, dry_plan, larkmere, larkmere_plan

DEPARTMENT = larkmere()
DAY = day_of(DEPARTMENT)


@pytest.mark.slow
def test_ten_sets_take_four_loads_and_no_plan_has_fewer() -> None:
    """82 hoses: three loads have at most 3 × 24 = 72."""
    plan = larkmere_plan()
    assert (len(plan.loads), plan.loads_at_least, plan.proven_fewest) == (4, 4, True)
    assert Counter(load.carrier for load in plan.loads) == {"Lapwing": 3, "Dunlin": 1}
    assert plan.conflicts == ()
    assert [(left.set, left.why) for left in plan.left_out] == [
        ("Visiting Wrist", f"on hold: {DEPARTMENT.sets['Visiting Wrist'].hold}")
    ]
    assert plan.bound == {name: plan.objective[name] for name in OBJECTIVES}
    assert plan.objective[MARGIN] > 1.0


@pytest.mark.slow
def test_the_second_check_finds_nothing_against_the_plan() -> None:
    assert check_plan(larkmere_plan(), DEPARTMENT, DAY) == []


@pytest.mark.slow
def test_every_piece_of_every_planned_set_is_placed_once_with_every_lumen_connected() -> None:
    placed = Counter((p.set, p.piece) for load in larkmere_plan().loads for p in load.pieces)
    expected = {(name, piece.key) for name in DEPARTMENT.sets for piece in pieces_of_set(DEPARTMENT, name)}
    expected -= {key for key in expected if key[0] == "Visiting Wrist"}
    assert placed == Counter(expected)
    lumens = {
        (p.set, p.piece): {connection.lumen for connection in p.lumens}
        for load in larkmere_plan().loads
        for p in load.pieces
    }
    for name in DEPARTMENT.sets:
        for piece in pieces_of_set(DEPARTMENT, name):
            if (name, piece.key) in lumens:
                assert lumens[name, piece.key] == set(piece.lumens)


@pytest.mark.slow
def test_the_six_answers_of_the_plan_are_yes_but_for_the_jets() -> None:
    for load in larkmere_plan().loads:
        answers = six_answers(
            DEPARTMENT,
            load,
            DAY.date,
            fed=fed(DEPARTMENT, load, flow_of_load(DEPARTMENT, load), DAY.date),
            held=held(DEPARTMENT, load),
            reached=reached(DEPARTMENT, load),
        )
        assert [(one.set, one.piece) for one in answers] == [(p.set, p.piece) for p in load.pieces]
        for one in answers:
            assert list(one.replies) == list(Question)
            said = {question: reply.answer for question, reply in one.replies.items()}
            assert said.pop(Question.REACHED) is not Answer.NO
            assert set(said.values()) == {Answer.YES}, (one.set, one.piece, one.replies)


@pytest.mark.slow
def test_sets_that_share_a_load_come_as_early_as_they_can() -> None:
    """Each load starts when the last of its sets is ready, or when its carrier or a machine is free again."""
    loads = larkmere_plan().loads
    for load in loads:
        ready = max(
            item.back_at + timedelta(seconds=DEPARTMENT.sets[item.set].soiled_side_s or 0)
            for item in DAY.waiting
            if item.set in load.sets
        )
        backs = [
            one.ends + timedelta(seconds=DEPARTMENT.carriers[one.carrier].back_after_unload_s)
            for one in loads
            if one.ends <= load.starts
        ]
        assert load.starts == ready or load.starts in backs


@pytest.mark.slow
def test_pieces_of_a_set_that_are_equal_stand_in_the_order_of_the_walk() -> None:
    for load in dry_plan()[0].loads:
        rank = {port: position for position, port in enumerate(DEPARTMENT.carriers[load.carrier].ports)}
        walks: dict[tuple[str, str, str], list[int]] = {}
        for piece in load.pieces:
            if piece.placing is Placing.PORT and len(piece.lumens) == 1:
                instrument, number, part = piece.piece.split("/")[:3]
                walks.setdefault((piece.set, instrument, part), []).append((int(number), rank[piece.position])[1])
        assert all(walk == sorted(walk) for walk in walks.values())


@pytest.mark.slow
def test_the_same_day_gives_the_same_plan_and_tells_of_it_on_the_way() -> None:
    plan, told = dry_plan()
    assert plan_day(DEPARTMENT, judge=NoJudge()) == plan
    assert told[0].plan is not None
    assert len(told[0].plan.loads) >= len(plan.loads)
    assert told[-1].plan == plan
    assert told[-1].stage == "done"
    objectives = [[one.objective[name] for name in OBJECTIVES] for one in told if one.plan is None]
    assert all(later <= earlier for earlier, later in pairwise(objectives))


def test_an_excluded_programme_becomes_legal_without_the_instruments_named() -> None:
    """What is named is the reason: taken away, nothing speaks against the programme any more."""
    tried = 0
    for name in DEPARTMENT.sets:
        choice = programmes_for(DEPARTMENT, [name], DAY.date)
        if choice.unfit:
            continue
        for programme in {exclusion.programme for exclusion in choice.excluded}:
            named = {e.instrument.partition("/")[0] for e in choice.excluded if e.programme == programme}
            rest = {key: n for key, n in DEPARTMENT.sets[name].contents.items() if key not in named}
            if rest:
                sets = {**DEPARTMENT.sets, name: DEPARTMENT.sets[name].model_copy(update={"contents": rest})}
                fewer = DEPARTMENT.model_copy(update={"sets": sets})
                assert programme in programmes_for(fewer, [name], DAY.date).allowed
                tried += 1
    assert tried > 5


def test_sets_that_share_a_load_share_what_both_allow() -> None:
    one = set(programmes_for(DEPARTMENT, ["Groin Repair"], DAY.date).allowed)
    other = set(programmes_for(DEPARTMENT, ["Knee Scope"], DAY.date).allowed)
    assert set(programmes_for(DEPARTMENT, ["Groin Repair", "Knee Scope"], DAY.date).allowed) == one & other


def test_the_visiting_sets_instruments_have_no_usable_instructions() -> None:
    choice = programmes_for(DEPARTMENT, ["Visiting Wrist"], DAY.date)
    assert choice.allowed == ()
    assert choice.unfit
    assert choice.why_none.startswith("no programme is allowed: wrist")
