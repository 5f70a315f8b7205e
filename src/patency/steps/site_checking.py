"""Checks a department's description: what it holds, what it does not state, which defaults stand in."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

from patency.catalogue import (
    DefaultUsed,
    Unknown,
    defaults_used,
    fit_in_force,
    jets_described,
    unknowns,
    unstated_shapes,
)
from patency.steps.site_reading import read_site

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from patency.catalogue import Department


@dataclass(frozen=True, slots=True)
class Commissioned:
    """Whether the flow of a carrier in a kind of machine stands on measurements.

    Parameters
    ----------
    carrier
        The carrier.
    machine_kind
        The kind of machine.
    fit
        Number, day, person, source and id of the fit in force; None where it stands on the description alone.
    """

    carrier: str
    machine_kind: str
    fit: dict[str, str] | None

    @property
    def line(self) -> str:
        """The same for people."""
        where = f"{self.carrier} in {self.machine_kind}"
        if self.fit is None:
            return f"{where}: not commissioned by measurement, its flow stands on the description alone"
        told = self.fit
        return (
            f"{where}: fit {told['number']} of {told['fitted_on']} by {told['by']}, {told['source']}, id {told['id']}"
        )


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
        What is not stated, and which questions it leaves unanswered. Data of shapes are among them once the department
        describes its jets.
    defaults
        Where the site's defaults stand in for tolerances and roughness that are not stated.
    commissioned
        Each carrier in each kind of machine it docks in, and the fit to measurements in force there.
    shapes_unstated
        How many data of shapes and jets are not stated where nothing of the jets is described: *reached* is unknown of
        every piece then.
    """

    site: str
    counts: dict[str, int]
    unknowns: tuple[Unknown, ...]
    defaults: tuple[DefaultUsed, ...]
    commissioned: tuple[Commissioned, ...]
    shapes_unstated: int

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
    shapes = unstated_shapes(department, reading.root)
    if jets_described(department):
        found, shapes = [*found, *shapes], []
    return SiteCheck(
        site=department.site,
        counts=counts,
        unknowns=tuple(found),
        defaults=tuple(defaults_used(department)),
        commissioned=tuple(_commissioned(department)),
        shapes_unstated=len(shapes),
    )


def _commissioned(department: Department) -> Iterator[Commissioned]:
    pairs = {(carrier, one.kind): None for one in department.machines.values() for carrier in one.docks}
    for carrier, machine_kind in pairs:
        fit = fit_in_force(department, carrier, machine_kind)
        told = None
        if fit is not None:
            told = {
                "number": str(fit.number),
                "fitted_on": str(fit.fitted_on),
                "by": fit.by,
                "source": fit.source,
                "id": fit.id[:12],
            }
        yield Commissioned(carrier, machine_kind, told)
