"""Lumens whose flow cannot be held against anything are listed; those for which something is stated are not."""

from __future__ import annotations

import pytest

from patency.catalogue import read_department, unknowns
from tests.small_site import SMALL_SITE, changed

SHEAR = "    least_shear: {value: 1 Pa, source: no source}\n"
FLOW = "    least_flow: {value: 50 mL/min, source: no source}\n"
NEED = "            need: {minimum_flow: {value: 1 L/min, source: instructions for use}}\n"
OLD_NEED = NEED.replace("use}", "use, valid_until: 2020-01-01}")
SLEEVE, TUBE, SHAFT = (
    "fed_by: injector nozzle\n",
    "            grip: 15 mm\n",
    "inlet: {family: luer, gender: female}\n",
)
BY_NOZZLE = (
    "none of least_flow, least_exchanges is stated, for lumens fed by injector nozzle of which nothing is stated"
)
BY_CONNECTION = (
    "none of least_shear, least_flow, least_velocity, least_exchanges is stated, "
    "for lumens fed by connection of which nothing is stated"
)


def found(*changes: tuple[str, str], more: str = "") -> list[tuple[str, str]]:
    """Change the small department, which states no needs here, and list what is unknown of flow: path and words."""
    texts = {
        name: text.replace("            need: {maximum_pressure: none}\n", "") for name, text in SMALL_SITE.items()
    }
    for was, now in changes:
        texts = changed(texts, was, now)
    list_of = unknowns(read_department({**texts, "more.yaml": more}))
    assert all(one.questions == ("fed",) for one in list_of)
    return [(one.path, one.what) for one in list_of if not one.path.endswith("need.maximum_pressure")]


def test_shear_alone_cannot_be_asked_of_a_lumen_over_an_injector_nozzle() -> None:
    assert found((FLOW, "")) == [("limits.flow", BY_NOZZLE)]


def test_a_least_flow_alone_is_enough_for_all() -> None:
    assert found((SHEAR, "")) == []


def test_without_any_default_both_ways_of_feeding_are_open() -> None:
    assert found((SHEAR + FLOW, "")) == [("limits.flow", BY_CONNECTION), ("limits.flow", BY_NOZZLE)]


def test_lumens_that_state_what_they_need_need_no_default() -> None:
    changes = [(place, place + NEED) for place in (SLEEVE, TUBE, SHAFT)]
    assert found((SHEAR + FLOW, ""), *changes) == []
    assert found((SHEAR + FLOW, ""), *changes[:2]) == [("limits.flow", BY_CONNECTION)]


def test_a_highest_pressure_states_no_need() -> None:
    need = NEED.replace("minimum_flow: {value: 1 L/min", "maximum_pressure: {value: 1 bar")
    assert found((FLOW, ""), (SLEEVE, SLEEVE + need)) == [("limits.flow", BY_NOZZLE)]


def test_a_need_out_of_date_leaves_its_lumen_open() -> None:
    path = "instruments.mod5.pieces.tube.lumens.bore.need.minimum_flow"
    assert found((TUBE, TUBE + OLD_NEED)) == [(path, "the limit does not hold on 2026-03-02")]


@pytest.mark.parametrize(("until", "gaps"), [("2026-12-31", 0), ("2026-03-02", 0), ("2026-03-01", 2)])
def test_a_reference_load_stands_in_while_it_is_in_date(until: str, gaps: int) -> None:
    flow = "{value: 1 L/min, source: validation report}"
    sleeve = f"{{instrument: sleeve11, piece: sleeve, lumen: bore, flow: {flow}}}"
    head = f"source: validation report, valid_from: 2026-01-01, valid_until: {until}, carrier: Wren, programme: gentle"
    listed = found((FLOW, ""), more=f"reference_loads: {{first: {{{head}, lumens: [{sleeve}]}}}}\n")
    expected = [("reference_loads.first", "the validation does not hold on 2026-03-02"), ("limits.flow", BY_NOZZLE)]
    assert listed == expected[:gaps]


def test_a_department_without_lumens_needs_no_limit_for_them() -> None:
    department = read_department({"a.yaml": "site: Here\nlanguages: [en]\n"})
    assert not any(one.path == "limits.flow" for one in unknowns(department))
