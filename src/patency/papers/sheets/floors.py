"""Floors of baskets and pods for a sheet, or for the bench: which step shows which, and what is lit on it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from patency.catalogue import Placing
from patency.papers.drawing.floor import draw_floor
from patency.papers.sheets.steps import place_steps, set_letters

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from patency.catalogue import Department
    from patency.load import Load
    from patency.papers.sheets.steps import PlaceStep
    from patency.reach import FloorPlan

# On paper beside the list of its pieces.
_ROOM_MM = (78.0, 92.0)


def with_floors(steps: Sequence[PlaceStep], load: Load, floors: Sequence[FloorPlan]) -> tuple[PlaceStep, ...]:
    """Give each floor to the first step in which something comes to lie on it.

    Parameters
    ----------
    steps
        The baskets, pods, optic holders and coil places in the order of loading.
    load
        The load.
    floors
        The floors on which its plan states places.

    Returns
    -------
    tuple[PlaceStep, ...]
        The steps with their pictures.
    """
    numbers, letters, left = _numbers(steps), set_letters(load), list(floors)
    shown = []
    for step in steps:
        mine = [one for one in left if not _on(load, one).isdisjoint(step.pieces)]
        left = [one for one in left if one not in mine]
        pictures = tuple(draw_floor(one, numbers, letters, (), _ROOM_MM) for one in mine)
        shown.append(replace(step, floors_svg=pictures))
    return tuple(shown)


def draw_load_floors(
    department: Department,
    load: Load,
    floors: Sequence[FloorPlan],
    lit: Collection[tuple[str, str]],
    room_mm: tuple[float, float],
) -> tuple[str, ...]:
    """Draw the floors on which pieces come to lie as on the load's sheet, with these pieces lit.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    floors
        The floors on which its plan states places.
    lit
        Set and piece of those to which a hand goes now.
    room_mm
        What a picture may take up, across and down [mm].

    Returns
    -------
    tuple[str, ...]
        SVG source of each; empty where the plan leaves open where these pieces lie.
    """
    letters = set_letters(load)
    numbers = _numbers(place_steps(department, load, letters, 1))
    return tuple(
        draw_floor(one, numbers, letters, lit, room_mm) for one in floors if not _on(load, one).isdisjoint(lit)
    )


def _numbers(steps: Sequence[PlaceStep]) -> dict[tuple[str, str], str]:
    return {piece: line.number for step in steps for line in step.lines for piece in line.pieces}


def _on(load: Load, floor: FloorPlan) -> set[tuple[str, str]]:
    """Name the pieces whose place a floor shows: they lie on it, or their pod stands there."""
    return {
        (one.set, one.piece)
        for one in load.pieces
        if (one.set, one.piece) in floor.outlines
        or (one.placing is Placing.POD and one.stands_in == floor.name and one.position in floor.pods)
    }
