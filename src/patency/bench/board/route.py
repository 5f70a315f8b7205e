"""What is where, and what is late."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from patency.bench.asking import Asked, Asking
from patency.steps import board_of

router = APIRouter(include_in_schema=False)


def _show(asked: Asked, template: str) -> Response:
    opened = asked.opened
    return asked.page(template, board=board_of(opened.ledger, opened.department, opened.plan, asked.now))


@router.get("/board", name="board")
def board(asked: Asking) -> Response:
    """Show every set, the most urgent first."""
    return _show(asked, "board")


@router.get("/board/rows", name="board.rows")
def rows(asked: Asking) -> Response:
    """Show the rows alone; the page asks for them every half minute."""
    return _show(asked, "board/rows.html")
