"""Floors of baskets and pods for a sheet, or for the bench: which step shows which, and what is lit on it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from patency.catalogue import Placing
from patency.papers.drawing.floor import draw_floor
from patency.papers.sheets.steps import place_steps, set_letters

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Sequence

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
        The steps with their pictures; where a floor is laid in several steps, with a note of which numbers are whose.
    """
    numbers, letters = _numbers(steps), set_letters(load)
    laid = {one.name: [step for step in steps if not _on(load, one).isdisjoint(step.pieces)] for one in floors}
    shown = []
    for step in steps:
        mine = [one for one in floors if laid[one.name][0] is step]
        pictures = tuple(draw_floor(one, numbers, letters, (), _ROOM_MM) for one in mine)
        notes = [words for one in floors if step in laid[one.name] for words in _whose(one, step, laid[one.name])]
        shown.append(replace(step, floors_svg=pictures, notes=(*step.notes, *notes)))
    return tuple(shown)


def _whose(floor: FloorPlan, step: PlaceStep, laid: Sequence[PlaceStep]) -> Iterator[str]:
    """Say where the picture is that shows a step's pieces, or which of its numbers are in the lists of other steps."""
    if step is not laid[0]:
        yield f"picture at step {laid[0].number}"
        return
    for other in laid[1:]:
        numbers = [line.number for line in other.lines if not floor.outlines.keys().isdisjoint(line.pieces)]
        if numbers:
            told = numbers[0] if len(numbers) == 1 else f"{numbers[0]} to {numbers[-1]}"
            yield f"{told} in the picture of {floor.name}: step {other.number}"


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
