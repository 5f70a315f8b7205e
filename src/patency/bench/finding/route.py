"""A finding: reported with one touch, with a picture if one helps; what to do next stands on the page."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter, HTTPException
from fastapi.responses import Response

from patency.bench.asking import Asked, Asking
from patency.bench.forms import page_of_ours
from patency.bench.photos import keep_photo, read_photo
from patency.errors import InputError
from patency.ledger import Kind
from patency.steps import WHAT_NEXT, Found, Photo, add_photo, findings_of, report_finding

router = APIRouter(include_in_schema=False)
_PLACES = {Kind.SET: "/receiving/", Kind.LOAD: "/loading/"}


def _show(asked: Asked, about: str, key: str, reasons: object = (), fault: str = "") -> Response:
    if about not in _PLACES or not asked.opened.knows(Kind(about), key):
        raise HTTPException(404)
    kind = Kind(about)
    shown = {
        "about": kind,
        "key": key,
        "findings": findings_of(asked.opened.workplace, kind, key),
        "kinds": WHAT_NEXT,
        "back": _page_of_ours(asked) or _PLACES[kind] + quote(key, safe=""),
    }
    return asked.page("finding", status=422 if reasons or fault else 200, reasons=reasons, fault=fault, **shown)


def _page_of_ours(asked: Asked) -> str:
    """Return where the person came from; nothing where it is no page of ours."""
    return page_of_ours(asked.form.get("back") or asked.request.query_params.get("back", ""))


@router.get("/finding/{about}/{key}", name="finding")
def finding(asked: Asking, about: str, key: str) -> Response:
    """Show what can be reported, and what was."""
    return _show(asked, about, key)


@router.post("/finding/{about}/{key}", name="finding.report")
def report(asked: Asking, about: str, key: str) -> Response:
    """Write down what was found, or add a picture to it."""
    if about not in _PLACES or not asked.opened.knows(Kind(about), key):
        raise HTTPException(404)
    kind, work = Kind(about), asked.opened.workplace
    try:
        photo = _photo(asked)
    except InputError as fault:
        return _show(asked, about, key, fault=fault.line)
    of = asked.form.get("of", "")
    found = asked.form.get("found", "")
    if of.isdigit():
        if photo is None:
            return _show(asked, about, key, fault=asked.gettext("Choose a picture first."))
        refused = add_photo(work, kind, key, int(of), photo, asked.around())
    elif found in tuple(Found):
        refused = report_finding(work, kind, key, Found(found), photo, asked.around())
    else:
        return _show(asked, about, key, fault=asked.gettext("Say what was found."))
    if refused:
        return _show(asked, about, key, refused.reasons)
    back = quote(_page_of_ours(asked), safe="/")
    path = f"/finding/{kind}/{quote(key, safe='')}" + (f"?back={back}" if back else "")
    return asked.go(path, asked.gettext("Written down. Do now what stands below."))


def _photo(asked: Asked) -> Photo | None:
    sent = asked.files.get("photo")
    return keep_photo(asked.opened.folder / "photos", sent) if sent else None


@router.get("/photo/{name}", name="photo")
def photo(asked: Asking, name: str) -> Response:
    """Send a picture that was kept, if its bytes are still those."""
    kept = read_photo(asked.opened.folder / "photos", name)
    if kept is None:
        raise HTTPException(404)
    return Response(kept, media_type="image/jpeg", headers={"content-disposition": "inline; filename=finding.jpg"})
