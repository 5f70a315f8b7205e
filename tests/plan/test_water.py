"""What the flow says of a load goes back into the search, until every lumen is fed or it is shown that it cannot be."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import pytest

from patency.errors import PhysicsError
from patency.flow import fed, flow_of_load
from patency.load import Figure, Question, Reply
from patency.plan import FlowJudge, NoJudge, Verdict, check_plan, plan_day
from patency.plan.planner import MARGIN
from patency.plan.thirst import better
from patency.plan.water import margin_of
from patency.quantities import Answer, Limit
from tests.plan.larkmere import day_of
from tests.small_plan import SMALL_PLAN
from tests.small_site import SMALL_SITE, small_department

if TYPE_CHECKING:
    from collections.abc import Callable

    from patency.load import Load, PlacedPiece

SMALL = small_department(SMALL_SITE)
DAY = day_of(SMALL)


@dataclass(frozen=True)
class Told:
    """A judge that says what a rule tells it."""

    short: Callable[[Load, PlacedPiece], str]
    margin: Callable[[PlacedPiece], float] = lambda _: 2.0
    holds_in_company: bool = True

    def thoroughly(self, load: Load) -> Verdict:
        lumens = [piece for piece in load.pieces if piece.lumens]
        found = {(piece.set, piece.piece): self.short(load, piece) for piece in lumens}
        margins = {(piece.set, piece.piece): self.margin(piece) for piece in lumens}
        return Verdict({key: why for key, why in found.items() if why}, margins)

    def quickly(self, load: Load) -> Verdict:
        return self.thoroughly(load)


def test_what_starves_in_company_gets_a_load_of_its_own_and_nothing_is_claimed_of_that() -> None:
    """One load would do; the forceps gets enough only beside two other lumens."""
    judge = Told(lambda load, p: "too little" if "fix5" in p.piece and lumens_of(load) > 3 else "")
    plan = plan_day(SMALL, judge=judge)
    assert [load.sets for load in plan.loads] == [("Morning",), ("Noon",)]
    assert (plan.loads_at_least, plan.proven_fewest) == (1, False)
    assert plan.left_out == ()
    assert plan.conflicts == ()
    assert [one for one in check_plan(plan, SMALL, DAY) if one.rule != "fed"] == []


def lumens_of(load: Load) -> int:
    return sum(len(piece.lumens) for piece in load.pieces)


def test_what_starves_even_alone_leaves_its_set_out_and_only_that() -> None:
    judge = Told(lambda _, p: "shaft: 3 mL/min, limit 50 mL/min" if p.set == "Morning" and "fix5" in p.piece else "")
    plan = plan_day(SMALL, judge=judge)
    assert [load.sets for load in plan.loads] == [("Noon",)]
    (left,) = plan.left_out
    assert left.set == "Morning"
    assert "fix5/1/whole, shaft: shaft: 3 mL/min, limit 50 mL/min (at ports H1 of Wren, gentle)" in left.why
    assert plan.conflicts
    assert plan.proven_fewest


def test_a_lumen_starves_at_one_nozzle_only_so_it_takes_the_other() -> None:
    def at_first(load: Load, piece: PlacedPiece) -> str:
        return "too little" if len(load.sets) == 1 and piece.set == "Noon" and piece.position == "N1" else ""

    texts = {**SMALL_SITE, "equipment.yaml": SMALL_SITE["equipment.yaml"].replace("along: 280 mm", "along: 281 mm")}
    plan = plan_day(small_department(texts), judge=Told(at_first))
    assert plan.conflicts == ()
    assert len(plan.loads) == 1


def test_the_weakest_lumen_moves_nearer_to_the_feed() -> None:
    margins = {"H1": 3.0, "H2": 2.0, "H3": 1.2}
    judge = Told(lambda _, __: "", lambda p: margins[p.position] if p.set == "Noon" and "fix5" in p.piece else 5.0)
    plan = plan_day(SMALL, judge=judge)
    (load,) = plan.loads
    assert {p.piece: p.position for p in load.pieces if p.set == "Noon"}["fix5/1/whole"] == "H1"
    assert plan.objective[MARGIN] == pytest.approx(3.0)


def test_no_margin_is_named_where_nothing_has_a_limit() -> None:
    assert MARGIN not in plan_day(SMALL, judge=NoJudge()).objective


def test_the_flow_judge_says_what_the_answer_fed_says() -> None:
    (load,) = SMALL_PLAN.loads
    replies = fed(SMALL, load, flow_of_load(SMALL, load), DAY.date)
    verdict = FlowJudge(SMALL, DAY.date).thoroughly(load)
    assert verdict.short == {key: reply.why for key, reply in replies.items() if reply.answer is Answer.NO}
    assert set(verdict.margins) == {key for key, reply in replies.items() if margin_of(reply) is not None}
    quick = FlowJudge(SMALL, DAY.date).quickly(load)
    assert quick.weakest is not None
    assert verdict.weakest is not None
    assert quick.weakest >= verdict.weakest  # nominal sizes are kinder than the lower ends


def test_a_pump_beyond_its_curve_feeds_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    def beyond(*_: object) -> None:
        raise PhysicsError("pump", "beyond its run-out")

    monkeypatch.setattr("patency.plan.water.flow_of_load", beyond)
    monkeypatch.setattr("patency.plan.water.nominal_flow_of_load", beyond)
    (load,) = SMALL_PLAN.loads
    for verdict in (FlowJudge(SMALL, DAY.date).thoroughly(load), FlowJudge(SMALL, DAY.date).quickly(load)):
        assert set(verdict.short) == {(p.set, p.piece) for p in load.pieces if p.lumens}
        assert set(verdict.short.values()) == {"pump: beyond its run-out"}


def test_a_margin_is_the_weakest_ratio_at_the_unfavourable_end() -> None:
    limit = Limit(2.0, "1", "invented")
    reply = Reply(
        Question.FED,
        Answer.YES,
        "",
        (
            Figure("flow", 6.0, "1", 5.0, 7.0, limit),
            Figure("highest pressure at the connection", 1.0, "1", 0.5, 1.6, limit),
            Figure("Reynolds number", 1.0, "1"),
            Figure("velocity", 9.0, "1", limit=limit),
        ),
    )
    assert margin_of(reply) == pytest.approx(1.25)  # 2.0 / 1.6, less than 5.0 / 2.0
    assert margin_of(Reply(Question.FED, Answer.YES, "")) is None
    still = Figure("highest pressure at the connection", 0.0, "1", limit=limit)
    assert margin_of(Reply(Question.FED, Answer.YES, "", (still,))) is None


def test_fewer_lumens_short_beat_any_margin() -> None:
    key = ("S", "p")
    assert better(Verdict({}, {key: 1.0}), Verdict({key: "short"}, {key: 9.0}))
    assert better(Verdict({}, {key: 2.0}), Verdict({}, {key: 1.0}))
    assert not better(Verdict({}, {key: 1.0}), Verdict({}, {key: 1.0}))
