"""The label of a set, on a page of its own for the printer."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from patency.bench.asking import Asking
from patency.steps import label_of_set

router = APIRouter(include_in_schema=False)


@router.get("/set/{key}/label", name="label")
def label(asked: Asking, key: str) -> Response:
    """Show the label of a set."""
    return asked.page("labels", label=label_of_set(asked.opened.ledger, key))


@router.get("/set/{key}/label.svg", name="label.code")
def code(asked: Asking, key: str) -> Response:
    """Draw the code of a set's label."""
    return Response(label_of_set(asked.opened.ledger, key).svg, media_type="image/svg+xml")
