"""The load carrier from above, level by level, drawn from its real geometry."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import PortKind
from patency.papers.drawing.svg import INK, Picture

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.catalogue import BasketArea, Carrier, CoilPlace, Port

_SYMBOL_MM = 4.6
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
    """

    tag: str = ""
    capped: bool = False
    left_open: bool = False


def draw_level(carrier: Carrier, level: str, marks: Mapping[str, PlaceMark], width_mm: float) -> str:
    """Draw one level from above; the front, where the loader stands, is at the foot of the picture.

    Parameters
    ----------
    carrier
        The carrier.
    level
        Key of the level.
    marks
        Port, basket area or coil place to what goes there.
    width_mm
        Width of the picture on paper.

    Returns
    -------
    str
        SVG source.
    """
    scale = (width_mm - 2 * _MARGIN_MM) / carrier.width_m
    picture = Picture(width_mm, carrier.depth_m * scale + 2 * _MARGIN_MM, f"{carrier.name}, {level}, seen from above")
    picture.add(
        "rect",
        x=_MARGIN_MM,
        y=_MARGIN_MM,
        width=carrier.width_m * scale,
        height=carrier.depth_m * scale,
        rx=2,
        fill="white",
        stroke=INK,
        stroke_width=0.6,
    )
    picture.text(width_mm / 2, picture.height_mm - 2.0, "front: you stand here", 3.2)
    picture.text(width_mm / 2, 4.6, "back", 3.2)
    paper = _Paper(picture, scale, carrier.depth_m)
    nothing = PlaceMark()
    for name, area in carrier.basket_areas.items():
        if area.level == level:
            paper.basket(name, area, marks.get(name, nothing))
    for name, place in carrier.coil_places.items():
        if place.level == level:
            paper.coil(name, place, marks.get(name, nothing))
    for circuit in carrier.circuits:
        paper.pipe([port for port in carrier.ports.values() if port.circuit == circuit and port.level == level])
    for name, port in carrier.ports.items():
        if port.level == level:
            paper.port(name, port, marks.get(name, nothing))
    return picture.to_text()


class _Paper:
    """Places on the carrier put on paper: x across, y up the page towards the back."""

    def __init__(self, picture: Picture, scale: float, depth_m: float) -> None:
        self._picture = picture
        self._scale = scale
        self._depth_m = depth_m

    def _on_paper(self, x_m: float, y_m: float) -> tuple[float, float]:
        return _MARGIN_MM + x_m * self._scale, _MARGIN_MM + (self._depth_m - y_m) * self._scale

    def basket(self, name: str, area: BasketArea, mark: PlaceMark) -> None:
        x, y = self._on_paper(area.at.x_m, area.at.y_m + area.depth_m)
        width, depth = area.width_m * self._scale, area.depth_m * self._scale
        self._picture.add(
            "rect",
            x=x + 0.5,
            y=y + 0.5,
            width=width - 1,
            height=depth - 1,
            rx=1.5,
            fill="#f2f2f2",
            stroke="#888",
            stroke_width=0.3,
            stroke_dasharray="1.2 0.8",
        )
        self._picture.text(x + width / 2, y + depth / 2 - 0.3, name, 3.4, font_weight="bold")
        self._tag(x + width / 2, y + depth / 2 + 3.6, mark.tag)

    def coil(self, name: str, place: CoilPlace, mark: PlaceMark) -> None:
        x, y = self._on_paper(place.at.x_m, place.at.y_m + place.mandrel_diameter_m / 2)
        width = place.pitch_m * place.turns * self._scale
        depth = place.mandrel_diameter_m * self._scale
        self._picture.add(
            "rect", x=x + 0.3, y=y, width=width - 0.6, height=depth, rx=1, fill="white", stroke="#888", stroke_width=0.3
        )
        self._picture.text(x + width / 2, y + depth / 2 - 0.6, name, 2.8, font_weight="bold")
        self._tag(x + width / 2, y + depth / 2 + 3.0, mark.tag)

    def pipe(self, ports: list[Port]) -> None:
        places = [self._on_paper(port.at.x_m, port.at.y_m) for port in sorted(ports, key=lambda port: port.along_m)]
        if len(places) > 1:
            points = " ".join(f"{x:.2f},{y:.2f}" for x, y in places)
            self._picture.add("polyline", points=points, fill="none", stroke="#bbb", stroke_width=1.6)

    def port(self, name: str, port: Port, mark: PlaceMark) -> None:
        x, y = self._on_paper(port.at.x_m, port.at.y_m)
        style: dict[str, float | str] = {
            "fill": "white" if mark.tag else "#e4e4e4",
            "stroke": INK,
            "stroke_width": 0.7 if mark.tag else 0.35,
        }
        _SYMBOLS[port.kind](self._picture, x, y, style)
        if mark.capped:
            self._cross(x, y)
        self._picture.text(
            x, y + 1.1, name, 3.3, font_weight="bold", paint_order="stroke", stroke="white", stroke_width=0.5
        )
        if mark.left_open:
            self._picture.text(x, y + _SYMBOL_MM + 2.4, "open", 2.6, font_weight="bold")
        self._tag(x + _SYMBOL_MM - 0.6, y + _SYMBOL_MM - 0.8, mark.tag)

    def _cross(self, x: float, y: float) -> None:
        reach = _SYMBOL_MM * 0.72
        for slope in (-1, 1):
            self._picture.add(
                "line",
                x1=x - reach,
                y1=y - slope * reach,
                x2=x + reach,
                y2=y + slope * reach,
                stroke="#555",
                stroke_width=0.6,
            )

    def _tag(self, x: float, y: float, letters: str) -> None:
        if not letters:
            return
        width = 2.0 + 2.0 * len(letters)
        self._picture.add("rect", x=x - width / 2, y=y - 2.1, width=width, height=4.2, rx=0.9, fill=INK)
        self._picture.text(x, y + 1.2, letters, 3.4, fill="white", font_weight="bold")


def _hose(picture: Picture, x: float, y: float, style: dict[str, float | str]) -> None:
    picture.add("circle", cx=x, cy=y, r=_SYMBOL_MM, **style)


def _nozzle(picture: Picture, x: float, y: float, style: dict[str, float | str]) -> None:
    picture.add(
        "rect", x=x - _SYMBOL_MM, y=y - _SYMBOL_MM, width=2 * _SYMBOL_MM, height=2 * _SYMBOL_MM, rx=0.8, **style
    )


def _taper(picture: Picture, x: float, y: float, style: dict[str, float | str]) -> None:
    r = _SYMBOL_MM * 1.2
    corners = ((-r, 0), (-r / 2, -r * 0.87), (r / 2, -r * 0.87), (r, 0), (r / 2, r * 0.87), (-r / 2, r * 0.87))
    points = " ".join(f"{x + dx:.2f},{y + dy:.2f}" for dx, dy in corners)
    picture.add("polygon", points=points, **style)


_SYMBOLS = {PortKind.HOSE: _hose, PortKind.NOZZLE: _nozzle, PortKind.TAPER: _taper}


def draw_legend() -> str:
    """Draw what the symbols mean, in one line.

    Returns
    -------
    str
        SVG source, 180 mm wide.
    """
    picture = Picture(180, 12, "hose port round, nozzle port square, taper port six-sided, crossed out: close it")
    style: dict[str, float | str] = {"fill": "white", "stroke": INK, "stroke_width": 0.7}
    x = 6.0
    for kind, words in ((PortKind.HOSE, "hose port"), (PortKind.NOZZLE, "nozzle port"), (PortKind.TAPER, "taper port")):
        _SYMBOLS[kind](picture, x, 6, style)
        picture.text(x + 8, 7.2, words, 3.4, text_anchor="start")
        x += 36
    paper = _Paper(picture, 1.0, 0.0)
    _hose(picture, x, 6, {"fill": "#e4e4e4", "stroke": INK, "stroke_width": 0.35})
    paper._cross(x, 6)  # noqa: SLF001 - same module
    picture.text(x + 8, 7.2, "close with a cap", 3.4, text_anchor="start")
    paper._tag(x + 38, 6, "A")  # noqa: SLF001 - same module
    picture.text(x + 43, 7.2, "set", 3.4, text_anchor="start")
    return picture.to_text()
