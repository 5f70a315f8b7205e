"""The fault matrix: a row for each fault, a column for each lumen, readable in black and white."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree as ET

from patency.flow import Alarm, blind_spots_of_load, effects_of_faults, solve_load
from patency.papers import plot_faults
from patency.papers.drawing.svg import SVG_NAMESPACE
from tests.papers.cast import SMALL, SMALL_LOAD, greys_only
from tests.small_plan import SMALL_PLAN

EFFECTS = effects_of_faults(SMALL, SMALL_LOAD, SMALL_PLAN.day)
PICTURE = plot_faults(EFFECTS, blind_spots_of_load(SMALL, SMALL_LOAD, solve_load(SMALL, SMALL_LOAD), EFFECTS, Alarm()))


def found(tag: str) -> list[ET.Element]:
    return list(ET.fromstring(PICTURE).iter(f"{{{SVG_NAMESPACE}}}{tag}"))


def test_every_fault_is_named_and_has_a_cell_for_each_lumen() -> None:
    words = [element.text for element in found("text")]
    assert set(words) >= {fault.name for fault in EFFECTS.faults}
    assert len(found("rect")) == len(EFFECTS.faults) * len(EFFECTS.lumens)


def test_a_dry_lumen_is_black_and_crossed_and_an_untouched_one_white_and_not() -> None:
    cells = [element.get("fill") for element in found("rect")]
    lumens = len(EFFECTS.lumens)
    for row, fault in enumerate(EFFECTS.faults):
        if fault.name == "lumen blocked, H1":
            own = EFFECTS.lumens.index(fault.lumen) if fault.lumen is not None else -1
            shades = cells[row * lumens : (row + 1) * lumens]
            assert shades[own] == "#000000"
            assert {shade for place, shade in enumerate(shades) if place != own} == {"#ffffff"}
    assert len(found("line")) == 2 * int(EFFECTS.falls_short.sum())


def test_a_lumen_that_is_not_judged_has_a_question_mark() -> None:
    first, *others = EFFECTS.left_open
    unsure = replace(EFFECTS, left_open=(("a limit is out of date",), *others))
    spots = blind_spots_of_load(SMALL, SMALL_LOAD, solve_load(SMALL, SMALL_LOAD), EFFECTS, Alarm())
    assert first == ()
    assert (PICTURE.count(" ?<"), plot_faults(unsure, spots).count(" ?<")) == (0, 1)
    assert "not judged where not crossed" in plot_faults(unsure, spots)
    assert "not judged" not in PICTURE


def test_it_can_be_read_in_black_and_white_and_is_the_same_every_time() -> None:
    assert greys_only(PICTURE)
    again = blind_spots_of_load(SMALL, SMALL_LOAD, solve_load(SMALL, SMALL_LOAD), EFFECTS, Alarm())
    assert plot_faults(EFFECTS, again) == PICTURE
