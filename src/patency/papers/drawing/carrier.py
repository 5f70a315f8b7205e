"""The load carrier from above, level by level, drawn from its real geometry."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import PortKind
from patency.papers.drawing.svg import INK, LIT, WIDTH_OF_A_SIGN, Picture

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.catalogue import BasketArea, Carrier, CoilPlace, Port

_SYMBOL_MM = 5.2
# No symbol is larger than this share of the way to the nearest other port.
_SHARE_OF_PITCH = 0.4
_MARGIN_MM = 7.0


@dataclass(frozen=True, slots=True)
class PlaceMark:
    """What stands at a place of the carrier.

    Parameters
    ----------
    tag
        Letter of the set whose piece goes there; empty where the place stays unused.
    capped
        Whether it gets a cap.
    left_open
        Whether it stays open without a cap.
    lit
        Whether a hand goes there now.
    """

    tag: str = ""
    capped: bool = False
    left_open: bool = False
    lit: bool = False


def draw_level(carrier: Carrier, level: str, marks: Mapping[str, PlaceMark], room_mm: tuple[float, float]) -> str:
    """Draw one level from above; the front, where the loader stands, is at the foot of the picture.

    Parameters
    ----------
    carrier
        The carrier.
    level
        Key of the level.
    marks
        Port, basket area or coil place to what goes there.
    room_mm
        What the picture may take up on paper, across and down; it fills one of the two.

    Returns
    -------
    str
        SVG source.
    """
    across_mm, down_mm = (room - 2 * _MARGIN_MM for room in room_mm)
    scale = min(across_mm / carrier.width_m, down_mm / carrier.depth_m)
    width_mm = carrier.width_m * scale + 2 * _MARGIN_MM
    picture = Picture(width_mm, carrier.depth_m * scale + 2 * _MARGIN_MM, f"{carrier.name}, {level}, seen from above")
    _frame(picture)
    ports = {name: port for name, port in carrier.ports.items() if port.level == level}
    coils = {name: place for name, place in carrier.coil_places.items() if place.level == level}
    paper = _Paper(picture, scale, carrier.depth_m, _symbol_mm(list(ports.values()), scale))
    nothing = PlaceMark()
    for name, area in carrier.basket_areas.items():
        if area.level == level:
            paper.basket(name, area, marks.get(name, nothing), list(coils.values()))
    for name, place in coils.items():
        paper.coil(name, place, marks.get(name, nothing))
    for circuit in carrier.circuits:
        paper.pipe([port for port in ports.values() if port.circuit == circuit])
    for name, port in ports.items():
        paper.port(name, port, marks.get(name, nothing))
    return picture.to_text()


def _frame(picture: Picture) -> None:
    """Draw the edge of the carrier and say where its front is."""
    picture.add(
        "rect",
        x=_MARGIN_MM,
        y=_MARGIN_MM,
        width=picture.width_mm - 2 * _MARGIN_MM,
        height=picture.height_mm - 2 * _MARGIN_MM,
        rx=2,
        fill="white",
        stroke=INK,
        stroke_width=0.6,
    )
    picture.text(picture.width_mm / 2, picture.height_mm - 2.0, "front: you stand here", 3.4)
    picture.text(picture.width_mm / 2, 4.6, "back", 3.4)


def _symbol_mm(ports: list[Port], scale: float) -> float:
    """Half the size of the symbols: as large as the ports that stand closest allow."""
    pitches = (math.dist((a.at.x_m, a.at.y_m), (b.at.x_m, b.at.y_m)) for a, b in itertools.combinations(ports, 2))
    return min(_SYMBOL_MM, _SHARE_OF_PITCH * scale * min(pitches, default=math.inf))


class _Paper:
    """Places on the carrier put on paper: x across, y up the page towards the back."""

    def __init__(self, picture: Picture, scale: float, depth_m: float, symbol_mm: float) -> None:
        self._picture = picture
        self._scale = scale
        self._depth_m = depth_m
        self._symbol_mm = symbol_mm

    def _on_paper(self, x_m: float, y_m: float) -> tuple[float, float]:
        return _MARGIN_MM + x_m * self._scale, _MARGIN_MM + (self._depth_m - y_m) * self._scale

    def basket(self, name: str, area: BasketArea, mark: PlaceMark, coils: list[CoilPlace]) -> None:
        """Draw a basket area; where coils hang over it, its name stands in front of them."""
        x, y = self._on_paper(area.at.x_m, area.at.y_m + area.depth_m)
        width, depth = area.width_m * self._scale, area.depth_m * self._scale
        self._picture.add(
            "rect",
            x=x + 0.5,
            y=y + 0.5,
            width=width - 1,
            height=depth - 1,
            rx=1.5,
            fill=LIT if mark.lit else "#f2f2f2",
            stroke=INK if mark.lit else "#444",
            stroke_width=1.6 if mark.lit else 0.45,
            stroke_dasharray="1.2 0.8",
        )
        over = [coil for coil in coils if area.at.y_m < coil.at.y_m < area.at.y_m + area.depth_m]
        if over:
            strip = (min(coil.at.y_m - coil.mandrel_diameter_m / 2 for coil in over) - area.at.y_m) * self._scale
            size, middle = min(3.4, strip), y + depth - strip / 2
            self._picture.name(x + width / 2 - size / 2, middle + 0.36 * size, name, size, width)
            self._picture.tag(x + width / 2 + 1.5 * size, middle, mark.tag, 0.8 * size)
        else:
            self._picture.name(x + width / 2, y + depth / 2 - 0.6, name, 5.0, width)
            self._picture.tag(x + width / 2, y + depth / 2 + 4.2, mark.tag, 4.4)

    def coil(self, name: str, place: CoilPlace, mark: PlaceMark) -> None:
        x, y = self._on_paper(place.at.x_m, place.at.y_m + place.mandrel_diameter_m / 2)
        width = place.pitch_m * place.turns * self._scale
        depth = place.mandrel_diameter_m * self._scale
        self._picture.add(
            "rect",
            x=x + 0.3,
            y=y,
            width=width - 0.6,
            height=depth,
            rx=1,
            fill=LIT if mark.lit else "white",
            stroke=INK if mark.lit else "#444",
            stroke_width=1.4 if mark.lit else 0.4,
        )
        self._picture.name(x + width / 2, y + depth / 2 - 1.2, name, 3.2, width - 0.6)
        self._picture.tag(x + width / 2, y + depth / 2 + 2.6, mark.tag, 3.4)

    def pipe(self, ports: list[Port]) -> None:
        places = [self._on_paper(port.at.x_m, port.at.y_m) for port in sorted(ports, key=lambda port: port.along_m)]
        if len(places) > 1:
            points = " ".join(f"{x:.2f},{y:.2f}" for x, y in places)
            self._picture.add("polyline", points=points, fill="none", stroke="#999", stroke_width=1.6)

    def port(self, name: str, port: Port, mark: PlaceMark) -> None:
        x, y = self._on_paper(port.at.x_m, port.at.y_m)
        size = self._symbol_mm
        if mark.lit:
            self._light(x, y, size)
        style: dict[str, float | str] = {
            "fill": LIT if mark.lit else "white" if mark.tag else "#e4e4e4",
            "stroke": INK,
            "stroke_width": 0.7 if mark.tag else 0.4,
        }
        _SYMBOLS[port.kind](self._picture, x, y, size, style)
        if mark.capped:
            self.cross(x, y)
            self._patch(x, y, name, str(style["fill"]))
        self._picture.name(x, y + 0.27 * size, name, 0.8 * size, 1.9 * size)
        if mark.left_open:
            self._picture.name(x, y + 1.7 * size, "OPEN", 0.7 * size, 4 * size)
        self._picture.tag(x + 0.95 * size, y + 0.95 * size, mark.tag, 0.75 * size)

    def _patch(self, x: float, y: float, name: str, fill: str) -> None:
        """Keep the strokes of a cross out of the name, which is read from an arm's length away."""
        width, height = 0.8 * self._symbol_mm * (WIDTH_OF_A_SIGN * len(name) + 0.15), 0.85 * self._symbol_mm
        self._picture.add("rect", x=x - width / 2, y=y - height / 2, width=width, height=height, fill=fill)

    def _light(self, x: float, y: float, size: float) -> None:
        """Ring the place where a hand goes, twice and thick, so that it is found without its colour."""
        for reach, width in ((1.75, 1.2), (2.35, 0.8)):
            self._picture.add("circle", cx=x, cy=y, r=reach * size, fill="none", stroke=INK, stroke_width=width)

    def cross(self, x: float, y: float) -> None:
        reach = self._symbol_mm * 0.9
        for slope in (-1, 1):
            self._picture.add(
                "line",
                x1=x - reach,
                y1=y - slope * reach,
                x2=x + reach,
                y2=y + slope * reach,
                stroke="#555",
                stroke_width=0.8,
            )

    def legend(self) -> None:
        """Draw what the symbols mean, in one line."""
        y, size = 6.5, self._symbol_mm
        style: dict[str, float | str] = {"fill": "white", "stroke": INK, "stroke_width": 0.7}
        for x, kind in ((6.5, PortKind.HOSE), (43, PortKind.NOZZLE), (83, PortKind.TAPER)):
            _SYMBOLS[kind](self._picture, x, y, size, style)
            self._picture.text(x + size + 3, y + 1.4, f"{kind} port", 4, text_anchor="start")
        _hose(self._picture, 120, y, size, {"fill": "#e4e4e4", "stroke": INK, "stroke_width": 0.4})
        self.cross(120, y)
        self._picture.text(128, y + 1.4, "close with cap", 4, text_anchor="start")
        self._picture.tag(164, y, "A", 4.4)
        self._picture.text(169, y + 1.4, "set A", 4, text_anchor="start")


def draw_legend() -> str:
    """Draw what the symbols mean, in one line.

    Returns
    -------
    str
        SVG source, 180 mm wide.
    """
    picture = Picture(180, 13, "hose port round, nozzle port square, taper port six-sided, crossed out: close it")
    _Paper(picture, 1.0, 0.0, _SYMBOL_MM).legend()
    return picture.to_text()


def _hose(picture: Picture, x: float, y: float, size: float, style: dict[str, float | str]) -> None:
    picture.add("circle", cx=x, cy=y, r=size, **style)


def _nozzle(picture: Picture, x: float, y: float, size: float, style: dict[str, float | str]) -> None:
    picture.add("rect", x=x - size, y=y - size, width=2 * size, height=2 * size, rx=0.8, **style)


def _taper(picture: Picture, x: float, y: float, size: float, style: dict[str, float | str]) -> None:
    r = size * 1.2
    corners = ((-r, 0), (-r / 2, -r * 0.87), (r / 2, -r * 0.87), (r, 0), (r / 2, r * 0.87), (-r / 2, r * 0.87))
    points = " ".join(f"{x + dx:.2f},{y + dy:.2f}" for dx, dy in corners)
    picture.add("polygon", points=points, **style)


_SYMBOLS = {PortKind.HOSE: _hose, PortKind.NOZZLE: _nozzle, PortKind.TAPER: _taper}
