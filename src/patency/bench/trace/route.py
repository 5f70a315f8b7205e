"""From a piece, set, load, machine, sample or case: what it touched, with reason and strength of identity."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from patency.bench.asking import Asking
from patency.errors import InputError
from patency.ledger import Direction, Kind, Shared

router = APIRouter(include_in_schema=False)
_KINDS = (Kind.CASE, Kind.SET, Kind.PIECE, Kind.LOAD, Kind.MACHINE, Kind.SAMPLE)


@router.get("/trace", name="trace")
def trace(asked: Asking) -> Response:
    """Show the trace that is asked for, or the form to ask."""
    query = asked.request.query_params
    kind, key, direction = query.get("kind", "case"), query.get("key", "").strip(), query.get("direction", "forward")
    shared, fault, found = query.get("shared", ""), "", None
    if key:
        try:
            carried = Shared(shared) if shared else None
            found = asked.opened.ledger.trace(Kind(kind), key, Direction(direction), shared=carried)
        except ValueError:
            fault = asked.gettext("Choose from the lists.")
        except InputError as error:
            fault = error.line
    return asked.page(
        "trace",
        kinds=_KINDS,
        kind=kind,
        key=key,
        direction=direction,
        shared=shared,
        shares=list(Shared),
        directions=list(Direction),
        found=found,
        fault=fault,
        status=422 if fault else 200,
    )
