"""A load, or one piece of it, from four sides, each patch drawn by how jets strike it, with legend and scale."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.papers.drawing.svg import INK, Picture
from patency.papers.reach.raster import View, png_address, sample_of, seen
from patency.reach import OFTEN_PER_MIN, SELDOM_PER_MIN, Look, Role, looks_of_bodies
from patency.texts import REACH_WHY

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from numpy.typing import NDArray

    from patency.reach import Arms, BodyShown, LoadReach, PlacedSolid, Screen

    Floats = NDArray[np.float64]

_POINTS_PER_MM = 8.0  # of paper: 200 to the inch
_DOWN = math.radians(30.0)  # a load is seen from above by this angle, so that levels and rows come apart
_GAP_MM, _WORDS_MM, _WORDS_WIDE_MM = 2.0, 3.0, 21.0  # how high words are, and how wide the longest
_SCALE_MM = 4.5
_LOAD_ROOM_MM, _PIECE_ROOM_MM = (184.0, 128.0), (90.0, 34.0)  # on A4
_BARS_M = (0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001, 0.0)
SIDES = ("front", "right", "back", "left")
"""From where a load is seen."""
LOOK_WORDS = {
    Look.OFTEN: f"struck directly, {OFTEN_PER_MIN:.0f} hits a minute and more",
    Look.SOMETIMES: f"struck directly, {SELDOM_PER_MIN:.0f} to {OFTEN_PER_MIN:.0f} hits a minute",
    Look.SELDOM: f"struck directly, fewer than {SELDOM_PER_MIN:.0f} hits a minute",
    Look.RINSED: "rinsed under a sleeve",
    Look.REFLECTED: "wetted only by reflection, not struck",
    Look.MISSED: "not struck",
    Look.UNKNOWN: "not known",
    Look.BARE: "carrier, sleeves, nozzles",
}
"""What each class is called in a legend."""
REACH_WORDS = (
    *(f"from the {side}" for side in SIDES), "from above", "from below", "cut lengthwise",
    "the load", "where jets strike directly", "what the fields mean",
)  # fmt: skip
"""What else these pictures say."""


@dataclass(frozen=True, slots=True)
class ReachPictures:
    """Pictures of what jets strike, for a sheet.

    Parameters
    ----------
    load_svg
        The load from four sides.
    pieces
        Name, zone and picture of each piece that is looked at first.
    legend_svg
        What the fields mean.
    why
        What struck does not say.
    """

    load_svg: str
    pieces: tuple[tuple[str, str, str], ...]
    legend_svg: str
    why: str = REACH_WHY


def reach_pictures(found: LoadReach, weakest: Mapping[tuple[str, str], str]) -> ReachPictures:
    """Draw what a sheet shows of a load.

    Parameters
    ----------
    found
        What was computed of the load.
    weakest
        Set and piece of those that are looked at first, to the zone; what could not be drawn is left out.

    Returns
    -------
    ReachPictures
        In sizes for A4.
    """
    drawn = [key for key in weakest if key in found.arranged.number_of]
    solids = [found.arranged.solids[found.arranged.number_of[key]] for key in drawn]
    return ReachPictures(
        load_svg=draw_reach(found, _LOAD_ROOM_MM),
        pieces=tuple(
            (f"{solid.words}, {key[0]}, {solid.stands_on}", weakest[key], draw_piece_reach(found, key, _PIECE_ROOM_MM))
            for key, solid in zip(drawn, solids, strict=True)
        ),
        legend_svg=draw_reach_legend(_LOAD_ROOM_MM[0]),
    )


def draw_reach(
    found: LoadReach,
    room_mm: tuple[float, float],
    sides: Sequence[str] = SIDES,
    words: Callable[[str], str] = str,
    framed: int | None = None,
) -> str:
    """Draw what the jets strike of a load, seen from its sides and a little from above.

    Parameters
    ----------
    found
        What was computed of the load.
    room_mm
        What the picture may take up, across and down [mm].
    sides
        From where, of ``SIDES``.
    words
        Says a text in another language.
    framed
        Number of a body around which a frame is drawn.

    Returns
    -------
    str
        SVG source with its scale. Wire walls are drawn as their edges, what arms sweep as dashed circles.
        Hoses are left out: how they lie is an approximation, and they would hide what is behind them.

    Raises
    ------
    ValueError
        When there is no such side.
    """
    bodies = [one for one in looks_of_bodies(found) if one[0].role is not Role.HOSE]
    picture = _Sheet(bodies, [_of_side(one) for one in sides], room_mm, words("the load"), words)
    for number in range(len(sides)):
        picture.place(number, found.arranged.screens, found.arms)
        if framed is not None:
            picture.frame(number, found.arranged.solids[framed].in_carrier.vertices)
    return picture.to_text()


def draw_piece_reach(
    found: LoadReach, piece: tuple[str, str], room_mm: tuple[float, float], words: Callable[[str], str] = str
) -> str:
    """Draw what the jets strike of one piece as it stands in its load, seen from four sides of its own axis.

    Parameters
    ----------
    found
        What was computed of the load.
    piece
        Set and piece.
    room_mm
        What the picture may take up, across and down [mm].
    words
        Says a text in another language.

    Returns
    -------
    str
        SVG source with its scale; the piece alone, its proximal end on the left. One with a zone inside is seen cut
        along its axis as well.

    Raises
    ------
    KeyError
        When there is no such piece, or it could not be drawn.
    """
    number = found.arranged.number_of[piece]
    solid = found.arranged.solids[number]
    struck = found.strikes.pieces.get(piece) if found.strikes else None
    hollow = struck is not None and any(zone.name.startswith("inside the ") for zone in struck.zones)
    views = _around(solid)
    picture = _Sheet(
        list(looks_of_bodies(found, [number])),
        [*views, _cut(solid, views[0])] if hollow else views,
        room_mm,
        solid.words,
        words,
    )
    for view in range(len(picture.views)):
        picture.place(view)
    return picture.to_text()


def draw_reach_legend(width_mm: float, words: Callable[[str], str] = str, columns: int = 2) -> str:
    """Draw what the fields of these pictures mean.

    Parameters
    ----------
    width_mm
        Its width [mm].
    words
        Says a text in another language.
    columns
        How many fields stand in a row.

    Returns
    -------
    str
        SVG source.
    """
    picture = Picture(width_mm, 5.2 * math.ceil(len(LOOK_WORDS) / columns), words("what the fields mean"))
    for number, (look, text) in enumerate(LOOK_WORDS.items()):
        x, y = number % columns * width_mm / columns, number // columns * 5.2 + 0.3
        field = sample_of(look, *(round(_POINTS_PER_MM * mm) for mm in (8.0, 4.4)))
        picture.add("image", x=x, y=y, width=8.0, height=4.4, href=png_address(field))
        picture.text(x + 9.5, y + 3.3, words(text), _WORDS_MM, text_anchor="start")
    return picture.to_text()


def _of_side(side: str) -> View:
    angle = math.pi / 2 * SIDES.index(side)
    right = np.array([math.cos(angle), math.sin(angle), 0.0])
    level = np.array([-math.sin(angle), math.cos(angle), 0.0])
    up = math.cos(_DOWN) * np.array([0.0, 0.0, 1.0]) + math.sin(_DOWN) * level
    return View(right, up, f"from the {side}")


def _around(solid: PlacedSolid) -> list[View]:
    """Return four views with a piece's axis across the picture, named by the side of the load from which it is seen."""
    axis = solid.pose.turn[:, 2]
    steep = abs(axis[2]) > math.cos(math.radians(45.0))
    toward = np.array([0.0, -1.0, 0.0]) if steep else np.array([0.0, 0.0, 1.0])
    toward = toward - axis * (toward @ axis)
    toward /= np.linalg.norm(toward)
    views = []
    for _ in SIDES:
        views.append(View(axis, np.cross(toward, axis), _from(toward)))
        toward = np.cross(axis, toward)
    return views


def _cut(solid: PlacedSolid, view: View) -> View:
    """Return a view of a piece without what lies before its axis."""
    return view._replace(words="cut lengthwise", cut_m=float(solid.pose.shift_m @ view.ahead))


def _from(toward: Floats) -> str:
    place = int(np.abs(toward).argmax())
    words = (("from the left", "from the right"), ("from the front", "from the back"), ("from below", "from above"))
    return words[place][int(toward[place] > 0)]


class _Sheet:
    """Views beside each other on one picture, all to one scale."""

    def __init__(
        self,
        bodies: Sequence[tuple[BodyShown, NDArray[np.uint8]]],
        views: Sequence[View],
        room_mm: tuple[float, float],
        what: str,
        words: Callable[[str], str],
    ) -> None:
        self.bodies, self.views, self.words = bodies, views, words
        places = np.concatenate([body.vertices_m.astype(float) for body, _ in bodies])
        self.boxes = [_box(places, view) for view in views]
        largest = np.max([box[1] - box[0] for box in self.boxes], axis=0)
        self.columns, self.mm_per_m = max(
            ((columns, _scale(largest, len(views), columns, room_mm)) for columns in range(1, len(views) + 1)),
            key=lambda one: one[1],
        )
        self.cell_mm = np.array([room_mm[0] / self.columns, largest[1] * self.mm_per_m + _WORDS_MM + _GAP_MM])
        height = math.ceil(len(views) / self.columns) * float(self.cell_mm[1]) + _SCALE_MM
        self.picture = Picture(room_mm[0], height, f"{what}: {words('where jets strike directly')}")

    def place(self, number: int, screens: Sequence[Screen] = (), arms: Arms | None = None) -> None:
        """Draw one view."""
        view, box = self.views[number], self.boxes[number]
        left, top = self._corner(number)
        points = seen(self.bodies, view, box, 1.0 / (self.mm_per_m * _POINTS_PER_MM))
        size = [count / _POINTS_PER_MM for count in points.shape]
        size_mm = min(_WORDS_MM, _WORDS_MM / _WORDS_WIDE_MM * float(self.cell_mm[0]))
        self.picture.text(left, top - 1.2, self.words(view.words), size_mm, text_anchor="start")
        self.picture.add("image", x=left, y=top, width=size[1], height=size[0], href=png_address(points))
        paper = _Paper(view, box, (left, top), self.mm_per_m)
        for one in screens:
            a, b = one.along_m, one.across_m
            edges = paper.lines(one.corner_m + np.array([0 * a, a, a + b, b, 0 * a]))
            self.picture.add("path", d=edges, fill="none", stroke="#777", stroke_width=0.12)
        for arm in arms.arms if arms else ():
            turn = np.linspace(0.0, 2 * math.pi, 73)
            ring = np.stack([np.cos(turn), np.sin(turn), 0 * turn], axis=1) * arm.radius_m + np.array(arm.centre_m)
            swept = paper.lines(ring)
            self.picture.add("path", d=swept, fill="none", stroke=INK, stroke_width=0.3, stroke_dasharray="2 1.2")

    def frame(self, number: int, places: Floats) -> None:
        """Draw a frame around places [place, 3] in one view."""
        left, top = self._corner(number)
        low, high = _box(places, self.views[number])
        x = left + (low[0] - self.boxes[number][0, 0]) * self.mm_per_m
        y = top + (self.boxes[number][1, 1] - high[1]) * self.mm_per_m
        width, height = (high - low) * self.mm_per_m
        self.picture.add("rect", x=x, y=y, width=width, height=height, fill="none", stroke=INK, stroke_width=0.9)

    def _corner(self, number: int) -> tuple[float, float]:
        corner = self.cell_mm * np.array([number % self.columns, number // self.columns])
        return float(corner[0]), float(corner[1]) + _WORDS_MM + 0.8

    def to_text(self) -> str:
        """Return the picture with its scale."""
        wide, y = self.picture.width_mm, self.picture.height_mm - 1.5
        length_m = next(one for one in _BARS_M if one * self.mm_per_m < 0.3 * wide)
        length = length_m * self.mm_per_m
        self.picture.add("line", x1=wide - 1 - length, y1=y, x2=wide - 1, y2=y, stroke=INK, stroke_width=0.6)
        self.picture.text(wide - 2 - length, y + 1.0, f"{1000 * length_m:.0f} mm", _WORDS_MM, text_anchor="end")
        return self.picture.to_text()


class _Paper:
    """Places of a load put on paper in one view."""

    def __init__(self, view: View, box: Floats, corner_mm: tuple[float, float], mm_per_m: float) -> None:
        self.view, self.box, self.corner_mm, self.mm_per_m = view, box, corner_mm, mm_per_m

    def lines(self, points: Floats) -> str:
        """Return the way along points [point, 3], broken where it leaves the picture."""
        flat = np.stack([points @ self.view.right, points @ self.view.up], axis=1)
        inside = ((flat >= self.box[0]) & (flat <= self.box[1])).all(axis=1)
        across = self.corner_mm[0] + (flat[:, 0] - self.box[0, 0]) * self.mm_per_m
        down = self.corner_mm[1] + (self.box[1, 1] - flat[:, 1]) * self.mm_per_m
        before = [False, *inside[:-1]]
        return " ".join(
            f"{'L' if goes_on else 'M'}{x:.1f} {y:.1f}"
            for x, y, here, goes_on in zip(across, down, inside, before, strict=True)
            if here
        )


def _scale(largest_m: Floats, views: int, columns: int, room_mm: tuple[float, float]) -> float:
    """Return how many millimetres a metre takes where views stand in so many columns."""
    rows = math.ceil(views / columns)
    across = (room_mm[0] / columns - _GAP_MM) / largest_m[0]
    down = ((room_mm[1] - _SCALE_MM) / rows - _WORDS_MM - _GAP_MM) / largest_m[1]
    return float(min(across, down))


def _box(places: Floats, view: View) -> Floats:
    """Return what bodies take up of a view [m], with a rim of two hundredths."""
    flat = np.stack([places @ view.right, places @ view.up], axis=1)
    low, high = flat.min(axis=0), flat.max(axis=0)
    box: Floats = np.stack([low, high]) + 0.01 * (high - low).max() * np.array([[-1.0], [1.0]])
    return box
