"""The second level: the cheapest matching, hoses that reach over, and what happens when they are in the way."""

from __future__ import annotations

from dataclasses import replace

import pytest

from patency.catalogue import Department, Lumen, Place
from patency.plan import NoJudge, check_plan, plan_day
from patency.plan.arranging import arrange
from patency.plan.arranging_table import Table
from patency.plan.arranging_whole import arrange_whole, cannot_be_arranged
from patency.plan.filling import Filled, fill
from patency.plan.limits_in_force import on_day
from patency.plan.posing import Posed, pose
from patency.plan.search.greedy import left_over, quick_plan
from patency.plan.search.integer import Budget
from patency.plan.search.levels import search
from patency.plan.search.problem import Cut
from patency.plan.walk import feed_length_m
from tests.plan.larkmere import day_of, larkmere
from tests.small_site import small_department

CENTRE, NORTH, EAST, WEST = (300.0, 300.0), (300.0, 500.0), (473.0, 200.0), (127.0, 200.0)


def budget() -> Budget:
    return Budget(work=60)


def star(pieces: dict[str, int]) -> Department:
    """A carrier with four hoses in a star, and forceps with two flush ports: only the middle reaches the others.

    The tips are 200 mm from the middle and 346 mm from each other; the hoses are 250 mm long.
    """
    base = small_department()
    wren = base.carriers["Wren"]
    pattern = wren.ports["H1"]
    assert pattern.hose is not None
    hose = pattern.hose.model_copy(update={"length_m": pattern.hose.length_m.__class__(0.25)})
    ports = {key: port for key, port in wren.ports.items() if port.kind != "hose"}
    for key, (x, y) in zip(("H1", "H2", "H3", "H4"), (NORTH, CENTRE, EAST, WEST), strict=True):
        at = Place(x_m=f"{x} mm", y_m=f"{y} mm", z_m="80 mm")  # type: ignore[arg-type]
        ports[key] = pattern.model_copy(update={"at": at, "hose": hose})
    whole = base.instruments["fix5"].pieces["whole"]
    tip = Lumen.model_validate(
        {
            "fed_by": "connection",
            "inlet": {"family": "luer", "gender": "female"},
            "segments": [{"shape": "bore", "bore": "2 mm", "length": "300 mm"}],
        }
    )
    forceps = base.instruments["fix5"].model_copy(
        update={"pieces": {"whole": whole.model_copy(update={"lumens": {**whole.lumens, "tip": tip}})}}
    )
    day = day_of(base)
    pattern_set, waiting = base.sets["Noon"], day.waiting[1].model_copy(update={"washed_by": None})
    return base.model_copy(
        update={
            "carriers": {"Wren": wren.model_copy(update={"ports": ports})},
            "instruments": {**base.instruments, "fix5": forceps},
            "sets": {key: pattern_set.model_copy(update={"contents": {"fix5": n}}) for key, n in pieces.items()},
            "day": day.model_copy(update={"waiting": [waiting.model_copy(update={"set": key}) for key in pieces]}),
            "accessories": {
                key: one.model_copy(update={"stock": 9}) if "stock" in type(one).model_fields else one
                for key, one in base.accessories.items()
            },
        }
    )


def posed(department: Department) -> Posed:
    day = day_of(department)
    return pose(on_day(department, day.date), day)


def test_two_pieces_that_both_need_the_middle_get_a_load_each_and_that_is_proven() -> None:
    department = star({"A": 1, "B": 1})
    plan = plan_day(department, judge=NoJudge())
    assert sorted(load.sets for load in plan.loads) == [("A",), ("B",)]
    assert (plan.loads_at_least, plan.proven_fewest) == (2, True)
    for load in plan.loads:
        (forceps,) = load.pieces
        assert "H2" in {connection.port for connection in forceps.lumens}
    assert [one for one in check_plan(plan, department, day_of(department)) if one.rule != "fed"] == []


def test_a_set_with_two_such_pieces_is_left_out_with_the_reason() -> None:
    plan = plan_day(star({"A": 1, "B": 2}), judge=NoJudge())
    assert [load.sets for load in plan.loads] == [("A",)]
    (left,) = plan.left_out
    assert left.set == "B"
    assert "B find no ports together on Wren" in left.why
    assert plan.proven_fewest


def test_what_cannot_be_arranged_comes_back_as_a_cut() -> None:
    one = posed(star({"A": 1, "B": 1}))
    (run,) = quick_plan(one.problem)
    cut = fill(one, (run,), budget())
    assert cut == Cut("Wren", frozenset({"A", "B"}))
    assert cannot_be_arranged(one, run, budget())
    again = replace(one, problem=replace(one.problem, cuts=(Cut("Wren", frozenset({"A", "B"})),)))
    assert len(search(again.problem, budget()).runs) == 2


@pytest.mark.slow
def test_the_quick_matching_costs_as_little_as_the_model_of_the_whole_load() -> None:
    one = posed(larkmere())
    runs = search(one.problem, budget()).runs
    tried = 0
    for run in runs:
        table = Table(one, run, left_over(one.problem, [other for other in runs if other is not run], run), {})
        quick, whole = arrange(table), arrange_whole(table, budget())
        assert whole is not None
        cost = sum(fed.option.cost for fed in whole.joints.values())
        assert cost == run.cost
        assert set(whole.joints) == set(table.joints)
        if quick is not None:
            tried += 1
            assert sum(fed.option.cost for fed in quick.joints.values()) == cost
            ports = [fed.port for fed in quick.joints.values()]
            assert len(ports) == len(set(ports))
            assert sorted([*ports, *quick.caps, *quick.open]) == sorted(table.carrier.ports)
    assert tried >= 2


@pytest.mark.slow
def test_filling_keeps_what_the_search_counted() -> None:
    one = posed(larkmere())
    runs = search(one.problem, budget()).runs
    filled = fill(one, runs, budget())
    assert isinstance(filled, Filled)
    assert [run.cost for run in filled.runs] == [run.cost for run in runs]
    assert [run.sets for run in filled.runs] == [run.sets for run in runs]
    for run, load in zip(filled.runs, filled.loads, strict=True):
        assert sum(run.closed.values()) == len(load.capped_ports)
        chains = [link for piece in load.pieces for connection in piece.lumens for link in connection.chain]
        caps = [capped.cap for capped in load.capped_ports]
        counted = {key: number for key, number in run.used.items() if key in {*chains, *caps}}
        assert counted == {key: [*chains, *caps].count(key) for key in {*chains, *caps}}


def test_the_length_of_pipe_to_a_port_goes_back_to_the_dock() -> None:
    """H1 of the small carrier: 50 mm along its rail, which leaves the riser at 100 mm, after 300 mm of inlet."""
    wren = small_department().carriers["Wren"]
    assert feed_length_m(wren, "H1") == pytest.approx(0.050 + 0.100 + 0.300)
    assert feed_length_m(wren, "N1") == pytest.approx(0.200 + 0.300)
