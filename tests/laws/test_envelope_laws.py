"""Nothing missing and nothing that grew old moves a lumen inside what was validated."""

from __future__ import annotations

from copy import deepcopy
from datetime import date, timedelta
from functools import cache
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patency.catalogue import Department
from patency.errors import PatencyError
from patency.flow import Standing, envelope_of_load, flow_of_load
from tests.small_plan import MORNING_LOAD
from tests.whole.test_missing_data import data, read, whole_site, without

if TYPE_CHECKING:
    from patency.flow import LoadFlow

DAY = MORNING_LOAD.starts.date()
LUMENS = {
    "sleeve11/1/sleeve": ("sleeve11", "sleeve", "bore"),
    "mod5/1/tube": ("mod5", "tube", "bore"),
    "fix5/1/whole": ("fix5", "whole", "shaft"),
}
# Where a limit states no dates of its own, those of its reference load hold.
DATES_OF_THE_LOAD = {f"reference_loads.lapsed value.lumens.{place}.flow.valid_until" for place in (0, 1)}


def limit(value: str, **more: str) -> dict[str, str]:
    return {"value": value, "source": "invented", **more}


def site_with_references(factor: float) -> dict[str, Any]:
    """Return the small site with a reference load that shows this times what each lumen of the load gets."""
    site = whole_site()
    got = flow_of_load(Department.model_validate(site), MORNING_LOAD).lumens
    shown = []
    for piece, (instrument, name, lumen) in LUMENS.items():
        flow = got["Morning", piece, lumen]
        entry: dict[str, Any] = {"instrument": instrument, "piece": name, "lumen": lumen}
        entry["flow"] = limit(f"{factor * 6e7 * flow.flow_m3_s.low:.9f} mL/min")
        if flow.shear_pa is not None:
            entry["shear"] = limit(f"{factor * flow.shear_pa.low:.9f} Pa")
        shown.append(entry)
    site["reference_loads"] = {
        "PQ": {
            "source": "invented",
            "valid_from": "2026-01-01",
            "valid_until": "2026-12-31",
            "carrier": "Wren",
            "programme": "gentle",
            "lumens": shown,
        }
    }
    return site


@cache
def barely_outside() -> dict[str, Any]:
    """Return the site in which each lumen gets a little less than was shown, and every other load falls short alone."""
    site = site_with_references(1.0005)
    good = site_with_references(0.9)["reference_loads"]["PQ"]
    other: dict[str, dict[str, str | None]] = {
        "of another carrier": {"carrier": "Heron"},
        "of another programme": {"programme": "brutal"},
        "lapsed": {"valid_until": "2026-03-01"},
        "not yet valid": {"valid_from": "2026-03-03"},
        "without end": {"valid_until": None},
    }
    for name, changes in other.items():
        site["reference_loads"][name] = {**deepcopy(good), **changes}
    lapsed_value = deepcopy(good)
    for lumen in lapsed_value["lumens"]:
        lumen["flow"]["valid_until"] = "2026-03-01"
    lapsed_value["lumens"] = lapsed_value["lumens"][:2]
    site["reference_loads"]["lapsed value"] = lapsed_value
    return site


_FLOWS: dict[str, LoadFlow] = {}


def inside(department: Department, day: date = DAY) -> set[str]:
    """Name the pieces whose lumens are inside; the water is computed once for all sites in which it runs alike."""
    felt = department.model_copy(update={"instructions": {}, "sets": {}, "day": None, "languages": ["en"]})
    key = felt.model_dump_json(exclude={"limits": {"load", "cycle"}, "reference_loads": True})
    if key not in _FLOWS:
        _FLOWS[key] = flow_of_load(department, MORNING_LOAD)
    envelope = envelope_of_load(department, MORNING_LOAD, _FLOWS[key], day)
    return {lumen.key[1] for lumen in envelope.lumens if lumen.standing is Standing.INSIDE}


def test_a_little_less_shown_and_every_lumen_is_inside_a_little_more_and_none_is() -> None:
    assert inside(Department.model_validate(site_with_references(0.9995))) == LUMENS.keys()
    assert inside(Department.model_validate(barely_outside())) == set()


@pytest.mark.slow
def test_no_datum_left_out_moves_a_lumen_inside() -> None:
    moved, tried = set(), 0
    for path in data(barely_outside()):
        department = read(without(barely_outside(), path))
        if department is None:
            continue
        try:
            found = inside(department)
        except PatencyError:
            continue
        tried += 1
        if found:
            moved.add(".".join(map(str, path)))
    assert moved == DATES_OF_THE_LOAD
    assert tried > 100


@given(days=st.integers(0, 4000))
@settings(max_examples=40, deadline=None)
def test_a_reference_load_that_grows_old_moves_no_lumen_inside(days: int) -> None:
    site = deepcopy(site_of_age())
    load = site["reference_loads"]["PQ"]
    for end in ("valid_from", "valid_until"):
        load[end] = str(date.fromisoformat(load[end]) - timedelta(days=days))
    lapsed = date.fromisoformat(load["valid_until"]) < DAY
    assert inside(Department.model_validate(site)) == (set() if lapsed else LUMENS.keys())


@cache
def site_of_age() -> dict[str, Any]:
    return site_with_references(0.9995)


@given(place=st.integers(0, 2), what=st.sampled_from(["flow", "shear"]), factor=st.floats(1.0, 3.0))
@settings(max_examples=40, deadline=None)
def test_a_reference_load_that_showed_more_covers_no_more(place: int, what: str, factor: float) -> None:
    site = deepcopy(site_of_age())
    shown = site["reference_loads"]["PQ"]["lumens"][place]
    if what not in shown:
        return
    number, unit = shown[what]["value"].split()
    shown[what] = limit(f"{factor * float(number):.9f} {unit}")
    left = inside(Department.model_validate(site))
    piece = next(key for key, lumen in LUMENS.items() if lumen[0] == shown["instrument"])
    assert LUMENS.keys() - {piece} <= left
    assert (piece in left) == (factor * 0.9995 <= 1.0)
