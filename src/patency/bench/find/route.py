"""Leads from a scanned code to the page of the thing."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter
from fastapi.responses import Response

from patency.bench.asking import Asked, Asking
from patency.bench.sign_in.route import ask_pin
from patency.ledger import Piece, Where
from patency.steps import Scanned, read_label, read_scan

router = APIRouter(include_in_schema=False)


def _page_of(asked: Asked, scanned: Scanned) -> str | None:
    """Name the page of a thing; a piece has that of the set it lies in."""
    if scanned.kind == "piece":
        piece = asked.opened.ledger.find(Piece, scanned.key)
        inside = piece is not None and piece.place.where is Where.SET
        return f"/set/{quote(piece.place.key)}" if piece is not None and inside else None
    pages = {"set": "/set/", "pod": "/set/", "load": "/release/"}
    return pages[scanned.kind] + quote(scanned.key, safe="") if scanned.kind in pages else None


@router.post("/find", name="find")
def find(asked: Asking) -> Response:
    """Open what was scanned; a badge asks for its PIN, so that the next act is confirmed by its person."""
    code = asked.form.get("code", "").strip()
    if asked.opened.people.by_badge(code) is not None:
        return ask_pin(asked, code)
    scanned = read_scan(asked.opened.workplace, read_label(code))
    page = _page_of(asked, scanned) if isinstance(scanned, Scanned) else None
    if page is None:
        return asked.go("/", asked.gettext("Nothing here carries this code: {}").format(code[:60]), "bad")
    return asked.go(page)
