"""A datum that is not stated, before it is known on which line it would stand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from patency.catalogue.nodes import Path

OpenQuestion = Literal["fits", "fed", "reached", "held", "suited", "together", "verdict"]
"""One of the six questions about a piece, or the verdict on a cycle."""


class Gap(NamedTuple):
    """A datum that is not stated."""

    path: Path
    what: str
    questions: tuple[OpenQuestion, ...]
