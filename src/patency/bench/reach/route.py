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
from patency.reach import figures_of_zones
from patency.steps import (
    Nudge,
    changed_bodies,
    load_of_plan,
    moves_words,
    read_moves,
    scene_document,
    shadows_of_piece,
    tried_pieces,
    with_nudge,
    with_shift,
)

if TYPE_CHECKING:
    from patency.load import Load
    from patency.reach import LoadReach
    from patency.steps import Move, TriedPiece

router = APIRouter(include_in_schema=False)
_ROOM_MM, _PIECE_ROOM_MM, _LEGEND_COLUMN_MM = (180.0, 150.0), (180.0, 70.0), 88.0
_LEAST = 6
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

    @property
    def found(self) -> LoadReach:
        """What the jets strike with everything moved."""
        return self.asked.opened.reach.of(self.asked.opened.department, self.load, self.moves)

    def told(self) -> dict[str, Any]:
        """Return what ``told.html`` says of the pieces."""
        department = self.asked.opened.department
        planned, found = self.asked.opened.reach.of(department, self.load), self.found
        pieces = tried_pieces(planned, found, self.moves)
        chosen = next((one for one in pieces if one.body == self.piece), None)
        told = {"tried": self, "pieces": pieces, "least": _least(pieces), "chosen": chosen}
        if chosen is None:
            return told
        key = _key(found, chosen.body)
        known = None if chosen.share is None else found.strikes
        figures = [] if known is None else figures_of_zones(known, key)
        shadows = shadows_of_piece(department, self.load, found, key, moved=chosen.moved)
        return {**told, "shadows": shadows, "figures": figures}

    @property
    def path(self) -> str:
        return f"/reach/{self.load.id}"

    def query(self, **more: object) -> str:
        """Return the moves as they stand in an address, with more after them."""
        return "?" + urlencode([*(("m", word) for word in moves_words(self.moves)), *more.items()])


def _key(found: LoadReach, body: int | None) -> tuple[str, str]:
    """Return set and piece of a body."""
    for key, number in found.arranged.number_of.items():
        if number == body:
            return key
    raise InputError("piece", "is none that is drawn", "the number of a piece of the load")


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
    return asked.page(
        "reach/pictures.html",
        load=tried.load,
        sides=SIDES,
        moves=moves_words(tried.moves),
        nudges=_nudges(),
        pictures=True,
        **tried.told(),
    )


def _nudges() -> list[list[Nudge]]:
    """Return the buttons in rows: shifts, turns, back to the plan."""
    every = list(Nudge)
    return [every[:6], every[6:12], every[12:]]


def _least(pieces: list[TriedPiece]) -> list[TriedPiece]:
    """List the pieces that are struck least, those alike in a set once."""
    alike: dict[tuple[str, str], TriedPiece] = {}
    for one in sorted((one for one in pieces if one.share is not None), key=lambda one: one.share or 0.0):
        alike.setdefault((one.set_key, one.words), one)
    return list(alike.values())[:_LEAST]


@router.get("/reach/{load}/scene", name="reach.scene")
def scene(asked: Asking, load: str) -> Response:
    """Return a load as triangles, and what is said of its pieces."""
    tried = _Tried(asked, load)
    return JSONResponse({**scene_document(tried.found), **_told(tried)})


@router.get("/reach/{load}/moved", name="reach.moved")
def moved(asked: Asking, load: str) -> Response:
    """Move a piece on and return what that changes."""
    tried = _Tried(asked, load)
    before = asked.opened.reach.of(asked.opened.department, tried.load, tried.before)
    return JSONResponse({"changed": changed_bodies(before, tried.found), **_told(tried)})


def _told(tried: _Tried) -> dict[str, Any]:
    """Return moves, shares, and what is said of the pieces, in the person's language."""
    told, say = tried.told(), tried.asked.gettext
    names = {one.body: f"{say(one.words)}, {one.set_key} ({say(one.at)})" for one in told["pieces"]}
    page = render("reach/told.html", tried.asked.language, pictures=False, **told)
    return {"m": moves_words(tried.moves), "told": page, "names": names}


@router.get("/reach/{load}/legend", name="reach.legend")
def legend(asked: Asking, load: str, columns: int = 2) -> Response:
    """Draw what the fields of the pictures mean."""
    load_of_plan(asked.opened.plan, load)
    if columns not in (1, 2):
        raise InputError("columns", str(columns), "1 or 2")
    return Response(draw_reach_legend(columns * _LEGEND_COLUMN_MM, asked.gettext, columns), media_type=_SVG)


@router.get("/reach/{load}/from/{side}", name="reach.side")
def seen_from(asked: Asking, load: str, side: str) -> Response:
    """Draw the load from one side."""
    tried = _Tried(asked, load)
    if side not in SIDES:
        raise InputError("side", f"{side!r} is none", ", ".join(SIDES))
    found = tried.found
    if tried.piece is not None:
        _key(found, tried.piece)
    return Response(draw_reach(found, _ROOM_MM, (side,), asked.gettext, tried.piece), media_type=_SVG)


@router.get("/reach/{load}/piece", name="reach.piece")
def piece_seen(asked: Asking, load: str) -> Response:
    """Draw one piece from the four sides of its own axis."""
    tried = _Tried(asked, load)
    found = tried.found
    return Response(draw_piece_reach(found, _key(found, tried.piece), _PIECE_ROOM_MM, asked.gettext), media_type=_SVG)
