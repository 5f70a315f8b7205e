"""The answer to fed: whose limits decide, the lower end decides, and what is missing leaves it open."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import pytest
import yaml

from patency.errors import InputError
from patency.flow import fed, flow_of_load, nominal_flow_of_load
from patency.load import Question
from patency.quantities import Answer
from tests.flow.one_port import SITE, bore, connected, nozzle, one_load, one_port, over_nozzle
from tests.small_plan import LOAD, MORNING_LOAD
from tests.small_site import SMALL_SITE, small_department

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.flow import LoadFlow
    from patency.load import Load, Reply

DAY = date(2026, 3, 2)
KEY = ("One", "thing/1/tube")
SOURCE = "instructions, invented"


def site(**limits: Any) -> str:  # noqa: ANN401
    """Return the site with its flow limits changed; None leaves one out."""
    data = yaml.safe_load(SITE.replace("LUMEN", "{}").replace("PORT", "{}").replace("ACCESSORIES", "{}"))
    flow = data["limits"]["flow"] | limits
    data["limits"]["flow"] = {name: limit for name, limit in flow.items() if limit is not None}
    return yaml.safe_dump(data, allow_unicode=True, sort_keys=False)


def reply(
    department: Department, load: Load | None = None, day: date = DAY, load_flow: LoadFlow | None = None
) -> Reply:
    load = load or one_load()
    found = fed(department, load, load_flow or flow_of_load(department, load), day)
    assert list(found) == [(piece.set, piece.piece) for piece in load.pieces]
    assert found[KEY].question is Question.FED
    return found[KEY]


def limit(value: str | float, **more: str) -> dict[str, Any]:
    return {"value": value, "source": SOURCE, **more}


def narrow(**more: Any) -> dict[str, Any]:  # noqa: ANN401
    """Describe a bore that carries about 78 mL/min cold, 1.65 m/s, 13 Pa, 196 mbar, 330 exchanges a minute."""
    return connected(bore("1 mm"), **{"inlet": {"family": "thread", "gender": "female"}, **more})


@pytest.mark.parametrize(
    ("need", "enough", "too_much", "measure"),
    [
        ("minimum_flow", "60 mL/min", "90 mL/min", "flow"),
        ("minimum_velocity", "1.2 m/s", "2 m/s", "velocity"),
        ("minimum_shear", "8 Pa", "20 Pa", "wall shear stress"),
        ("minimum_pressure", "150 mbar", "220 mbar", "pressure at the connection"),
    ],
)
def test_a_stated_need_decides(need: str, enough: str, too_much: str, measure: str) -> None:
    met = reply(one_port(narrow(need={need: limit(enough)})))
    missed = reply(one_port(narrow(need={need: limit(too_much)})))
    assert (met.answer, missed.answer) == (Answer.YES, Answer.NO)
    assert met.why.startswith(f"{measure} at least ")
    assert "its own stated need" in met.why
    held = [figure for figure in met.figures if figure.limit is not None]
    assert [(figure.name, figure.limit.source) for figure in held if figure.limit] == [(measure, SOURCE)]


def test_the_lower_end_decides_and_not_the_nominal_value() -> None:
    department = one_port(narrow())
    flow = flow_of_load(department, one_load()).lumens[(*KEY, "bore")].flow_m3_s
    between = f"{(flow.low + flow.nominal) / 2 * 6e7:.6f} mL/min"
    assert reply(one_port(narrow(need={"minimum_flow": limit(between)}))).answer is Answer.NO


def test_a_highest_pressure_holds_besides_whatever_else_is_stated() -> None:
    low, high = limit("150 mbar"), limit("250 mbar")
    assert reply(one_port(narrow(need={"maximum_pressure": high}))).answer is Answer.YES
    missed = reply(one_port(narrow(need={"maximum_pressure": low})))
    assert missed.answer is Answer.NO
    assert "highest pressure at the connection at most" in missed.why
    both = reply(one_port(narrow(need={"maximum_pressure": high, "minimum_flow": limit("60 mL/min")})))
    assert "its own stated need" in both.why
    assert "default" not in both.why


def test_a_highest_pressure_nobody_has_looked_for_leaves_the_answer_open() -> None:
    found = reply(one_port(narrow(need={"maximum_pressure": None})))
    assert (found.answer, found.why) == (Answer.UNKNOWN, "whether there is a highest pressure for it is not stated")
    assert reply(one_port(narrow(need={"maximum_pressure": "none"}))).answer is Answer.YES


def test_the_upper_end_decides_about_a_highest_pressure() -> None:
    department = one_port(narrow())
    flow = flow_of_load(department, one_load()).lumens[(*KEY, "bore")]
    between = f"{(flow.highest_pressure_pa - 100.0):.3f} Pa"
    assert reply(one_port(narrow(need={"maximum_pressure": limit(between)}))).answer is Answer.NO


def test_without_a_need_the_site_s_default_decides_and_says_it_has_no_source() -> None:
    found = reply(one_port(narrow()))
    assert found.answer is Answer.YES
    assert "wall shear stress at least" in found.why
    assert "exchanges per minute at least" in found.why
    assert "the site's default, no source for this lumen" in found.why


def reference(**changes: Any) -> dict[str, Any]:  # noqa: ANN401
    shown = {"instrument": "thing", "piece": "tube", "lumen": "bore", "flow": limit("90 mL/min")}
    return {
        "source": "validation report 7, invented",
        "valid_from": "2026-01-01",
        "carrier": "Wren",
        "programme": "gentle",
        "lumens": [shown],
        **changes,
    }


def with_references(**loads: dict[str, Any]) -> Department:
    data = yaml.safe_load(site())
    data["reference_loads"] = loads
    return one_port(narrow(), site=yaml.safe_dump(data, allow_unicode=True, sort_keys=False))


def test_a_reference_load_that_covers_the_lumen_comes_before_the_site_s_default() -> None:
    found = reply(with_references(old=reference()))
    assert found.answer is Answer.NO
    assert "the validated reference load" in found.why


def test_what_a_reference_load_showed_of_shear_counts_too() -> None:
    shown = {"instrument": "thing", "piece": "tube", "lumen": "bore", "shear": limit("8 Pa")}
    found = reply(with_references(old=reference(lumens=[shown])))
    assert found.answer is Answer.YES
    assert "wall shear stress" in found.why
    assert "the validated reference load" in found.why


def test_a_stated_need_comes_before_a_reference_load() -> None:
    data = yaml.safe_load(site())
    data["reference_loads"] = {"old": reference()}
    text = yaml.safe_dump(data, allow_unicode=True, sort_keys=False)
    assert reply(one_port(narrow(need={"minimum_flow": limit("60 mL/min")}), site=text)).answer is Answer.YES


@pytest.mark.parametrize(
    "changes",
    [
        {"carrier": "Heron"},
        {"programme": "brutal"},
        {"valid_from": "2026-03-03"},
        {"lumens": [{"instrument": "thing", "piece": "tube", "lumen": "tap", "flow": limit("90 mL/min")}]},
    ],
)
def test_a_reference_load_that_does_not_cover_the_lumen_is_passed_over(changes: dict[str, Any]) -> None:
    found = reply(with_references(old=reference(**changes)))
    assert found.answer is Answer.YES
    assert "the site's default" in found.why


def test_of_several_reference_loads_the_newest_counts() -> None:
    shown = {"instrument": "thing", "piece": "tube", "lumen": "bore", "flow": limit("60 mL/min")}
    newer = reference(valid_from="2026-02-01", lumens=[shown])
    assert reply(with_references(old=reference(), new=newer)).answer is Answer.YES


def test_a_reference_load_out_of_date_leaves_the_answer_open() -> None:
    lapsed = with_references(old=reference(valid_until="2026-03-01"))
    found = reply(lapsed)
    assert found.answer is Answer.UNKNOWN
    assert "the limit of flow is out of date (the validated reference load)" in found.why
    assert reply(lapsed, day=date(2026, 3, 1)).answer is Answer.NO


def test_a_stated_need_answers_whatever_became_of_the_reference_load() -> None:
    data = yaml.safe_load(site())
    data["reference_loads"] = {"old": reference(valid_until="2026-03-01")}
    text = yaml.safe_dump(data, allow_unicode=True, sort_keys=False)
    assert reply(one_port(narrow(need={"minimum_flow": limit("60 mL/min")}), site=text)).answer is Answer.YES


def test_of_two_reference_loads_of_one_day_the_one_that_holds_longer_counts() -> None:
    shown = {"instrument": "thing", "piece": "tube", "lumen": "bore", "flow": limit("60 mL/min")}
    short, long = reference(valid_until="2026-03-01"), reference(valid_until="2026-12-31", lumens=[shown])
    assert reply(with_references(a=short, b=long)).answer is Answer.YES
    assert reply(with_references(a=long, b=short)).answer is Answer.YES


@pytest.mark.parametrize("older", [None, "2026-02-10", "2026-12-31"])
@pytest.mark.parametrize("limit_until", [None, "2026-02-20", "2026-12-31"])
def test_no_answer_gets_less_strict_by_ageing(older: str | None, limit_until: str | None) -> None:
    until = {} if limit_until is None else {"valid_until": limit_until}
    strict = {"instrument": "thing", "piece": "tube", "lumen": "bore", "flow": limit("90 mL/min", **until)}
    lax = {**strict, "flow": limit("60 mL/min")}
    lapsing = with_references(
        lax=reference(valid_from="2025-01-01", lumens=[lax], **({} if older is None else {"valid_until": older})),
        strict=reference(lumens=[strict], valid_until="2026-03-01"),
    )
    days = [date(2026, 1, 1) + timedelta(days=9 * number) for number in range(12)]
    water = flow_of_load(lapsing, one_load())
    answers = [reply(lapsing, day=day, load_flow=water).answer for day in days]
    assert answers[0] is Answer.NO
    assert answers[-1] is Answer.UNKNOWN
    assert Answer.YES not in answers


def test_a_limit_out_of_date_leaves_the_answer_open() -> None:
    need = {"minimum_flow": limit("60 mL/min", valid_until="2026-03-01")}
    found = reply(one_port(narrow(need=need)))
    assert found.answer is Answer.UNKNOWN
    assert "the limit of flow is out of date" in found.why
    assert reply(one_port(narrow(need=need)), day=date(2026, 3, 1)).answer is Answer.YES


def test_without_any_limit_the_answer_stays_open() -> None:
    found = reply(one_port(narrow(), site=site(least_shear=None, least_exchanges=None)))
    assert found.answer is Answer.UNKNOWN
    assert "nothing is stated" in found.why


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("roughness", "no roughness"),
        ("bore_tolerance", "no bore tolerance"),
        ("loss_tolerance", "no loss tolerance"),
        ("pump_tolerance", "no pump tolerance"),
        ("roughness_factor", "no roughness factor"),
        ("default_loss", "no default loss"),
    ],
)
def test_a_default_the_site_does_not_state_leaves_the_answer_open(name: str, words: str) -> None:
    found = reply(one_port(narrow(), site=site(**{name: None})))
    assert found.answer is Answer.UNKNOWN
    assert found.why == f"the site states {words}"


OPEN_WAYS = [
    ("loss: 0}]\n    dock", "a loss in the discharge is not stated"),
    ("20 °C, pump_speed: 1", "the speed of the pump in wash is not stated"),
    ("inlet: [], ", "the inlet of circuit riser is not stated"),
    ("bore: full, source: invented}\n  luer", "the passage through a thread connection is not stated"),
]


@pytest.mark.parametrize(("was", "words"), OPEN_WAYS)
def test_what_is_not_stated_on_the_way_of_the_water_leaves_the_answer_open(was: str, words: str) -> None:
    now = {"loss: 0}]\n    dock": "}]\n    dock", "inlet: [], ": "", "20 °C, pump_speed: 1": "20 °C"}
    without = SITE.replace(was, now.get(was, "source: invented}\n  luer"), 1).replace(", }", "}")
    found = reply(one_port(narrow(), site=without))
    assert (found.answer, found.why) == (Answer.UNKNOWN, words)


def test_side_holes_nobody_has_looked_for_leave_every_lumen_of_the_load_open() -> None:
    found = reply(one_port({**narrow(), "side_holes": None}))
    assert (found.answer, found.why) == (
        Answer.UNKNOWN,
        "whether lumen bore of thing/1/tube has side holes is not stated",
    )
    over_it = one_port(over_nozzle(bore("10 mm", "100 mm")), {"n": nozzle(side_holes=None)}, UPRIGHT)
    found = reply(over_it, one_load(["n"], 0.06))
    assert (found.answer, found.why) == (Answer.UNKNOWN, "whether n has side holes is not stated")


def test_an_arm_nobody_describes_the_feed_of_leaves_the_answer_open() -> None:
    machine = small_department().machine_kinds["front_loader"]
    arm = machine.arms["lower"].model_copy(update={"feed": None})
    valve = machine.arms["upper"].model_copy(update={"feed": [machine.dock[0].model_copy(update={"loss": None})]})
    kind = machine.model_copy(update={"arms": {"lower": arm, "upper": valve}})
    department = small_department().model_copy(update={"machine_kinds": {"front_loader": kind}})
    replies = fed(department, MORNING_LOAD, flow_of_load(department, MORNING_LOAD), MORNING_LOAD.starts.date())
    found = replies["Morning", "mod5/1/tube"]
    words = "what feeds arm lower is not stated; a loss in the feed of arm upper is not stated"
    assert (found.answer, found.why) == (Answer.UNKNOWN, words)


def test_a_default_out_of_date_leaves_the_answer_open() -> None:
    expired = limit("2 %", valid_until="2025-12-31")
    found = reply(one_port(narrow(), site=site(bore_tolerance=expired)))
    assert found.answer is Answer.UNKNOWN
    assert found.why == "the site's bore tolerance is out of date"


def test_a_missing_default_does_not_hide_that_a_lumen_is_not_fed() -> None:
    found = reply(one_port(narrow(need={"minimum_flow": limit("90 mL/min")}), site=site(pump_tolerance=None)))
    assert found.answer is Answer.NO


def test_a_connection_nobody_describes_leaves_the_answer_open() -> None:
    found = reply(one_port(narrow(inlet=None)))
    assert (found.answer, found.why) == (Answer.UNKNOWN, "the connector of its inlet is not stated")
    assert reply(one_port(narrow(inlet=None, need={"minimum_flow": limit("90 mL/min")}))).answer is Answer.NO


def test_nominal_numbers_alone_never_answer_yes() -> None:
    department = one_port(narrow())
    found = reply(department, load_flow=nominal_flow_of_load(department, one_load()))
    assert found.answer is Answer.UNKNOWN
    assert found.why == "intervals were not computed"


def test_a_dry_lumen_is_not_fed() -> None:
    found = reply(one_port(narrow(), port={"at": {"x": "0 mm", "y": "0 mm", "z": "3 m"}}))
    assert found.answer is Answer.NO
    assert found.why == "nothing flows in stage wash"


def test_a_lumen_that_is_not_connected_is_not_fed() -> None:
    department = one_port(narrow())
    load = one_load()
    alone = load.model_copy(update={"pieces": (load.pieces[0].model_copy(update={"lumens": ()}),)})
    found = reply(department, alone)
    assert (found.answer, found.why) == (Answer.NO, "bore: not connected")


def test_a_piece_with_two_lumens_is_as_good_as_the_worse() -> None:
    department = one_port(narrow())
    tube = department.instruments["thing"].pieces["tube"]
    lumens = {**tube.lumens, "second": tube.lumens["bore"]}
    two = tube.model_copy(update={"lumens": lumens})
    thing = department.instruments["thing"].model_copy(update={"pieces": {"tube": two}})
    changed = department.model_copy(update={"instruments": {"thing": thing}})
    found = reply(changed)
    assert (found.answer, found.why) == (Answer.NO, "second: not connected")
    assert {figure.name.partition(":")[0] for figure in found.figures} == {"bore"}


def test_a_piece_without_lumen_has_nothing_to_feed() -> None:
    department = small_department(SMALL_SITE)
    found = fed(department, LOAD, flow_of_load(department, LOAD), DAY)
    cable = found["Morning", "cable/1/cable"]
    assert (cable.answer, cable.why, cable.figures) == (Answer.YES, "has no lumen", ())
    assert len(found) == len(LOAD.pieces)
    assert {one.answer for one in found.values()} == {Answer.YES}


def test_a_piece_of_none_of_the_sets_is_refused() -> None:
    department = one_port(narrow())
    load_flow = flow_of_load(department, one_load())
    stranger = one_load().pieces[0].model_copy(update={"piece": "thing/9/tube"})
    with pytest.raises(InputError, match="no piece thing/9/tube of One"):
        fed(department, one_load(pieces=(stranger,)), load_flow, DAY)


def test_every_number_is_told_in_the_units_of_limits() -> None:
    flow = flow_of_load(one_port(narrow()), one_load()).lumens[(*KEY, "bore")]
    figures = {figure.name: figure for figure in reply(one_port(narrow())).figures}
    assert {name: figure.unit for name, figure in figures.items()} == {
        "flow": "m3/s",
        "velocity": "m/s",
        "wall shear stress": "Pa",
        "pressure at the connection": "Pa",
        "exchanges per minute": "1",
        "Reynolds number": "1",
    }
    assert figures["flow"].value == flow.flow_m3_s.nominal
    assert figures["exchanges per minute"].low == pytest.approx(60.0 * flow.flow_m3_s.low / flow.volume_m3)


JET = {"n": nozzle()}
UPRIGHT = {"stand": {"inclination": "90 °", "support_at": "50 mm"}}


def over(need: dict[str, Any] | None = None, length: str = "100 mm", text: str = SITE) -> Reply:
    department = one_port(over_nozzle(bore("10 mm", length), need=need or {}), JET, UPRIGHT, site=text)
    return reply(department, one_load(["n"], 0.06))


def test_over_a_nozzle_exchanges_decide_and_the_jet_is_told() -> None:
    found = over()
    assert found.answer is Answer.YES
    assert "exchanges per minute" in found.why
    assert "shear" not in found.why
    names = [figure.name for figure in found.figures]
    assert "velocity of the jet" in names
    assert "wall shear stress" not in names
    assert "velocity" not in names


@pytest.mark.parametrize("need", [{"minimum_shear": limit("1 Pa")}, {"minimum_velocity": limit("0.1 m/s")}])
def test_over_a_nozzle_a_need_of_shear_or_velocity_stays_open(need: dict[str, Any]) -> None:
    found = over(need)
    assert found.answer is Answer.UNKNOWN
    assert "in a bore over a nozzle is not known" in found.why


def test_over_a_nozzle_defaults_for_filled_lumens_do_not_count() -> None:
    assert over(text=site(least_exchanges=None)).answer is Answer.UNKNOWN


def test_a_bore_whose_far_end_the_jet_does_not_reach_is_not_fed() -> None:
    found = over(length="2.5 m")
    assert found.answer is Answer.NO
    assert "the jet rises" in found.why
    assert "to the far end are 2440 mm" in found.why
