"""Prints the load sheets of a plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.flow import fed, flow_of_load
from patency.papers import load_sheet, load_sheet_html, load_sheet_pdf, reach_pictures, set_letters
from patency.reach import floor_plans
from patency.steps.eye_check_words import sheet_watch
from patency.steps.weakest import weakest_lumens
from patency.steps.weakest_zones import unknown_pieces, weakest_zones, words_of_pieces
from patency.texts import look_first_words

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import datetime

    from patency.catalogue import Department
    from patency.evidence import BaselineFile
    from patency.load import Load, Plan
    from patency.papers import LoadSheet, ReachPictures
    from patency.reach import LoadReach
    from patency.steps.reach_showing import Looks

_LOOK_FIRST = 5
_ZONES_DRAWN = 4


def sheet_of_load(
    department: Department,
    plan: Plan,
    load: Load,
    baselines: Sequence[BaselineFile] = (),
    looks: Looks | None = None,
) -> LoadSheet:
    """Work out the sheet of one load, with its weakest lumens and the glances that its faults need.

    Parameters
    ----------
    department
        The department.
    plan
        The plan.
    load
        One of its loads.
    baselines
        Every baseline of earlier cycles that is kept.
    looks
        Computes what the jets strike; without it the sheet says nothing of it.

    Returns
    -------
    LoadSheet
        What stands on the sheet.
    """
    load_flow = flow_of_load(department, load)
    replies = fed(department, load, load_flow, plan.day)
    weakest = weakest_lumens(department, load, load_flow, replies, _LOOK_FIRST)
    letters = set_letters(load)
    look_first = [look_first_words(line.port, letters[line.set], line.piece, line.answer) for line in weakest]
    watch = sheet_watch(department, plan, load, baselines)
    pictures, shadows = (None, []) if looks is None else _shadows(department, load, looks.at(load))
    floors = floor_plans(department, load, None if looks is None else looks.meshes)
    return load_sheet(department, load, f"{plan.day:%A %d %B %Y}", look_first, watch, pictures, floors, shadows)


def _shadows(department: Department, load: Load, found: LoadReach | None) -> tuple[ReachPictures | None, list[str]]:
    """Draw what jets strike, and say which zones they strike least and of which pieces nobody knows."""
    if found is None or found.strikes is None:
        return None, ["not known for this load: look at every side of every piece"]
    letters = set_letters(load)
    zones = weakest_zones(department, load, found, _LOOK_FIRST)
    said = [f"set {letters[one.key[0]]}: {one.words}, {one.zone}" for one in zones]
    words = words_of_pieces(department, load)
    unknown = (f"set {letters[key[0]]}: {words[key]}" for key in unknown_pieces(load, found))
    said += [f"{line}: not known, look at every side" for line in dict.fromkeys(unknown)]
    pictures = reach_pictures(found, {one.key: one.zone for one in zones[:_ZONES_DRAWN]})
    return pictures, [line.replace(" %", "\u00a0%") for line in said]


def print_sheets(
    department: Department,
    plan: Plan,
    printed: datetime,
    on_progress: Callable[[int, int], None] | None = None,
    baselines: Sequence[BaselineFile] = (),
    looks: Looks | None = None,
) -> dict[str, bytes]:
    """Set the sheet of every load as PDF and as a web page.

    Parameters
    ----------
    department
        The department.
    plan
        The plan.
    printed
        When, with its zone; written into the files.
    on_progress
        Called with how many loads are done and how many there are.
    baselines
        Every baseline of earlier cycles that is kept.
    looks
        Computes what the jets strike; without it the sheets say nothing of it.

    Returns
    -------
    dict[str, bytes]
        File name to content, for all loads.
    """
    files = {}
    for done, load in enumerate(plan.loads, start=1):
        sheet = sheet_of_load(department, plan, load, baselines, looks)
        files[f"load-{load.id}-sheet.pdf"] = load_sheet_pdf(sheet, printed)
        files[f"load-{load.id}-sheet.html"] = load_sheet_html(sheet).encode()
        if on_progress is not None:
            on_progress(done, len(plan.loads))
    return files
