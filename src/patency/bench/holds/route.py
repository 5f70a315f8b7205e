"""Holds are set by one person and lifted by two; overrides have reason, authority, time limit and compensation."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from patency.bench.asking import Asked, Asking
from patency.ledger import InstrumentSet, Refused
from patency.steps import HOLDABLE, grant_override, lift_hold, set_hold, show_exceptions

router = APIRouter(include_in_schema=False)


def _show(asked: Asked, reasons: object = (), fault: str = "") -> Response:
    opened = asked.opened
    return asked.page(
        "holds",
        shown=show_exceptions(opened.ledger, asked.now),
        sets=[one.set_key for one in opened.ledger.all_of(InstrumentSet)],
        scopes=HOLDABLE,
        reasons=reasons,
        fault=fault,
        form=asked.form,
        status=422 if reasons or fault else 200,
    )


@router.get("/holds", name="holds")
def holds(asked: Asking) -> Response:
    """Show what is held and what goes on under an override."""
    return _show(asked)


@router.post("/holds", name="holds.set")
def hold(asked: Asking) -> Response:
    """Hold something."""
    form = asked.form
    outcome = set_hold(
        asked.opened.ledger, form.get("scope", ""), form.get("key", ""), form.get("reason", ""), asked.around()
    )
    if isinstance(outcome, Refused):
        return _show(asked, outcome.reasons)
    return asked.go("/holds", asked.gettext("Held: {}").format(form["key"]))


@router.post("/holds/lift", name="holds.lift")
def lift(asked: Asking) -> Response:
    """Lift a hold, when two people confirm."""
    second = asked.second_person()
    if second is None or not asked.pin_is_right():
        return _show(asked, fault=asked.gettext("Both people confirm: your PIN, and badge and PIN of another person."))
    hold, why = asked.form.get("hold", ""), asked.form.get("why", "")
    outcome = lift_hold(asked.opened.ledger, hold, why, asked.around(second))
    if isinstance(outcome, Refused):
        return _show(asked, outcome.reasons)
    return asked.go("/holds", asked.gettext("Lifted by {} and {}").format(asked.person, second))


@router.post("/overrides", name="overrides.grant")
def override(asked: Asking) -> Response:
    """Permit a set to go on incomplete."""
    if not asked.pin_is_right():
        return _show(asked, fault=asked.gettext("The PIN is not right."))
    form = asked.form
    hours = form.get("hours", "")
    outcome = grant_override(
        asked.opened.ledger,
        form.get("set_key", ""),
        form.get("reason", ""),
        float(hours) if hours.isdigit() else 0.0,
        form.get("compensation", ""),
        asked.around(),
    )
    if isinstance(outcome, Refused):
        return _show(asked, outcome.reasons)
    return asked.go("/holds", asked.gettext("Override granted by {}").format(asked.person))
