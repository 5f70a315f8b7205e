"""What is not stated of instruments and their instructions."""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING

from patency.catalogue.accessories import FlushingSleeve
from patency.catalogue.gaps import Gap, OpenQuestion
from patency.catalogue.instruments import FedBy, Lumen, PieceType, Placing
from patency.catalogue.parts import parts

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue.department import Department
    from patency.catalogue.instructions import InstructionsVersion, ProcessingInstructions
    from patency.catalogue.nodes import Path

# The activities of ISO 17664-1 without which nobody knows how to bring a piece from the sink to its next use.
ACTIVITIES = ("preparation", "cleaning", "disinfection", "drying", "inspection", "packaging", "sterilization")
_SUITED: tuple[OpenQuestion, ...] = ("suited",)
_LIMIT_WORDS = {
    "highest_temperature_c": "highest temperature is",
    "lowest_ph": "lowest pH is",
    "highest_ph": "highest pH is",
    "forbidden_agents": "forbidden agents are",
    "water": "water is",
    "final_rinse_water": "final rinse water is",
}


def instrument_gaps(department: Department) -> Iterator[Gap]:
    """Find what is not stated of pieces and lumens.

    Parameters
    ----------
    department
        The department.

    Yields
    ------
    Gap
        One for each datum.
    """
    gripped = {sleeve.grips.family for sleeve in department.accessories.values() if isinstance(sleeve, FlushingSleeve)}
    for path, piece in parts(department.instruments, PieceType, ("instruments",)):
        if piece.mass_kg is None:
            yield Gap((*path, "mass"), "the mass is not stated", ("fits", "held"))
        if piece.cups is None:
            yield Gap((*path, "cups"), "nobody has looked for hollows; [] states that there are none", ("reached",))
        if piece.states is None:
            what = "the state of its movable parts is not stated; {} states that it has none"
            yield Gap((*path, "states"), what, ("held",))
        if piece.placing is Placing.BASKET and piece.needs_net is None:
            yield Gap((*path, "needs_net"), "whether jets could lift it is not stated; a net goes over it", ("held",))
        if piece.placing is Placing.COIL_RACK and piece.least_bend_radius_m is None:
            yield Gap((*path, "least_bend_radius"), "how tightly it may bend is not stated", ("fits",))
    for path, lumen in parts(department.instruments, Lumen, ("instruments",)):
        yield from _openings(path, lumen)
        if lumen.fed_by is FedBy.CONNECTION and lumen.inlet is None:
            yield Gap((*path, "inlet"), "the connector of the inlet is not stated", ("fits", "fed"))
        if lumen.inlet is not None and lumen.inlet.family in gripped and lumen.grip_m is None:
            yield Gap((*path, "grip"), "the length a flushing sleeve may cover is not stated", ("fits",))


def _openings(path: Path, lumen: Lumen) -> Iterator[Gap]:
    if lumen.side_holes is None:
        questions: tuple[OpenQuestion, ...] = ("fits", "fed", "verdict")
        yield Gap((*path, "side_holes"), "nobody has looked for side holes; [] states that there are none", questions)
    if lumen.dead_ends_m is None:
        what = "nobody has looked for blind branches; [] states that there are none"
        yield Gap((*path, "dead_ends"), what, ("reached",))
    if lumen.strainer_upstream is None:
        yield Gap((*path, "strainer_upstream"), "whether it needs a strainer in line is not stated", ("fits",))


def instruction_gaps(department: Department) -> Iterator[Gap]:
    """Find instruments without usable instructions, and what usable instructions leave out.

    Parameters
    ----------
    department
        The department. Where it has a day, the version in force on that day counts, else the newest approved one;
        where none is approved, the newest.

    Yields
    ------
    Gap
        One for each datum.
    """
    used = {}
    for key, instrument in department.instruments.items():
        if instrument.instructions is None:
            path = ("instruments", key, "instructions")
            yield Gap(path, "there are no processing instructions at hand", _SUITED)
        else:
            used[instrument.instructions] = department.instructions[instrument.instructions]
    for key, instructions in used.items():
        path = ("instructions", key, "versions")
        version = _in_force(instructions, department)
        if version is None:
            yield Gap(path, "no version is approved and in force", _SUITED)
            version = max(instructions.versions, key=lambda each: each.issued)
        here = (*path, instructions.versions.index(version))
        yield from chain(_readable(here, version, department.languages), _stated(here, version))


def _in_force(instructions: ProcessingInstructions, department: Department) -> InstructionsVersion | None:
    if department.day is not None:
        return instructions.in_force(department.day.date)
    approved = [version for version in instructions.versions if version.approval is not None]
    return max(approved, key=lambda version: version.issued, default=None)


def _readable(path: Path, version: InstructionsVersion, languages: list[str]) -> Iterator[Gap]:
    if version.language not in languages:
        yield Gap((*path, "language"), f"nobody here reads {version.language!r}", _SUITED)


def _stated(path: Path, version: InstructionsVersion) -> Iterator[Gap]:
    for activity in ACTIVITIES:
        if getattr(version, activity) is None:
            yield Gap((*path, activity), "the instructions say nothing of it", _SUITED)
    limits = {
        "cleaning": (
            "highest_temperature_c",
            "lowest_ph",
            "highest_ph",
            "forbidden_agents",
            "water",
            "final_rinse_water",
        ),
        "disinfection": ("highest_temperature_c",),  # where they state no A0, the site's target counts
        "drying": ("highest_temperature_c",),
    }
    for activity, fields in limits.items():
        stated = getattr(version, activity)
        for field in fields if stated is not None else ():
            if getattr(stated, field) is None:
                key = field.removesuffix("_c")
                yield Gap((*path, activity, key), f"{_LIMIT_WORDS[field]} not stated", _SUITED)
