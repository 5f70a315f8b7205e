"""Missing data means the worst case: no datum left out makes an answer or a verdict less strict.

Two things are taken as bad as they may only just be: the small department, in which every lumen gets a little less
than it needs and every other answer that can be no is no for a reason of its own, and cycles that each miss one
criterion. Then one datum after the other is left out. What was not yes must not become yes, what was not met must not
become met. The few exceptions are listed, each with its reason, and the list has to be exactly what is found.
"""

from __future__ import annotations

import copy
import re
from dataclasses import replace
from datetime import timedelta
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import yaml
from pydantic import ValidationError

from patency.catalogue import CycleLimits, Department
from patency.errors import PatencyError
from patency.evidence import CriterionState, EyeCheck, Seen
from patency.flow import fed, flow_of_load
from patency.load import Question
from patency.plan import six_answers
from patency.quantities import Answer, Limit
from patency.reach import held, reached
from tests.evidence.cycles import ALL_SEEN, LIMITS, MACHINE, PREDICTION, PROGRAMME, TODAY, Cycle, good_cycle
from tests.evidence.steam_cycles import LIMITS as STEAM_LIMITS
from tests.evidence.steam_cycles import PROGRAMME as STEAM_PROGRAMME
from tests.small_plan import MORNING_LOAD
from tests.small_site import SMALL_SITE
from tests.whole.described_fully import LONG_LOAD, need_everything, never_said, say_everything

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from patency.evidence import LoadMachine
    from patency.flow import LoadFlow, LumenFlow
    from patency.load import PlacedPiece

    Path = tuple[str | int, ...]
    Answers = dict[tuple[str, Question], Answer]

DAY = MORNING_LOAD.starts.date()
ASKED = (Question.FED, Question.REACHED, Question.HELD, Question.SUITED)
# Below these keys stand things under their names; with one left out the department has one less, no datum is missing.
THINGS = {
    "connector_families", "instruments", "pieces", "lumens", "instructions", "carriers", "levels", "circuits", "ports",
    "basket_areas", "coil_places", "accessories", "machine_kinds", "arms", "sensors", "machines", "programmes", "sets",
    "contents", "reference_loads", "steam_programmes",
}  # fmt: skip
NEVER_SAID = {
    # Without what was found at commissioning, which states all or nothing, the description holds as it is; a fit
    # without cycles is one to the bench alone.
    "CommissionedFit.cycles", "Department.commissioned",
    # Shapes, wires, nozzles and the limits of what jets do: this department states none of them, so whatever waits on
    # them is unknown here; tests/reach leaves them out one by one (test_solids, test_gaps_of_solids, test_strikes,
    # test_arms).
    # What rinses with a dose conduct: only the verdict on a cycle asks for it (tests/evidence/test_course.py).
    "Stage.highest_conductivity_us_cm", "Stage.least_conductivity_us_cm",
    "BasketArea.mesh", "BasketArea.wall_height_m", "Body.end_width_m", "Body.name", "Body.opening_deg",
    "Body.thickness_m", "Body.turns", "Carrier.frame", "Carrier.mesh", "CoilPlace.bar_width_m", "CoilPlace.bars",
    "Adapter.outer_m", "FlushingSleeve.outer_m", "Strainer.outer_m",
    "Cap.length_m", "Cap.outer_m", "MachineKind.chamber_at",
    "LoadLimits.contact_area", "LoadLimits.kept_water", "LoadLimits.push_share", "LoadLimits.struck_share",
    "Net.mesh", "PieceType.mesh", "Pod.mesh", "SprayArm.nozzles", "SprayArm.turns",
    # Of the work by hand, which none of the six questions asks about.
    "Preparation.flush_exchanges", "Preparation.soak_s", "Preparation.ultrasound_s", "SiteLimits.work",
    "WorkLimits.brush_oversize", "WorkLimits.flush_exchanges", "WorkLimits.shelf_life", "WorkLimits.soil_age",
}  # fmt: skip
# Rows of what is stated as a whole: {jaws: open} says that nothing but the jaws moves, which is another statement than
# {jaws: open, ratchet: released} and not one with a datum less.
STATED_AS_A_WHOLE = {"states"}
LITTLE = 1.0005

# Where another word takes the place of what is left out, in an order of precedence that is written down.
ANOTHER_WORD_HOLDS = {
    "instruments.fix5.pieces.whole.lumens.shaft.need.minimum_shear": "the site's defaults hold where none is stated",
    "limits.flow.least_shear": "the site's other defaults still hold",
    "instruments.mod5.pieces.tube.lumens.bore.segments.0.roughness": "the site's roughness holds, here a rougher wall",
}


class Loader(yaml.SafeLoader):
    """Reads YAML as the catalogue does: ``on`` is a word, a day stays as written."""


Loader.yaml_implicit_resolvers = {
    sign: [(tag, form) for tag, form in rows if tag.rpartition(":")[2] not in {"bool", "timestamp"}]
    for sign, rows in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


def whole_site() -> dict[str, Any]:
    """Return the small department as plain data, nothing shared between its places."""
    site: dict[str, Any] = {}
    for text in SMALL_SITE.values():
        site |= _apart(yaml.load(text.replace(": true", ": !!bool true"), Loader))
    return site


def _apart(value: Any) -> Any:  # noqa: ANN401
    if isinstance(value, dict):
        return {key: _apart(inner) for key, inner in value.items()}
    return [_apart(inner) for inner in value] if isinstance(value, list) else value


def limit(value: str) -> dict[str, str]:
    return {"value": value, "source": "invented"}


def five_instructions(site: dict[str, Any]) -> None:
    """Let the programme break another rule of the instructions of each instrument."""
    for instrument, activity, rule, value in (
        ("sleeve11", "cleaning", "highest_temperature", "50 °C"),
        ("mod5", "cleaning", "highest_ph", 9.0),
        ("fix5", "cleaning", "forbidden_agents", ["mild alkaline detergent"]),
        ("cable", "disinfection", "highest_temperature", "80 °C"),
        ("optic", "drying", "highest_temperature", "60 °C"),
    ):
        own = copy.deepcopy(site["instructions"]["steel"])
        own["versions"][0][activity][rule] = value
        site["instructions"][f"of {instrument}"] = own
        site["instruments"][instrument]["instructions"] = f"of {instrument}"


def starve(site: dict[str, Any]) -> None:
    """Ask of every lumen a little more than it gets: by its own need, by a reference load, by the site's default."""
    got = flow_of_load(Department.model_validate(site), LONG_LOAD).lumens

    def lumen(piece: str, name: str) -> LumenFlow:
        return got["Morning", piece, name]

    def least_shear(flow: LumenFlow) -> dict[str, str]:
        assert flow.shear_pa is not None
        return limit(f"{LITTLE * flow.shear_pa.low:.9f} Pa")

    shaft = site["instruments"]["fix5"]["pieces"]["whole"]["lumens"]["shaft"]
    shaft["need"] = {"minimum_shear": least_shear(lumen("fix5/1/whole", "shaft"))}
    site["limits"]["flow"]["least_shear"] = least_shear(lumen("mod5/1/tube", "bore"))
    over_nozzle = LITTLE * 6e7 * lumen("sleeve11/1/sleeve", "bore").flow_m3_s.low
    shown = {"instrument": "sleeve11", "piece": "sleeve", "lumen": "bore", "flow": limit(f"{over_nozzle:.9f} mL/min")}
    site["reference_loads"] = {
        "validated": {
            "source": "invented",
            "valid_from": "2026-01-01",
            "carrier": "Wren",
            "programme": "gentle",
            "lumens": [shown],
        }
    }


def tip(site: dict[str, Any]) -> None:
    """Ask for a little more reserve against tipping than the leaning forceps have."""
    reply = held(Department.model_validate(site), LONG_LOAD)["Morning", "fix5/1/whole"]
    ratio = next(figure.value for figure in reply.figures if figure.name == "holding over tipping moment")
    site["limits"]["load"]["tipping_reserve"] = {"value": LITTLE * ratio, "source": "invented"}


def sterilize(site: dict[str, Any]) -> None:
    """Add a steam sterilizer, of which no piece is asked; of its cycles test_missing_steam_data leaves out the data."""
    site["steam_programmes"] = {"wrapped": STEAM_PROGRAMME.model_dump(mode="json", by_alias=True)}
    site["limits"]["steam"] = STEAM_LIMITS.model_dump(mode="json", by_alias=True)


@cache
def tight_site() -> dict[str, Any]:
    site = whole_site()
    say_everything(site)
    sterilize(site)
    starve(site)
    need_everything(site)
    tip(site)
    five_instructions(site)
    return site


def _carelessly(placed: PlacedPiece) -> PlacedPiece:
    """Leave taps, seals and ratchets as found, and the net off; the leaning pieces are left to their weight."""
    if placed.piece in {"sleeve11/1/sleeve", "mod5/1/handle"}:
        return placed.model_copy(update={"states": {}})
    return placed.model_copy(update={"net": False})


CARELESS = LONG_LOAD.model_copy(update={"pieces": tuple(map(_carelessly, LONG_LOAD.pieces))})


def flow_of(department: Department) -> LoadFlow:
    """Compute the water once for all departments in which nothing differs that water could feel."""
    felt = department.model_copy(update={"instructions": {}, "sets": {}, "day": None, "languages": ["en"]})
    key = felt.model_dump_json(
        exclude={"limits": {"load", "cycle", "steam"}, "reference_loads": True, "steam_programmes": True}
    )
    if key not in _FLOWS:
        _FLOWS[key] = flow_of_load(department, CARELESS)
    return _FLOWS[key]


_FLOWS: dict[str, LoadFlow] = {}


def answers(department: Department) -> Answers:
    """Ask the four questions of every piece of the load."""
    water = fed(department, CARELESS, flow_of(department), DAY)
    stays, drains = held(department, CARELESS), reached(department, CARELESS)
    return {
        (piece.piece, question): piece.replies[question].answer
        for piece in six_answers(department, CARELESS, DAY, fed=water, reached=drains, held=stays)
        for question in ASKED
    }


def data(value: object, path: Path = ()) -> Iterator[Path]:
    """List every datum of a description by its path; things under their names are passed through, not listed."""
    if isinstance(value, dict):
        named = bool(path) and path[-1] in THINGS | STATED_AS_A_WHOLE
        for key, inner in value.items():
            if not named and key not in THINGS:
                yield (*path, key)
            yield from data(inner, (*path, key))
    elif isinstance(value, list):
        for place, inner in enumerate(value):
            yield from data(inner, (*path, place))


def without(site: dict[str, Any], path: Path) -> dict[str, Any]:
    left = copy.deepcopy(site)
    around: Any = left
    for part in path[:-1]:
        around = around[part]
    del around[path[-1]]
    return left


def read(site: dict[str, Any]) -> Department | None:
    try:
        return Department.model_validate(site)
    except ValidationError:
        return None


def test_every_question_starts_from_answers_that_are_not_yes() -> None:
    found = answers(Department.model_validate(tight_site()))
    short = {
        question: {piece for (piece, asked), answer in found.items() if asked is question and answer is not Answer.YES}
        for question in ASKED
    }
    lumens = {"sleeve11/1/sleeve", "mod5/1/tube", "fix5/1/whole"}
    assert short[Question.FED] == lumens
    assert short[Question.HELD] == lumens | {"mod5/1/handle", "mod5/1/insert"}
    assert short[Question.SUITED] == short[Question.REACHED] == {piece.piece for piece in CARELESS.pieces}


def test_everything_that_may_be_left_out_is_said_somewhere_and_left_out_below() -> None:
    assert set(never_said(Department.model_validate(tight_site()))) == NEVER_SAID


@pytest.mark.slow
def test_no_datum_of_a_department_left_out_makes_an_answer_less_strict() -> None:
    before = answers(Department.model_validate(tight_site()))
    less_strict, tried, refused = set(), 0, 0
    for path in data(tight_site()):
        department = read(without(tight_site(), path))
        if department is None:
            refused += 1
            continue
        try:
            after = answers(department)
        except PatencyError:
            refused += 1
            continue
        tried += 1
        if any(after[key] is Answer.YES for key, answer in before.items() if answer is not Answer.YES):
            less_strict.add(".".join(map(str, path)))
    assert less_strict == ANOTHER_WORD_HOLDS.keys()
    assert (tried > 100, refused > 300) == (True, True)


def test_reached_is_never_answered_with_yes_whatever_is_left_out() -> None:
    for path in data(tight_site()):
        if path[0] in {"instruments", "limits"} and (department := read(without(tight_site(), path))) is not None:
            assert Answer.YES not in {reply.answer for reply in reached(department, CARELESS).values()}


# --- the verdict on a cycle


def bent(column: str, first: int, last: int, change: Callable[[np.ndarray], np.ndarray]) -> Cycle:
    def bend(_: object, values: np.ndarray) -> None:
        values[first:last] = change(values[first:last])

    return good_cycle().with_column(column, bend)


def swapped(cycle: Cycle, first: slice, second: slice) -> Cycle:
    step = cycle.step.copy()
    step[first], step[second] = "rinse", "clean"
    return replace(cycle, step=step)


def lifted(mbar: float) -> Cycle:
    """Return the good cycle with an absolute sensor in surroundings of 980 mbar, which are stated otherwise."""

    def lift(_: object, values: np.ndarray) -> None:
        values += 980.0

    cycle = good_cycle().with_column("P1", lift).described("reference: gauge", "reference: absolute")
    stated = f"surroundings: {{pressure: {mbar}, unit: mbar, uncertainty: 0.5, source: barometer}}\n"
    return replace(cycle, description=cycle.description + stated)


def machine_with(*, height_m: float | None = -0.12, offset: float | None = 0.0) -> LoadMachine:
    """Return the machine with its tap elsewhere, or a sensor that was found to show too much."""
    sensors = {**MACHINE.sensors, "P1": MACHINE.sensors["P1"].model_copy(update={"height_m": height_m})}
    found = MACHINE.offsets["Alder"]["P1"].model_copy(update={"value": offset})
    return replace(MACHINE, sensors=sensors, offsets={} if offset is None else {"Alder": {"P1": found}})


SOMETHING_OFF = EyeCheck(Seen.SOMETHING_OFF, ALL_SEEN.by, ALL_SEEN.at)
# Each misses one criterion; what it is judged with beside the record, where it is not as it should be.
MISSED: dict[str, tuple[Cycle, dict[str, Any]]] = {
    "the load stays cold": (bent("T2", 0, 1600, lambda t: np.minimum(t, 85.0)), {}),
    "the chamber is too hot": (bent("T1", 1000, 1010, lambda t: t + 4.0), {}),
    "the first water is hot": (bent("T1", 50, 60, lambda t: t + 30.0), {}),
    "the cleaning is cold": (bent("T2", 100, 400, lambda t: t * 0.8), {}),
    "an arm stands": (bent("arm", 100, 400, lambda n: n * 0.0), {}),
    "an arm races": (bent("arm", 700, 1000, lambda n: n * 2.0), {}),
    "half the dose": (bent("dose", 0, 1600, lambda v: v / 2.0), {}),
    "the last water is not pure": (bent("cond", 600, 1600, lambda c: c + 50.0), {}),
    "the pressure is low": (bent("P1", 100, 400, lambda p: p * 0.8), {}),
    "readings off those of earlier cycles": (bent("P1", 0, 1600, lambda p: p * 0.99), {}),
    "the pump rests in the disinfection": (bent("P1", 700, 1200, lambda p: p * 0.0), {}),
    "the sensor shows too much": (good_cycle(), {"machine": machine_with(offset=9.0)}),
    "the tap lies high": (good_cycle(), {"machine": machine_with(height_m=0.2)}),
    "other weather": (lifted(970.0), {}),
    "the drying air is cold": (bent("T1", 1300, 1600, lambda t: t - 10.0), {}),
    "the drying is cut short": (good_cycle().without(1450, 1599), {}),
    "a gap": (good_cycle().without(1050, 1080), {}),
    "another programme": (good_cycle().described("programme: short", "programme: long"), {}),
    "another machine": (good_cycle().described("machine: Alder", "machine: Hazel"), {}),
    "stages out of order": (swapped(good_cycle(), slice(100, 400), slice(400, 500)), {}),
    "something off": (good_cycle(), {"eye_check": SOMETHING_OFF}),
    "less A0 than the programme is designed for": (
        good_cycle(),
        {"programme": PROGRAMME.model_copy(update={"a0_target_s": 1e5})},
    ),
}


def stated_limits() -> list[str]:
    return [name for name in CycleLimits.model_fields if getattr(LIMITS, name) is not None]


def aged(name: str) -> Limit:
    """Return a limit that held until the day before."""
    stated: Limit = getattr(LIMITS, name)
    return replace(stated, valid_until=TODAY - timedelta(days=1))


# Left out, or no longer in date, beside the record: what is judged with, then the value without the datum.
BESIDE: dict[str, dict[str, Any]] = {
    **{f"limits.{name}": {"limits": LIMITS.model_copy(update={name: None})} for name in CycleLimits.model_fields},
    **{f"limits.{name} in date": {"limits": LIMITS.model_copy(update={name: aged(name)})} for name in stated_limits()},
    "height of the tap": {"machine": machine_with(height_m=None)},
    "offset of the sensor": {"machine": machine_with(offset=None)},
    "level of the sump": {"prediction": replace(PREDICTION, sump_level_m=None)},
    "prediction": {"prediction": None},
    "baseline": {"prediction": replace(PREDICTION, alarm=None)},
    "prediction of a stage": {
        "prediction": replace(PREDICTION, stages={k: v for k, v in PREDICTION.stages.items() if k != "cleaning"})
    },
    "programme.a0_target": {"programme": PROGRAMME},
    "eye check": {"eye_check": None},
    "machine": {"machine": None},
    "sensors": {"machine": replace(MACHINE, sensors={})},
    "speed of the arm": {"machine": replace(MACHINE, arms={})},
    "names of machines": {"machine": replace(MACHINE, names=())},
}


def _aged(column: str) -> Callable[[str], str]:
    return lambda text: re.sub(rf"(\n  {column}: .* calibrated: )2026", r"\g<1>2024", text)


def descriptions_without() -> dict[str, Callable[[str], str]]:
    """Name every datum of a record's description with the way to leave it out."""
    described = yaml.safe_load(good_cycle().description)

    def leave_out(path: Path) -> Callable[[str], str]:
        def left(text: str) -> str:
            told = yaml.safe_load(text)
            return yaml.safe_dump(without(told, path) if path[0] in told else told, sort_keys=False)

        return left

    paths: list[Path] = [("machine",), ("programme",), ("surroundings",)]
    for column, told in described["columns"].items():
        paths += [("columns", column), *(("columns", column, key) for key in told)]
    older = {f"columns.{name}.calibrated aged": _aged(name) for name in described["columns"] if name != "step"}
    return {".".join(map(str, path)): leave_out(path) for path in paths} | older


LEFT_OUT = descriptions_without()
LESS_STRICT_VERDICTS = {
    ("stages out of order", "columns.step"): "without the machine's words the circulation tells the stages",
    (
        "less A0 than the programme is designed for",
        "programme.a0_target",
    ): "the site's limit holds where it states none",
}


def verdict(cycle: Cycle, **judged_with: Any) -> CriterionState | None:  # noqa: ANN401
    """Judge, one sample in four read to be quick; None where the description without the datum is refused."""
    every_fourth = [*cycle.rows, *(row for row in range(cycle.time.size) if row % 4)]
    try:
        return replace(cycle, rows=every_fourth).judged(**judged_with).verdict
    except PatencyError:
        return None


def test_the_cycle_as_it_should_be_is_met_and_every_fault_alone_is_not() -> None:
    assert verdict(good_cycle()) is CriterionState.MET
    for fault, (cycle, judged_with) in MISSED.items():
        assert verdict(cycle, **judged_with) is CriterionState.NOT_MET, fault


@pytest.mark.parametrize("fault", MISSED)
def test_no_datum_of_a_record_or_its_limits_left_out_makes_a_verdict_met(fault: str) -> None:
    cycle, judged_with = MISSED[fault]
    met = {
        what for what, instead in BESIDE.items() if verdict(cycle, **{**judged_with, **instead}) is CriterionState.MET
    }
    for what, leave_out in LEFT_OUT.items():
        if verdict(replace(cycle, description=leave_out(cycle.description)), **judged_with) is CriterionState.MET:
            met.add(what)
    assert met == {what for known, what in LESS_STRICT_VERDICTS if known == fault}


@pytest.mark.parametrize("what", [*BESIDE, *LEFT_OUT])
def test_what_is_left_out_of_a_good_cycle_never_stays_unsaid(what: str) -> None:
    """Without the datum a good cycle is not met, unless what is left still shows all that is asked."""
    cycle, beside = good_cycle(), BESIDE.get(what, {})
    if what in LEFT_OUT:
        cycle = replace(cycle, description=LEFT_OUT[what](cycle.description))
    still = {
        "limits.fixed_pressure_window",
        "limits.fixed_pressure_window in date",
        "limits.false_rejects",  # without it every alarm refuses; this cycle raises none
        "limits.false_rejects in date",
        "surroundings",
        "programme.a0_target",
        "columns.step",
        "columns.T1.range",
        "columns.T2.range",
        "columns.F1.uncertainty",  # the alarm compares the flow meter with itself in earlier cycles
    }
    assert (verdict(cycle, **beside) is CriterionState.MET) == (what in still)
