"""What is where, and what is late."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from patency.bench.asking import Asking
from patency.steps import board_of

router = APIRouter(include_in_schema=False)


@router.get("/board", name="board")
def board(asked: Asking) -> Response:
    """Show every set, the most urgent first; the page asks for its rows again every half minute."""
    opened = asked.opened
    shown = board_of(opened.ledger, opened.department, opened.plan, asked.now)
    only_rows = asked.request.headers.get("hx-request") == "true"
    return asked.page("board/rows.html" if only_rows else "board", board=shown)
