"""Unloading a carrier: look first where it counts, one tap for what was off, count back what came along."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter
from fastapi.responses import Response

from patency.bench.asking import Asked, Asking
from patency.ledger import LoadKind, Refused
from patency.steps import (
    Unloading,
    count_back,
    end_load,
    least_struck,
    loads_of_day,
    loads_to_decide,
    note_bad_pack,
    note_looked,
    note_off,
    show_unloading,
)

router = APIRouter(include_in_schema=False)


def _show(asked: Asked, load: str, reasons: object = ()) -> Response:
    shown = show_unloading(asked.opened.workplace, load)
    if isinstance(shown, Refused):
        return asked.go("/unloading", shown.text, "bad")
    names = {key: one.name for key, one in asked.opened.department.accessories.items()}
    least = least_struck(asked.opened.workplace, asked.opened.reach, load)
    status = 422 if reasons else 200
    return asked.page("unloading", shown=shown, reasons=reasons, names=names, least=least, load_id=load, status=status)


def _done(asked: Asked, load: str, outcome: Unloading | Refused, told: str, sound: str = "good") -> Response:
    if isinstance(outcome, Refused):
        return _show(asked, load, outcome.reasons)
    return asked.go(f"/unloading/{quote(load, safe='')}", told, sound)


@router.get("/unloading", name="unloading")
def loads(asked: Asking) -> Response:
    """List the loads that run or came out."""
    begun = [one for one in loads_of_day(asked.opened.workplace) if one.state not in {None, "planned"}]
    steam = [record for record, _ in loads_to_decide(asked.opened.workplace) if record.kind is LoadKind.STEAM]
    return asked.page("unloading/list.html", loads=begun, steam=steam)


@router.get("/unloading/{load}", name="unloading.load")
def load_page(asked: Asking, load: str) -> Response:
    """Show what is looked at."""
    return _show(asked, load)


@router.post("/unloading/{load}/end", name="unloading.end")
def end(asked: Asking, load: str) -> Response:
    """Write down that the load came out."""
    completed = asked.form.get("completed") == "yes"
    outcome = end_load(asked.opened.workplace, load, completed=completed, around=asked.around())
    return _done(asked, load, outcome, asked.gettext("Out. Look at every port before you take anything off."))


@router.post("/unloading/{load}/off", name="unloading.off")
def off(asked: Asking, load: str) -> Response:
    """Write down that something was off at a port."""
    port = asked.form.get("port", "")
    outcome = note_off(asked.opened.workplace, load, port, asked.around())
    return _done(asked, load, outcome, asked.gettext("Off at {}: its set goes back.").format(port), "bad")


@router.post("/unloading/{load}/pack", name="unloading.pack")
def pack(asked: Asking, load: str) -> Response:
    """Write down that a pack came out wet or damaged."""
    name, fault = asked.form.get("set", ""), asked.form.get("fault", "")
    outcome = note_bad_pack(asked.opened.workplace, load, name, fault, asked.around())
    return _done(asked, load, outcome, asked.gettext("Held: {}").format(name), "bad")


@router.post("/unloading/{load}/looked", name="unloading.looked")
def looked(asked: Asking, load: str) -> Response:
    """Write down that every port was looked at."""
    return _done(asked, load, note_looked(asked.opened.workplace, load, asked.around()), asked.gettext("Looked at."))


@router.post("/unloading/{load}/back", name="unloading.back")
def back(asked: Asking, load: str) -> Response:
    """Count accessories back."""
    counts = {key[5:]: int(value) for key, value in asked.form.items() if key.startswith("back-") and value.isdigit()}
    outcome = count_back(asked.opened.workplace, load, counts, asked.form.get("why", ""), asked.around())
    return _done(asked, load, outcome, asked.gettext("Counted back."))
