"""What the jets strike of a load: a view that turns, pictures from four sides, and pieces that can be moved."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from fastapi import APIRouter
from fastapi.responses import JSONResponse, Response

from patency.bench.asking import Asking
from patency.bench.templates import render
from patency.errors import InputError
from patency.papers import SIDES, draw_piece_reach, draw_reach, draw_reach_legend
from patency.steps import (
    Nudge,
    changed_bodies,
    load_of_plan,
    moves_words,
    read_moves,
    scene_document,
    tried_pieces,
    with_nudge,
    with_shift,
)

if TYPE_CHECKING:
    from patency.load import Load
    from patency.steps import Move, TriedPiece

router = APIRouter(include_in_schema=False)
_ROOM_MM, _PIECE_ROOM_MM, _LEGEND_MM = (180.0, 150.0), (180.0, 70.0), 150.0
_SVG = "image/svg+xml"


class _Tried:
    """A load with what was moved in it, as the address says."""

    def __init__(self, asked: Asking, load: str) -> None:
        self.asked = asked
        self.load: Load = load_of_plan(asked.opened.plan, load)
        self.before = read_moves(asked.request.query_params.getlist("m"))
        self.piece = _number(asked.request.query_params.get("piece", ""))
        self.moves = self._after_this()

    def _after_this(self) -> tuple[Move, ...]:
        query = self.asked.request.query_params
        if self.piece is None:
            return self.before
        if query.get("nudge"):
            try:
                return with_nudge(self.before, self.piece, Nudge(query["nudge"]))
            except ValueError as fault:
                raise InputError("nudge", str(fault), ", ".join(Nudge)) from fault
        if query.get("shift"):
            try:
                across, back, up = (float(one) for one in query["shift"].split(","))
            except ValueError as fault:
                raise InputError(
                    "shift", f"{query['shift']!r} cannot be read", "three numbers of millimetres"
                ) from fault
            return read_moves(moves_words(with_shift(self.before, self.piece, (across, back, up))))
        return self.before

    def pieces(self) -> list[TriedPiece]:
        opened = self.asked.opened
        planned = opened.reach.of(opened.department, self.load)
        return tried_pieces(planned, opened.reach.of(opened.department, self.load, self.moves), self.moves)

    @property
    def path(self) -> str:
        return f"/reach/{self.load.id}"

    def query(self, **more: object) -> str:
        """Return the moves as they stand in an address, with more after them."""
        return "?" + urlencode([*(("m", word) for word in moves_words(self.moves)), *more.items()])


def _number(text: str) -> int | None:
    if not text:
        return None
    if not text.isdecimal():
        raise InputError("piece", f"{text!r} is no number", "the number of a piece of the load")
    return int(text)


@router.get("/reach", name="reaches")
def reaches(asked: Asking) -> Response:
    """List the loads of the plan."""
    return asked.page("reach/list.html", loads=asked.opened.plan.loads)


@router.get("/reach/{load}", name="reach")
def reach(asked: Asking, load: str) -> Response:
    """Show a load, as a view that turns or, where that is asked for, as pictures from four sides."""
    tried = _Tried(asked, load)
    if asked.request.query_params.get("as") != "pictures":
        return asked.page("reach", tried=tried, load=tried.load, nudges=_nudges())
    pieces = tried.pieces()
    chosen = next((one for one in pieces if one.body == tried.piece), None)
    return asked.page(
        "reach/pictures.html",
        tried=tried,
        load=tried.load,
        pieces=pieces,
        chosen=chosen,
        sides=SIDES,
        moves=moves_words(tried.moves),
        nudges=_nudges(),
    )


def _nudges() -> list[list[Nudge]]:
    """Return the buttons in rows: shifts, turns, back to the plan."""
    every = list(Nudge)
    return [every[:6], every[6:12], every[12:]]


@router.get("/reach/{load}/scene", name="reach.scene")
def scene(asked: Asking, load: str) -> Response:
    """Return a load as triangles, and what is said of its pieces."""
    tried = _Tried(asked, load)
    found = asked.opened.reach.of(asked.opened.department, tried.load, tried.moves)
    return JSONResponse({**scene_document(found), **_told(tried)})


@router.get("/reach/{load}/moved", name="reach.moved")
def moved(asked: Asking, load: str) -> Response:
    """Move a piece on and return what that changes."""
    tried = _Tried(asked, load)
    kept, department = asked.opened.reach, asked.opened.department
    found = kept.of(department, tried.load, tried.moves)
    before = kept.of(department, tried.load, tried.before)
    return JSONResponse({"changed": changed_bodies(before, found), **_told(tried)})


def _told(tried: _Tried) -> dict[str, Any]:
    """Return moves, shares, and what is said of the pieces, in the person's language."""
    pieces = tried.pieces()
    chosen = next((one for one in pieces if one.body == tried.piece), None)
    told = render("reach/told.html", tried.asked.language, pieces=pieces, chosen=chosen)
    names = {one.body: f"{tried.asked.gettext(one.words)}, {one.set_key}" for one in pieces}
    return {"m": moves_words(tried.moves), "told": told, "names": names}


@router.get("/reach/{load}/legend", name="reach.legend")
def legend(asked: Asking, load: str) -> Response:
    """Draw what the fields of the pictures mean."""
    load_of_plan(asked.opened.plan, load)
    return Response(draw_reach_legend(_LEGEND_MM, asked.gettext), media_type=_SVG)


@router.get("/reach/{load}/from/{side}", name="reach.side")
def seen_from(asked: Asking, load: str, side: str) -> Response:
    """Draw the load from one side."""
    tried = _Tried(asked, load)
    if side not in SIDES:
        raise InputError("side", f"{side!r} is none", ", ".join(SIDES))
    found = asked.opened.reach.of(asked.opened.department, tried.load, tried.moves)
    return Response(draw_reach(found, _ROOM_MM, (side,), asked.gettext), media_type=_SVG)


@router.get("/reach/{load}/piece", name="reach.piece")
def piece_seen(asked: Asking, load: str) -> Response:
    """Draw one piece from the four sides of its own axis."""
    tried = _Tried(asked, load)
    found = asked.opened.reach.of(asked.opened.department, tried.load, tried.moves)
    key = next((key for key, body in found.arranged.number_of.items() if body == tried.piece), None)
    if key is None:
        raise InputError("piece", "is none that is drawn", "the number of a piece of the load")
    return Response(draw_piece_reach(found, key, _PIECE_ROOM_MM, asked.gettext), media_type=_SVG)
