"""A department's day in whole numbers, the reasons for which sets never come so far, and conflicts in words."""

from __future__ import annotations

from datetime import timedelta

import pytest

from patency.catalogue import Department
from patency.plan import NoJudge, plan_day
from patency.plan.conflict_words import in_words, least_places, least_use
from patency.plan.limits_in_force import on_day
from patency.plan.posing import Posed, caps_for, machine_classes, pose
from patency.plan.search.conflict import Conflict
from patency.plan.search.problem import Cut, minutes_up
from tests.plan.larkmere import day_of, larkmere
from tests.small_site import SMALL_SITE, changed, small_department

SMALL = small_department()


def posed(department: Department) -> Posed:
    day = day_of(department)
    return pose(on_day(department, day.date), day)


def whys(department: Department) -> dict[str, str]:
    return {left.set: left.why for left in posed(department).left_out}


def test_times_count_in_whole_minutes_from_the_start_of_the_shift_on_the_careful_side() -> None:
    """Morning: back 30 min after the shift began, 15 min of work; Noon: 75 and 8 min, due after 300 min."""
    problem = posed(SMALL).problem
    assert {name: case.ready_min for name, case in problem.sets.items()} == {"Morning": 45, "Noon": 83}
    assert problem.sets["Noon"].due_min == 300
    assert problem.horizon_min == 630
    assert minutes_up(61.0) == 2
    assert minutes_up(60.0000000001) == 1


def test_equal_ports_are_counted_as_one_group_and_masses_in_grams() -> None:
    one = posed(SMALL)
    wren = one.problem.carriers["Wren"]
    assert {key: places.size for key, places in wren.places.items()} == {
        "ports N1": 2,
        "ports H1": 3,
        "ports T1": 1,
        "coil places C1": 1,
        "basket areas B1": 1,
        "basket areas B2": 1,
    }
    assert wren.places["ports H1"].caps == ("hose_cap",)
    assert wren.mass_limit_g == 12000
    assert one.problem.sets["Noon"].mass_g == 60 + 2 + 140


@pytest.mark.slow
def test_the_demo_department_demands_what_its_scenario_counts() -> None:
    """Sums over the ten sets: 82 hoses, 37 nozzles, 3 tapers, 22 coils, 18 basket areas, 29 flushing sleeves."""
    one = posed(larkmere())
    lapwing = one.problem.carriers["Lapwing"]
    kinds = {"hose": 0, "nozzle": 0, "taper": 0, "coil": 0, "basket": 0}
    sleeves = 0
    for case in one.problem.sets.values():
        for demand, number in case.needs.items():
            way = lapwing.ways[demand][0]
            words = lapwing.places[way.place].words if way.place else ""
            for kind in kinds:
                kinds[kind] += number * words.startswith(kind)
            sleeves += number * dict(way.uses).get("flushing_sleeve_m", 0)
    assert kinds == {"hose": 82, "nozzle": 37, "taper": 3, "coil": 22, "basket": 18}
    assert sleeves == 29


def test_machines_that_are_alike_are_one_class_and_those_that_dock_nothing_none() -> None:
    alpha = SMALL.machines["Alpha"]
    machines = {"Alpha": alpha, "Beta": alpha, "Gamma": alpha.model_copy(update={"docks": []})}
    (one,) = machine_classes(SMALL.model_copy(update={"machines": machines}))
    assert one.names == ("Alpha", "Beta")


def test_a_port_is_closed_by_what_joins_it_the_willingly_used_first() -> None:
    cap = SMALL.accessories["hose_cap"]
    more = {"other": cap.model_copy(update={"rank": 0}), "hose_cap": cap.model_copy(update={"rank": 1})}
    department = SMALL.model_copy(update={"accessories": {**SMALL.accessories, **more}})
    assert caps_for(department, SMALL.carriers["Wren"].ports["H1"]) == ("other", "hose_cap")


def test_a_set_that_stands_twice_is_planned_once_and_told() -> None:
    day = day_of(SMALL)
    twice = day.model_copy(update={"waiting": [*day.waiting, day.waiting[0]]})
    one = pose(SMALL, twice)
    assert [left.why for left in one.left_out] == ["it stands twice among the sets that wait"]
    assert set(one.problem.sets) == {"Morning", "Noon"}


@pytest.mark.parametrize(
    ("was", "now", "name", "said"),
    [
        ("    soiled_side: 8 min\n", "", "Noon", "minutes on the soiled side are not stated"),
        (
            "        mass: 250 g\n",
            "",
            "Morning",
            "the mass of optic/1/optic is not known, and Wren may carry only so much",
        ),
        ("        least_bend_radius: 40 mm\n", "", "Morning", "cable/cable (cable): no carrier has a place for it"),
        ("programmes: {gentle: 60 min}", "programmes: {}", "Noon", "no machine that docks Wren offers a programme"),
        ("        reach: 540 mm\n", "        reach: 300 mm\n", "Noon", "it would join but finds no room: takes 490 mm"),
        (
            "sleeve11: 1, mod5: 1, fix5: 1, cable: 1, optic: 1}\n    basket_areas: 1",
            "mod5: 1}\n    basket_areas: 0",
            "Morning",
            "which takes no basket area",
        ),
    ],
)
def test_what_keeps_a_set_from_ever_being_planned_is_told(was: str, now: str, name: str, said: str) -> None:
    assert said in whys(small_department(changed(SMALL_SITE, was, now)))[name]


def test_a_set_no_single_carrier_takes_whole_says_what_each_lacks() -> None:
    wren = SMALL.carriers["Wren"]
    hoses = {key: port for key, port in wren.ports.items() if port.kind == "hose"}
    nozzles = {key: port for key, port in wren.ports.items() if port.kind == "nozzle"}
    carriers = {
        "Hoses": wren.model_copy(update={"ports": hoses}),
        "Nozzles": wren.model_copy(update={"ports": nozzles}),
    }
    alpha = SMALL.machines["Alpha"].model_copy(update={"docks": list(carriers)})
    department = SMALL.model_copy(update={"carriers": carriers, "machines": {"Alpha": alpha}})
    why = whys(department)["Noon"]
    assert why.startswith("no single carrier takes all of it: Hoses does not take sleeve11/sleeve/bore (sleeve)")
    assert "Nozzles does not take fix5/whole/shaft (forceps)" in why


def test_every_kind_of_fact_has_its_words() -> None:
    one = posed(SMALL)
    cut = Cut("Wren", frozenset({"Noon"}))
    problem = one.problem.__class__(
        one.problem.sets, one.problem.carriers, one.problem.machines, one.problem.stock, one.problem.horizon_min, (cut,)
    )
    one = one.__class__(one.department, one.day, problem, one.table, one.demands, one.pieces, one.left_out)
    facts = (
        ("set", "Morning"),
        ("set", "Noon"),
        ("shift",),
        ("stock", "nozzle_6"),
        ("places", "Wren", "hose ports"),
        ("mass", "Wren"),
        ("ready", "Noon"),
        ("carrier", "Wren"),
        ("machines", "0"),
        ("water", "0"),
    )
    assert in_words(one, Conflict(facts, minimal=True), {cut: "Noon starves"}) == [
        "the shift ends at 21:30",
        "2 × injector nozzle 6 mm in stock, these sets need 2",
        "hose ports on Wren: 3",
        "Wren carries at most 12 kg",
        "Noon is ready at 12:23",
        "Wren makes one run at a time and can be loaded again 10 min after each",
        "Alpha runs one load at a time",
        "Noon starves",
        "Morning has to be washed and needs 1 × injector nozzle 6 mm, 2 of the hose ports, 0.737 kg",
        "Noon has to be washed and needs 1 × injector nozzle 6 mm, 1 of the hose ports, 0.202 kg",
    ]
    assert least_use(one, "Noon", "sleeve_5") == 0
    assert least_places(one, "Noon", "Wren", "coil places") == 0


def test_a_day_without_room_for_all_names_time_carrier_and_sets() -> None:
    """Two loads of an hour each do not fit into what is left of the day; one load does not hold three sleeves."""
    texts = changed(SMALL_SITE, "shift_ends: 2026-03-02T21:30", "shift_ends: 2026-03-02T13:30")
    texts = changed(texts, "contents: {sleeve11: 1, fix5: 1}", "contents: {sleeve11: 2, fix5: 1}")
    texts = changed(texts, "washed_by: 2026-03-02T16:00", "washed_by: 2026-03-02T13:30")
    department = small_department(texts)
    plan = plan_day(department, judge=NoJudge())
    assert [load.sets for load in plan.loads] == [("Noon",)] or [load.sets for load in plan.loads] == [("Morning",)]
    words = " | ".join(plan.conflicts)
    assert "the shift ends at 13:30" in words
    assert "nozzle" in words
    assert "Morning has to be washed" in words
    assert "Noon has to be washed" in words
    later = day_of(department).model_copy(update={"shift_ends": day_of(department).shift_ends + timedelta(hours=1)})
    assert plan_day(department, day=later, judge=NoJudge()).left_out == ()
