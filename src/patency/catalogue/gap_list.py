"""What a department does not state, and which questions stay unanswered for it.

A missing datum is allowed. It makes an answer ``unknown``, which counts as ``no`` until somebody states the datum.
A tolerance, a roughness or the loss of a small part that is not stated is no unknown: the site's default is used and
said to be used.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING

from patency.catalogue.gaps_of_equipment import equipment_gaps, limit_gaps
from patency.catalogue.gaps_of_flow import default_losses, flow_gaps, path_gaps
from patency.catalogue.gaps_of_instruments import instruction_gaps, instrument_gaps
from patency.catalogue.gaps_of_shape import shape_gaps
from patency.catalogue.instruments import AnnulusSegment, BoreSegment
from patency.catalogue.nodes import path_text
from patency.catalogue.parts import parts

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from patency.catalogue.department import Department
    from patency.catalogue.gaps import Gap, OpenQuestion
    from patency.catalogue.nodes import Node


@dataclass(frozen=True, slots=True)
class Unknown:
    """A datum that is not stated.

    Parameters
    ----------
    path
        Where it would stand, as people read it.
    what
        What is missing, in words.
    questions
        Which questions it leaves unanswered: the names of the six, and ``verdict`` for the verdict on a cycle.
    place
        File and line of what is around it; None where the department was not read from files.
    """

    path: str
    what: str
    questions: tuple[OpenQuestion, ...]
    place: str | None = None


@dataclass(frozen=True, slots=True)
class DefaultUsed:
    """A default of the site that stands in for what is not stated.

    Parameters
    ----------
    limit
        The default's path.
    what
        What is not stated, in words.
    count
        At how many places.
    """

    limit: str
    what: str
    count: int


def unknowns(department: Department, root: Node | None = None) -> list[Unknown]:
    """List what is not stated and what it leaves unanswered.

    Parameters
    ----------
    department
        The department. Where it has a day, instructions and limits are looked at for that day.
    root
        The values it was read from, for their places.

    Returns
    -------
    list[Unknown]
        One for each missing datum; empty when nothing is missing.
    """
    gaps = chain(
        instrument_gaps(department),
        instruction_gaps(department),
        equipment_gaps(department),
        limit_gaps(department),
        path_gaps(department),
        flow_gaps(department),
    )
    return _listed(gaps, root)


def unstated_shapes(department: Department, root: Node | None = None) -> list[Unknown]:
    """List what is not stated of shapes, wire and jets.

    Parameters
    ----------
    department
        The department.
    root
        The values it was read from, for their places.

    Returns
    -------
    list[Unknown]
        One for each missing datum; each leaves *reached* unanswered. A department can state all of ``unknowns`` and
        nothing of shapes: see ``jets_described``.
    """
    return _listed(shape_gaps(department), root)


def _listed(gaps: Iterable[Gap], root: Node | None) -> list[Unknown]:
    return [
        Unknown(path_text(gap.path), gap.what, gap.questions, root.nearest(gap.path).place if root else None)
        for gap in gaps
    ]


def defaults_used(department: Department) -> list[DefaultUsed]:
    """List where the site's defaults stand in for tolerances, roughness and losses that are not stated.

    Parameters
    ----------
    department
        The department.

    Returns
    -------
    list[DefaultUsed]
        One for each default that is used at least once.
    """
    bores = [segment for _, segment in parts(department, BoreSegment)]
    annuli = [segment for _, segment in parts(department, AnnulusSegment)]
    stated: dict[tuple[str, str], Sequence[object]] = {
        ("bore_tolerance", "tolerance of a bore"): [bore.bore_m.plus_minus for bore in bores]
        + [annulus.outer_m.plus_minus for annulus in annuli],
        ("rod_tolerance", "tolerance of a rod"): [annulus.inner_m.plus_minus for annulus in annuli],
        ("roughness", "roughness"): [segment.roughness_m for segment in bores]
        + [annulus.roughness_m for annulus in annuli],
        ("default_loss", "loss"): default_losses(department),
    }
    return [
        DefaultUsed(f"limits.flow.{limit}", what, missing)
        for (limit, what), values in stated.items()
        if (missing := sum(value is None for value in values))
    ]
