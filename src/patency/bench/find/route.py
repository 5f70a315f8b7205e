"""Leads from a scanned code to the page of the thing."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter
from fastapi.responses import Response

from patency.bench.asking import Asking
from patency.bench.sign_in.route import ask_pin
from patency.steps import FoundKind, find_scanned

router = APIRouter(include_in_schema=False)
_PAGE_OF = {FoundKind.SET: "/set/", FoundKind.LOAD: "/release/"}


@router.post("/find", name="find")
def find(asked: Asking) -> Response:
    """Open what was scanned; a badge asks for its PIN, so that the next act is confirmed by its person."""
    code = asked.form.get("code", "").strip()
    if asked.opened.people.by_badge(code) is not None:
        return ask_pin(asked, code)
    found = find_scanned(asked.opened.ledger, code)
    if found is None:
        told = asked.gettext("Nothing here carries this code: {}").format(code[:60])
        return asked.go(asked.request.headers.get("x-from") or "/", told, "bad")
    return asked.go(_PAGE_OF[found.kind] + quote(found.key, safe=""))
