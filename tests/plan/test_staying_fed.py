"""Plans whose lumens stay fed in every single fault of chosen kinds, what they cost, and what would buy it."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import pytest

from patency.errors import InputError
from patency.flow import FaultKind, effects_of_faults, flow_of_load
from patency.plan import FlowJudge, StaysFedJudge, plan_day, plan_staying_fed, remedies_for
from tests.small_plan import MORNING_LOAD, SMALL_PLAN
from tests.small_site import SMALL_SITE, changed, small_department

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.load import Load

DAY = SMALL_PLAN.day
(BOTH,) = SMALL_PLAN.loads
HOSES = frozenset({FaultKind.HOSE_OFF_PORT})
CAPS = frozenset({FaultKind.CAP_MISSING})
FORCEPS = {("Morning", "fix5/1/whole"), ("Noon", "fix5/1/whole")}
ROW = "            segments:\n              - {shape: annulus, outer: 3.6 mm, inner: 2.6 mm, length: 330 mm}\n"
NEED = "            need: {maximum_pressure: none}\n"


@cache
def asking_of_the_forceps(shear_pa: float, highest_pa: float = 1e9) -> Department:
    """Return the small department whose forceps have needs of their own."""
    least = f"minimum_shear: {{value: {shear_pa:.9f} Pa, source: invented}}"
    most = f"maximum_pressure: {{value: {highest_pa:.9f} Pa, source: invented}}"
    need = f"            need: {{{least}, {most}}}\n"
    return small_department(changed(SMALL_SITE, NEED + ROW, need + ROW))


def shear_between(kind: FaultKind, load: Load) -> float:
    """Return a need of the forceps that is met in a load as planned, and missed in a fault of its neighbours."""
    effects = effects_of_faults(asking_of_the_forceps(1.0), load, DAY)
    forceps = [column for column, key in enumerate(effects.lumens) if (key[0], key[1]) in FORCEPS]
    rows = [row for row, fault in enumerate(effects.faults) if fault.kind is kind]
    worst = min(
        effects.margin[row, column]
        for row in rows
        for column in forceps
        if effects.faults[row].lumen != effects.lumens[column]
    )
    return float(worst + effects.planned_margin[forceps].min()) / 2


def test_a_lumen_falls_short_in_a_fault_of_its_neighbour_not_in_its_own() -> None:
    department = asking_of_the_forceps(shear_between(FaultKind.HOSE_OFF_PORT, BOTH))
    assert FlowJudge(department, DAY).thoroughly(BOTH).short == {}
    verdict = StaysFedJudge(department, DAY, HOSES).thoroughly(BOTH)
    assert set(verdict.short) == FORCEPS
    reason = verdict.short["Morning", "fix5/1/whole"]
    assert re.fullmatch(r"shaft: 99\.\d+ % of what it needs in the fault 'hose off at the port, H3'", reason)
    assert StaysFedJudge(small_department(), DAY, HOSES).thoroughly(BOTH).short == {}


def test_what_falls_short_as_planned_keeps_its_own_reason() -> None:
    department = asking_of_the_forceps(100.0)
    planned = FlowJudge(department, DAY).thoroughly(BOTH)
    assert set(planned.short) == FORCEPS
    assert StaysFedJudge(department, DAY, HOSES).thoroughly(BOTH).short == planned.short


def test_margins_are_those_of_the_worst_fault() -> None:
    usual = FlowJudge(small_department(), DAY).thoroughly(BOTH)
    hoses = StaysFedJudge(small_department(), DAY, HOSES).thoroughly(BOTH)
    more = StaysFedJudge(small_department(), DAY, HOSES | CAPS).thoroughly(BOTH)
    for key, margin in usual.margins.items():
        assert more.margins[key] <= hoses.margins[key] <= margin
    assert more.weakest is not None
    assert usual.weakest is not None
    assert more.weakest < usual.weakest


def test_sets_that_starve_each_other_in_a_fault_are_planned_apart_and_that_is_the_cost() -> None:
    department = asking_of_the_forceps(shear_between(FaultKind.HOSE_OFF_PORT, BOTH))
    assert [load.sets for load in plan_day(department).loads] == [("Morning", "Noon")]
    plan = plan_staying_fed(department, HOSES)
    assert [load.sets for load in plan.loads] == [("Morning",), ("Noon",)]
    judge = StaysFedJudge(department, DAY, HOSES)
    assert all(not judge.thoroughly(load).short for load in plan.loads)
    assert plan.stays_fed is not None
    assert plan.stays_fed.fault_kinds == ("hose off at the port",)
    assert "loads: 2 instead of 1" in plan.stays_fed.costs
    assert plan.stays_fed.would_buy


def test_where_all_stay_fed_anyway_it_costs_nothing_and_nothing_has_to_be_bought() -> None:
    plan = plan_staying_fed(small_department(), HOSES)
    assert plan.loads == plan_day(small_department()).loads
    assert plan.stays_fed is not None
    assert (plan.stays_fed.costs, plan.stays_fed.would_buy, plan.stays_fed.would_not_do) == ((), (), ())


def test_a_lumen_that_cannot_be_judged_is_not_told_as_staying_fed() -> None:
    open_need = small_department(changed(SMALL_SITE, NEED + ROW, "            need: {}\n" + ROW))
    plan = plan_staying_fed(open_need, HOSES)
    assert plan.stays_fed is not None
    told = "load L1: not judged: 2 lumens, whether there is a highest pressure for it is not stated"
    assert plan.stays_fed.not_computed == (told,)
    stated = plan_staying_fed(small_department(), HOSES).stays_fed
    assert stated is not None
    assert stated.not_computed == ()


def test_nothing_is_proven_with_a_fault_that_a_larger_company_may_not_have() -> None:
    """Alone on the carrier a lumen starves when a cap is missing at a port that another set would take."""
    assert StaysFedJudge(small_department(), DAY, HOSES).holds_in_company
    assert not StaysFedJudge(small_department(), DAY, CAPS | HOSES).holds_in_company
    department = asking_of_the_forceps(shear_between(FaultKind.CAP_MISSING, MORNING_LOAD))
    plan = plan_staying_fed(department, CAPS)
    assert {one.set for one in plan.left_out} | {name for load in plan.loads for name in load.sets} == {
        "Morning",
        "Noon",
    }
    assert not plan.proven_fewest


def test_a_narrower_port_and_a_stronger_pump_are_enough_and_a_little_less_is_not() -> None:
    department = asking_of_the_forceps(shear_between(FaultKind.CAP_MISSING, BOTH))
    found = remedies_for(department, BOTH, DAY, CAPS)
    assert found.none_found == ()
    stronger, narrower = found.found
    assert narrower.faults == stronger.faults == ("cap missing, T1",)

    width = number(r"a passage of ([\d.]+) mm in the fitting of port T1 of Wren", narrower.what)
    assert starving(with_port(department, width)) == 0
    assert starving(with_port(department, width + 0.5)) > 0

    factor = number(r"a circulation pump of ([\d.]+) times the head", stronger.what)
    assert starving(with_pump(department, factor)) == 0
    assert starving(with_pump(department, factor - 0.05)) > 0


def test_a_stronger_pump_is_found_though_one_of_twice_the_head_would_be_too_strong() -> None:
    flow = flow_of_load(small_department(), BOTH).lumens["Noon", "fix5/1/whole", "shaft"]
    shear_pa = shear_between(FaultKind.CAP_MISSING, BOTH)
    department = asking_of_the_forceps(shear_pa, 1.5 * flow.highest_pressure_pa)
    assert set(FlowJudge(with_pump(department, 2.0), DAY).thoroughly(BOTH).short) == FORCEPS
    (stronger,) = (one for one in remedies_for(department, BOTH, DAY, CAPS).found if "pump" in one.what)
    assert starving(with_pump(department, number(r"a circulation pump of ([\d.]+) times", stronger.what))) == 0


def number(pattern: str, words: str) -> float:
    found = re.search(pattern, words)
    assert found, words
    return float(found[1])


def starving(department: Department) -> int:
    return len(StaysFedJudge(department, DAY, CAPS).thoroughly(BOTH).short)


def with_port(department: Department, width_mm: float) -> Department:
    wren = department.carriers["Wren"]
    narrow = replace(wren.ports["T1"].bore_m, nominal=width_mm / 1e3)
    port = wren.ports["T1"].model_copy(update={"bore_m": narrow})
    ports = {**wren.ports, "T1": port}
    return department.model_copy(update={"carriers": {"Wren": wren.model_copy(update={"ports": ports})}})


def with_pump(department: Department, factor: float) -> Department:
    kind = department.machine_kinds[BOTH.machine_kind]
    points = [point.model_copy(update={"head_m": point.head_m * factor}) for point in kind.pump.points]
    stronger = kind.model_copy(update={"pump": kind.pump.model_copy(update={"points": points})})
    return department.model_copy(update={"machine_kinds": {**department.machine_kinds, BOTH.machine_kind: stronger}})


def test_what_no_change_mends_is_said() -> None:
    """A stronger pump would exceed the highest pressure; no passage of a port helps against a weak pump."""
    shear_pa = shear_between(FaultKind.PUMP_AT_80, BOTH)
    flow = flow_of_load(small_department(), BOTH).lumens["Noon", "fix5/1/whole", "shaft"]
    department = asking_of_the_forceps(shear_pa, 1.01 * flow.highest_pressure_pa)
    found = remedies_for(department, BOTH, DAY, frozenset({FaultKind.PUMP_AT_80}))
    assert found.found == ()
    (told,) = found.none_found
    assert "pump at 80 % of its speed, machine: no pump of up to 2 times the head is enough" in told


def test_a_plan_that_is_to_stay_fed_needs_a_fault_and_a_day() -> None:
    with pytest.raises(InputError, match="at least one"):
        plan_staying_fed(small_department(), frozenset())
    with pytest.raises(InputError, match="names no day"):
        plan_staying_fed(small_department().model_copy(update={"day": None}), HOSES)
