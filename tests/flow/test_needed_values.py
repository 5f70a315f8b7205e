"""The least flow and wall shear of a lumen are those that `fed` holds it against."""

from __future__ import annotations

from datetime import date

import pytest

from patency.flow import fed, flow_of_load, least_values
from patency.flow.needs import Measure
from patency.quantities import Answer
from tests.small_plan import LOAD, SMALL_PLAN
from tests.small_site import SMALL_SITE, changed, small_department

DAY = SMALL_PLAN.day
LEAST_FLOW = "least_flow: {value: 50 mL/min, source: no source}"
EXCHANGES = "{value: 10, source: invented}"


def test_the_largest_of_flow_and_exchanges_counts_as_the_flow_that_makes_it() -> None:
    department = small_department(changed(SMALL_SITE, LEAST_FLOW, f"{LEAST_FLOW}\n    least_exchanges: {EXCHANGES}"))
    water = flow_of_load(department, LOAD)
    least = least_values(department, LOAD, water, DAY)
    assert least.keys() == water.lumens.keys()
    # A sleeve of 11.5 mm and 110 mm holds 11.43 mL, of which 10 changes a minute are 114.3 mL/min.
    sleeve = least["Morning", "sleeve11/1/sleeve", "bore"]
    assert sleeve.flow_m3_s is not None
    assert sleeve.flow_m3_s.value * 6e7 == pytest.approx(114.3, rel=1e-3)
    # The tube of 4.2 mm and 330 mm holds 4.57 mL: 45.7 mL/min, less than the 50 mL/min of the site.
    tube = least["Morning", "mod5/1/tube", "bore"]
    assert tube.flow_m3_s is not None
    assert tube.flow_m3_s.value * 6e7 == pytest.approx(50.0)
    assert (sleeve.shear_pa, tube.shear_pa and tube.shear_pa.value) == (None, 1.0)


def test_a_lumen_below_its_least_flow_is_not_fed() -> None:
    department = small_department(changed(SMALL_SITE, "value: 50 mL/min", "value: 800 mL/min"))
    water = flow_of_load(department, LOAD)
    least, replies = least_values(department, LOAD, water, DAY), fed(department, LOAD, water, DAY)
    below = set()
    for key, one in least.items():
        assert one.flow_m3_s is not None
        if water.lumens[key].flow_m3_s.low < one.flow_m3_s.value:
            below.add(key[:2])
    assert below == {piece for piece, reply in replies.items() if reply.answer is Answer.NO}
    assert 0 < len(below) < len(least)


def test_what_no_flow_or_shear_stands_for_is_named_and_a_date_that_has_passed_is_told() -> None:
    dated = LEAST_FLOW.replace("no source}", "no source, valid_until: 2026-01-31}")
    text = changed(SMALL_SITE, LEAST_FLOW, f"{dated}\n    least_velocity: {{value: 0.1 m/s, source: invented}}")
    department = small_department(text)
    water = flow_of_load(department, LOAD)
    tube = ("Morning", "mod5/1/tube", "bore")
    late = least_values(department, LOAD, water, DAY)[tube]
    assert late.others == (Measure.VELOCITY,)
    assert late.flow_m3_s is not None
    assert not late.flow_m3_s.in_date
    early = least_values(department, LOAD, water, date(2026, 1, 31))[tube]
    assert early.flow_m3_s is not None
    assert early.flow_m3_s.in_date


def test_where_nothing_is_stated_there_is_nothing_to_reach() -> None:
    text = changed(SMALL_SITE, f"    {LEAST_FLOW}\n", "")
    department = small_department(changed(text, "    least_shear: {value: 1 Pa, source: no source}\n", ""))
    found = least_values(department, LOAD, flow_of_load(department, LOAD), DAY)
    assert {(one.flow_m3_s, one.shear_pa, one.others) for one in found.values()} == {(None, None, ())}
