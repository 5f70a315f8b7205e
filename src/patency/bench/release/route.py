"""What a load's record proves, and the decision of a named person about it."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter, HTTPException
from fastapi.responses import Response

from patency.bench.asking import Asked, Asking
from patency.ledger import Refused
from patency.steps import Decision, least_struck, loads_to_decide, refuse_load, release_load, show_decision

router = APIRouter(include_in_schema=False)


def _decision(asked: Asked, load: str) -> Decision | Refused:
    opened = asked.opened
    return show_decision(opened.workplace, load, opened.folder / "records", asked.now.date(), opened.judged)


def _show(asked: Asked, decision: Decision, pin_fault: str = "", reasons: object = (), why_fault: str = "") -> Response:
    status = 422 if pin_fault or reasons or why_fault else 200
    shown = {"decision": decision, "pin_fault": pin_fault, "reasons": reasons, "why_fault": why_fault}
    least = least_struck(asked.opened.workplace, asked.opened.reach, decision.record.load)
    return asked.page("release", status=status, least=least, load_id=decision.record.load, **shown)


@router.get("/release", name="releases")
def releases(asked: Asking) -> Response:
    """List the loads that wait for a decision."""
    return asked.page("release/list.html", loads=loads_to_decide(asked.opened.workplace))


@router.get("/release/{load}", name="release")
def release(asked: Asking, load: str) -> Response:
    """Show every criterion, differences first."""
    decision = _decision(asked, load)
    if isinstance(decision, Refused):
        return asked.go("/release", decision.text, "bad")
    return _show(asked, decision)


@router.get("/release/{load}/record.svg", name="release.record")
def record(asked: Asking, load: str) -> Response:
    """Draw the record over time."""
    decision = _decision(asked, load)
    if isinstance(decision, Refused) or decision.file is None:
        raise HTTPException(404)
    return Response(decision.file.plot_svg, media_type="image/svg+xml")


@router.post("/release/{load}", name="release.decide")
def decide(asked: Asking, load: str) -> Response:
    """Write the decision down, if the person's PIN is right."""
    decision = _decision(asked, load)
    if isinstance(decision, Refused):
        return asked.go("/release", decision.text, "bad")
    if not asked.pin_is_right():
        return _show(asked, decision, pin_fault=asked.gettext("The PIN is not right."))
    workplace, ask, why = asked.opened.workplace, asked.form.get("decision", ""), asked.form.get("why", "").strip()
    if ask == "release":
        refused = release_load(workplace, decision, asked.around())
        told = asked.gettext("Released by {}: load {}").format(asked.person, load)
    else:
        if not why:
            return _show(asked, decision, why_fault=asked.gettext("Say why."))
        refused = refuse_load(workplace, load, why, asked.around(), ask=ask)
        told = asked.gettext("Refused by {}: load {}; next: {}").format(asked.person, load, asked.gettext(ask))
    if refused:
        return _show(asked, decision, reasons=refused.reasons)
    return asked.go(f"/release/{quote(load, safe='')}" if ask != "release" else "/release", told)
