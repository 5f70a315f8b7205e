"""Samples scatter as the tolerances say, count what falls short, and name what limits."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
import yaml

from patency.errors import InputError
from patency.flow import LoadMargin, flow_of_load, sampled_margin
from patency.flow.needs import Measure
from tests.demo.larkmere import hand_made_load, larkmere
from tests.flow.one_port import SITE, bore, connected, nozzle, one_load, one_port, over_nozzle
from tests.flow.test_uncertainty import ANNULUS, only

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.flow import LumenMargin

DAY = date(2026, 5, 12)
FITTING = {"bore": "8 ± 0 mm"}
SILENT = "\n".join(line for line in SITE.splitlines() if "least_" not in line or "overlap" in line)
UPRIGHT = {"stand": {"inclination": "90 °", "support_at": "50 mm"}}


def margin(department: Department, samples: int = 2000, seed: int = 1) -> LumenMargin:
    (lumen,) = sampled_margin(department, one_load(), DAY, np.random.default_rng(seed), samples).lumens
    return lumen


def needing(department: Department, until: date | None = None, **need: str) -> Department:
    lumen = department.instruments["thing"].pieces["tube"].lumens["bore"]
    data = yaml.safe_load(
        yaml.safe_dump(
            {name: {"value": value, "source": "invented", "valid_until": until} for name, value in need.items()}
        )
    )
    wanted = lumen.model_copy(update={"need": type(lumen.need).model_validate(data)})
    pieces = {"tube": department.instruments["thing"].pieces["tube"].model_copy(update={"lumens": {"bore": wanted}})}
    thing = department.instruments["thing"].model_copy(update={"pieces": pieces})
    return department.model_copy(update={"instruments": {"thing": thing}})


def test_without_tolerances_nothing_scatters() -> None:
    lumen = margin(one_port(connected(bore("0.5 mm")), port=FITTING, site=only()))
    assert lumen.flow_m3_s.high == pytest.approx(lumen.flow_m3_s.low, rel=1e-9)
    assert lumen.shear_pa is not None
    assert lumen.shear_pa.high == pytest.approx(lumen.shear_pa.low, rel=1e-9)


def test_a_laminar_bore_scatters_with_the_fourth_power_of_its_width() -> None:
    # Hagen-Poiseuille: a bore evenly within ±2 % carries between (1 - 0.019)^4 and (1 + 0.019)^4 in 95 % of cases; the
    # losses of entry and exit take a little off.
    lumen = margin(one_port(connected(bore("0.5 mm")), port=FITTING, site=only("bore_tolerance")), samples=10_000)
    low, high = (end / lumen.flow_m3_s.median - 1.0 for end in (lumen.flow_m3_s.low, lumen.flow_m3_s.high))
    assert -0.075 < low < -0.065
    assert 0.065 < high < 0.079


def test_the_share_that_falls_short_is_the_one_the_law_says() -> None:
    department = one_port(connected(bore("0.5 mm")), port=FITTING, site=only("bore_tolerance"))
    cold = flow_of_load(department, one_load()).stages["wash"].lumens["One", "thing/1/tube", "bore"].flow_m3_s.nominal
    quarter = f"{cold * (1.0 - 0.0385) * 6e7} mL/min"  # half of the way down: a quarter of the draws lie below
    lumen = margin(needing(department, minimum_flow=quarter), samples=10_000)
    assert lumen.short_share == pytest.approx(0.25, abs=0.03)
    assert lumen.by_measure == {Measure.FLOW: lumen.short_share}
    assert lumen.limiting is Measure.FLOW
    assert lumen.margin is not None
    assert 0.9 < lumen.margin < 1.0
    assert lumen.short_at_most is not None
    assert lumen.short_share is not None
    assert lumen.short_share < lumen.short_at_most < lumen.short_share + 0.01


def test_the_same_seed_gives_the_same_and_another_another() -> None:
    department = one_port(connected(bore("1 mm")))
    assert margin(department) == margin(department)
    assert margin(department).flow_m3_s != margin(department, seed=2).flow_m3_s


def test_a_rod_that_may_lie_anywhere_lets_more_through_than_a_centred_one() -> None:
    department = one_port(connected(ANNULUS), site=only())
    centred = next(iter(flow_of_load(department, one_load()).stages["wash"].lumens.values())).flow_m3_s
    lumen = margin(department)
    assert lumen.flow_m3_s.low == pytest.approx(centred.nominal, rel=0.01)
    assert centred.nominal < lumen.flow_m3_s.median < lumen.flow_m3_s.high < centred.high * 1.001


def test_between_laminar_and_turbulent_the_samples_lie_within_both() -> None:
    department = one_port(connected(bore("1.2 mm")), site=only())
    ends = next(iter(flow_of_load(department, one_load()).stages["wash"].lumens.values()))
    lumen = margin(department)
    assert 2000.0 < ends.reynolds < 4000.0
    assert ends.flow_m3_s.low * 0.999 < lumen.flow_m3_s.low < lumen.flow_m3_s.high < ends.flow_m3_s.high * 1.001


def test_over_a_nozzle_shear_is_not_known_and_a_jet_that_falls_back_feeds_nothing() -> None:
    department = one_port(over_nozzle(bore("10 mm")), {"n": nozzle(outlet="2 ± 0 mm")})
    wanted = needing(department, minimum_shear="1 Pa", minimum_flow="1 mL/min")
    load = one_load(["n"], 0.05)
    (lumen,) = sampled_margin(wanted, load, DAY, np.random.default_rng(1), 200).lumens
    assert lumen.shear_pa is None
    assert lumen.not_known == (Measure.SHEAR,)
    assert set(lumen.by_measure) == {Measure.FLOW}
    weak = (
        SITE.replace("head: 2.3 m", "head: 0.42 m")
        .replace("head: 2.2999 m", "head: 0.419 m")
        .replace("head: 2.2 m", "head: 0.4 m")
    )
    low = needing(
        one_port(over_nozzle(bore("10 mm")), {"n": nozzle(outlet="2 ± 0 mm")}, UPRIGHT, weak), minimum_flow="1 mL/min"
    )
    (fallen,) = sampled_margin(low, load, DAY, np.random.default_rng(1), 200).lumens
    assert fallen.short_share == 1.0


def test_the_highest_pressure_counts_upwards() -> None:
    department = one_port(connected(bore("0.5 mm")), site=only("pump_tolerance"))
    above = needing(department, minimum_flow="0.01 mL/min", maximum_pressure="500 mbar")
    below = needing(department, minimum_flow="0.01 mL/min", maximum_pressure="50 mbar")
    assert margin(above).by_measure[Measure.HIGHEST_PRESSURE] == 0.0
    low = margin(below)
    assert low.by_measure[Measure.HIGHEST_PRESSURE] == 1.0
    assert low.limiting is Measure.HIGHEST_PRESSURE


def test_held_against_nothing_it_has_no_probability() -> None:
    lumen = margin(one_port(connected(bore("1 mm")), site=SILENT))
    assert "nothing is stated that its flow could be held against" in lumen.left_open
    assert (lumen.short_share, lumen.short_at_most, lumen.limiting, lumen.margin) == (None, None, None, None)


def test_a_handful_of_samples_is_refused() -> None:
    with pytest.raises(InputError, match=r"^samples: 99 \(expected: 100 or more\)"):
        margin(one_port(connected(bore("1 mm"))), samples=99)


def test_held_against_a_highest_pressure_alone_it_stays_open() -> None:
    lumen = margin(needing(one_port(connected(bore("1 mm")), site=SILENT), maximum_pressure="500 mbar"))
    assert lumen.short_share == 0.0
    assert lumen.left_open[-1] == "nothing is stated that its flow could be held against"


def test_a_limit_out_of_date_is_held_against_no_more_and_named() -> None:
    department = one_port(connected(bore("1 mm")))
    assert margin(needing(department, until=DAY, minimum_flow="9000 mL/min")).short_share == 1.0
    found = margin(needing(department, until=DAY - timedelta(days=1), minimum_flow="9000 mL/min"))
    assert (found.short_share, found.limiting) == (None, None)
    assert "the limit of flow is out of date" in found.left_open


@pytest.mark.slow
def test_on_the_demo_load_samples_and_first_order_tell_the_same() -> None:
    load = hand_made_load("L3")
    sampled: LoadMargin = sampled_margin(larkmere(), load, DAY, np.random.default_rng(1), 2000)
    first_order = flow_of_load(larkmere(), load)
    assert len(sampled.lumens) == len(first_order.lumens)
    for lumen in sampled.lumens:
        ends = first_order.stages[lumen.stage].lumens[lumen.key].flow_m3_s
        assert lumen.flow_m3_s.low == pytest.approx(ends.low, rel=0.12), lumen.key
        assert lumen.flow_m3_s.high == pytest.approx(ends.high, rel=0.12), lumen.key
    shares = [lumen.short_share for lumen in sampled.lumens if lumen.short_share is not None]
    assert shares == sorted(shares, reverse=True)
