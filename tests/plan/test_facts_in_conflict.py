"""Where two sets have to share the only load of a short shift, the facts that forbid it are named, and only those."""

from __future__ import annotations

import pytest

from patency.load import Load, Plan
from patency.plan import NoJudge, Verdict, plan_day
from tests.small_site import SMALL_SITE, changed, small_department

# Noon is ready at 12:23 and a cycle takes an hour: only one load that starts then takes both sets.
SHORT = changed(SMALL_SITE, "shift_ends: 2026-03-02T21:30", "shift_ends: 2026-03-02T13:25")


def plan(was: str = "", now: str = "") -> Plan:
    return plan_day(small_department(changed(SHORT, was, now) if was else SHORT), judge=NoJudge())


def test_both_sets_share_the_only_load_of_the_shift() -> None:
    found = plan()
    assert found.left_out == ()
    assert [load.sets for load in found.loads] in ([("Morning", "Noon")], [("Noon", "Morning")])


@pytest.mark.parametrize(
    ("was", "now", "said"),
    [
        ("mass_limit: 12 kg", "mass_limit: 800 g", "Wren carries at most 0.8 kg"),
        (
            "    name: injector nozzle 6 mm\n    stock: 2",
            "    name: injector nozzle 6 mm\n    stock: 1",
            "1 × injector nozzle 6 mm in stock, these sets need 2",
        ),
        (
            "    contents: {sleeve11: 1, fix5: 1}\n    basket_areas: 1\n    soiled_side: 8 min",
            "    contents: {sleeve11: 1, fix5: 2}\n    basket_areas: 1\n    soiled_side: 8 min",
            "hose ports on Wren: 3",
        ),
    ],
)
def test_the_fact_that_keeps_them_apart_is_named(was: str, now: str, said: str) -> None:
    found = plan(was, now)
    assert found.left_out
    told = " | ".join([*found.conflicts, *(left.why for left in found.left_out)])
    assert said in told, told


def test_what_the_time_has_to_do_with_it_is_told_as_facts_too() -> None:
    found = plan("mass_limit: 12 kg", "mass_limit: 800 g")
    told = " | ".join(found.conflicts)
    assert "the shift ends at 13:25" in told
    assert "has to be washed" in told


class Crowded:
    """Says that the forceps of Morning gets too little as soon as another set shares the load."""

    holds_in_company = True

    def thoroughly(self, load: Load) -> Verdict:
        sets = {piece.set for piece in load.pieces}
        short = {("Morning", "fix5/1/whole"): "shaft: too little"} if len(sets) > 1 else {}
        return Verdict({key: why for key, why in short.items() if key[0] in sets}, {})

    def quickly(self, load: Load) -> Verdict:
        return self.thoroughly(load)


def test_sets_that_starve_each_other_are_planned_apart() -> None:
    found = plan_day(small_department(), judge=Crowded())
    assert sorted(load.sets for load in found.loads) == [("Morning",), ("Noon",)]
    assert found.left_out == ()


def test_in_a_shift_for_one_load_the_water_is_part_of_the_conflict() -> None:
    found = plan_day(small_department(SHORT), judge=Crowded())
    told = " | ".join([*found.conflicts, *(left.why for left in found.left_out)])
    assert found.left_out
    assert "too little" in told, told
