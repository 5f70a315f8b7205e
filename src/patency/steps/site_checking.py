"""Checks a department's description: what it holds, what it does not state, which defaults stand in."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

from patency.catalogue import DefaultUsed, Unknown, defaults_used, unknowns
from patency.steps.site_reading import read_site

if TYPE_CHECKING:
    from pathlib import Path


@dataclass(frozen=True, slots=True)
class SiteCheck:
    """What was found in a department's description.

    Parameters
    ----------
    site
        Name of the place.
    counts
        How many there are of each kind of thing.
    unknowns
        What is not stated, and which questions it leaves unanswered.
    defaults
        Where the site's defaults stand in for tolerances and roughness that are not stated.
    """

    site: str
    counts: dict[str, int]
    unknowns: tuple[Unknown, ...]
    defaults: tuple[DefaultUsed, ...]

    @property
    def data(self) -> dict[str, object]:
        """The same for programs."""
        return {"format": "patency-site-check/1", **asdict(self)}


def check_site(folder: Path) -> SiteCheck:
    """Check the department a folder describes.

    Parameters
    ----------
    folder
        Holds the department's YAML files.

    Returns
    -------
    SiteCheck
        What was found.

    Raises
    ------
    InputErrors
        With every fault of the description.
    """
    reading = read_site(folder)
    department = reading.department
    pieces = [piece for instrument in department.instruments.values() for piece in instrument.pieces.values()]
    counts = {
        "sets": len(department.sets),
        "instrument types": len(department.instruments),
        "piece types": len(pieces),
        "lumens": sum(len(piece.lumens) for piece in pieces),
        "instructions": len(department.instructions),
        "carriers": len(department.carriers),
        "ports": sum(len(carrier.ports) for carrier in department.carriers.values()),
        "accessories": len(department.accessories),
        "machines": len(department.machines),
        "programmes": len(department.programmes),
    }
    found = unknowns(department, reading.root)
    return SiteCheck(department.site, counts, tuple(found), tuple(defaults_used(department)))
