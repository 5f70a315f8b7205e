"""Planning at size, in small: what ``benchmarks/plan_scale.py`` measures, without the clock."""

from __future__ import annotations

import numpy as np
import pytest

from benchmarks.plan_scale import Size, line, measure
from benchmarks.realistic_department import count_pieces, realistic_department
from patency.plan import NoJudge, check_plan, plan_day
from tests.plan.larkmere import day_of


@pytest.mark.slow
def test_a_drawn_department_has_the_size_asked_for_and_is_planned_with_proof() -> None:
    size = Size(sets=8, pieces=140, carriers=2, limit_s=60.0)
    department = realistic_department(np.random.default_rng(3), size.sets, size.pieces, size.carriers)
    assert count_pieces(department) == 140
    assert len(department.sets) == len(day_of(department).waiting) == 8
    assert department == realistic_department(np.random.default_rng(3), size.sets, size.pieces, size.carriers)
    outcome = measure(department, size.limit_s, with_flow=False)
    assert outcome.proven
    assert outcome.gap == 0.0
    assert (outcome.left_out, outcome.loads) <= (outcome.greedy_left_out, outcome.greedy)
    assert line(size, 3, outcome).startswith("8 sets, 140 pieces, 2 carriers, seed 3: first plan ")


@pytest.mark.slow
def test_the_plan_of_a_drawn_department_keeps_every_rule() -> None:
    department = realistic_department(np.random.default_rng(5), 6, 110, 2)
    plan = plan_day(department, judge=NoJudge())
    assert plan.proven_fewest
    assert [one for one in check_plan(plan, department, day_of(department)) if one.rule != "fed"] == []
