"""Which pieces are inspected: by risk, never below the floor, and better than by lot."""

from __future__ import annotations

import json
from datetime import date

import numpy as np
import pytest

from patency.errors import InputErrors
from patency.evidence import inspection_document, plan_inspection, read_inspection
from patency.evidence.statistics.inspection import InspectionDay, soiled_chance

PIECES = "".join(
    f"  - {{piece: {family}-{number:02}, family: {family}, weak_lumen: {weak}, blind_spot: false}}\n"
    for family in ("grasper", "trocar")
    for number, weak in enumerate(["true"] + ["false"] * 19, start=1)
)
TEXT = f"""\
format: patency-inspection/1
floor: {{share: 0.1, least: 1, source: "site policy 4, invented"}}
budget: 6
sensitivity: 0.8
weak_lumen: {{factor: 3, source: own estimate}}
blind_spot: {{factor: 2, source: own estimate}}
histories:
  grasper: {{inspected: 399, found: 3}}
  trocar: {{inspected: 99, found: 9}}
pieces:
{PIECES}"""


def day(**changes: object) -> InspectionDay:
    return read_inspection(TEXT).model_copy(update=changes)


def test_the_floor_of_every_family_holds_and_the_rest_goes_to_the_likeliest() -> None:
    plan = plan_inspection(day())
    assert plan.floors == {"grasper": 2, "trocar": 2}
    families = [one.family for one in plan.chosen]
    assert (families.count("grasper"), families.count("trocar"), plan.beyond_budget) == (2, 4, 0)
    assert plan.chosen[0].piece == "trocar-01"
    assert plan.chosen[0].chance == pytest.approx(3 * 9.5 / 100)
    assert "grasper-01" in {one.piece for one in plan.chosen}
    assert plan.seen_if_one_is_soiled == {"grasper": pytest.approx(0.08), "trocar": pytest.approx(0.16)}
    assert json.loads(json.dumps(inspection_document(plan)))["expected_findings"] == pytest.approx(
        0.8 * sum(one.chance for one in plan.chosen)
    )


@pytest.mark.parametrize("budget", range(12))
def test_a_small_budget_never_lowers_the_floor(budget: int) -> None:
    plan = plan_inspection(day(budget=budget))
    for family, floor in plan.floors.items():
        assert sum(one.family == family for one in plan.chosen) >= floor
    assert len(plan.chosen) == max(budget, 4)
    assert plan.beyond_budget == max(0, 4 - budget)


def test_what_is_not_known_counts_as_the_worst() -> None:
    known = day()
    piece = known.pieces[5]
    unknown = type(piece)(piece="x", family="grasper")
    assert soiled_chance(known, unknown) == pytest.approx(6 * soiled_chance(known, piece))
    assert soiled_chance(known, type(piece)(piece="x", family="never seen")) == 1.0


def test_among_equals_the_one_inspected_longest_ago_comes_first() -> None:
    seen = {"trocar-07": date(2026, 1, 1)}
    pieces = [one.model_copy(update={"last_inspected": seen.get(one.piece, date(2026, 2, 1))}) for one in day().pieces]
    plan = plan_inspection(day(pieces=pieces, budget=4))
    assert [one.piece for one in plan.chosen if one.family == "trocar"] == ["trocar-01", "trocar-07"]


def test_more_soiled_pieces_are_found_per_inspection_than_by_lot() -> None:
    chance = np.random.default_rng(3)
    known = day()
    chances = np.array([soiled_chance(known, piece) for piece in known.pieces])
    names = [piece.piece for piece in known.pieces]
    chosen = [names.index(one.piece) for one in plan_inspection(known).chosen]
    by_risk = by_lot = 0
    for _ in range(2000):
        soiled = chance.random(chances.size) < chances
        by_risk += int(soiled[chosen].sum())
        by_lot += int(soiled[chance.choice(chances.size, len(chosen), replace=False)].sum())
    assert by_risk > 1.5 * by_lot
    assert by_risk * 0.8 / 2000 == pytest.approx(plan_inspection(known).expected_findings, rel=0.15)


@pytest.mark.parametrize(
    ("was", "now", "says"),
    [
        ("found: 3}", "found: 400}", "i.yaml:8: histories.grasper: found 400 of 399"),
        ("piece: trocar-02", "piece: trocar-01", "i.yaml:1: piece 'trocar-01' twice"),
        ("budget: 6", "budget: -1", "i.yaml:3: budget: "),
        ("sensitivity: 0.8", "sensitivity: 0", "i.yaml:4: sensitivity: "),
    ],
)
def test_a_bad_statement_is_refused_with_its_line(was: str, now: str, says: str) -> None:
    with pytest.raises(InputErrors) as refused:
        read_inspection(TEXT.replace(was, now, 1), "i.yaml")
    assert refused.value.faults[0].line.startswith(says)
