"""The answer to **suited**: whether the load's programme is one the piece tolerates and needs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue import StageKind
from patency.load import Figure, Question, Reply
from patency.plan.programme_choice import exclusions, instructions_in_force
from patency.quantities import Answer, Limit

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from patency.catalogue import Department, InstructionsVersion, Programme
    from patency.load import Load, PlacedPiece


def suited(department: Department, load: Load, placed: PlacedPiece, day: date) -> Reply:
    """Answer for one piece whether the programme suits it.

    Parameters
    ----------
    department
        The department, with the limits that hold on the day.
    load
        The load.
    placed
        The piece.
    day
        Which version of the instructions is in force is decided on this day.

    Returns
    -------
    Reply
        ``unknown`` without approved, readable, complete instructions; ``no`` with every field that is not kept.
    """
    instrument = placed.piece.partition("/")[0]
    version = instructions_in_force(department, instrument, day)
    if isinstance(version, str):
        return Reply(Question.SUITED, Answer.UNKNOWN, version)
    programme = department.programmes[load.programme]
    figures = tuple(_figures(programme, version))
    found = [e.line for e in exclusions(department, load.programme, programme, instrument, version)]
    if found:
        return Reply(Question.SUITED, Answer.NO, "; ".join(found), figures)
    why = f"{programme.name} keeps version {version.version} of its instructions"
    return Reply(Question.SUITED, Answer.YES, why, figures)


def _figures(programme: Programme, version: InstructionsVersion) -> Iterator[Figure]:
    def limit(value: float | None, unit: str, field: str) -> Limit | None:
        return None if value is None else Limit(value, unit, f"{version.source}, {field}")

    stages = programme.stages
    wet = [s.temperature_c for s in stages if s.kind in {StageKind.FLUSH, StageKind.CLEAN, StageKind.RINSE}]
    hot = [s.temperature_c for s in stages if s.kind is StageKind.DISINFECT]
    dry = [s.temperature_c for s in stages if s.kind is StageKind.DRY]
    doses = [dose.ph for stage in stages for dose in stage.doses or () if dose.ph is not None]
    cleaning, disinfection, drying = version.cleaning, version.disinfection, version.drying
    if wet and cleaning:
        highest = limit(cleaning.highest_temperature_c, "degC", "cleaning.highest_temperature")
        yield Figure("hottest cleaning or rinsing", max(wet), "degC", limit=highest)
    if doses and cleaning:
        yield Figure("highest pH", max(doses), "1", limit=limit(cleaning.highest_ph, "1", "cleaning.highest_ph"))
        yield Figure("lowest pH", min(doses), "1", limit=limit(cleaning.lowest_ph, "1", "cleaning.lowest_ph"))
    if hot and disinfection:
        highest = limit(disinfection.highest_temperature_c, "degC", "disinfection.highest_temperature")
        yield Figure("hottest disinfection", max(hot), "degC", limit=highest)
    if programme.a0_target_s is not None and disinfection:
        least = limit(disinfection.least_a0_s, "s", "disinfection.least_a0")
        yield Figure("A0", programme.a0_target_s, "s", limit=least)
    if dry and drying:
        highest = limit(drying.highest_temperature_c, "degC", "drying.highest_temperature")
        yield Figure("hottest drying", max(dry), "degC", limit=highest)
