"""The stock of accessories, and what is broken."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from patency.bench.asking import Asking
from patency.ledger import Refused
from patency.steps import note_broken, show_stock

router = APIRouter(include_in_schema=False)


@router.get("/stock", name="stock")
def stock(asked: Asking) -> Response:
    """Show every kind of accessory and what the plan lacks."""
    return asked.page("stock", shown=show_stock(asked.opened.workplace), reasons=())


@router.post("/stock", name="stock.broken")
def broken(asked: Asking) -> Response:
    """Take accessories out of use."""
    form, workplace = asked.form, asked.opened.workplace
    number = form.get("number", "")
    outcome = note_broken(
        workplace,
        form.get("accessory", ""),
        int(number) if number.isdigit() else 0,
        form.get("why", ""),
        asked.around(),
    )
    if isinstance(outcome, Refused):
        return asked.page("stock", shown=show_stock(workplace), reasons=outcome.reasons, status=422)
    if outcome.plan_holds:
        return asked.go("/stock", asked.gettext("Written down; the plan still holds."))
    return asked.go("/stock", asked.gettext("Written down; the plan does not hold any more."), "bad")
