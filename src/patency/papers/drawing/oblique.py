"""The loaded carrier seen obliquely from the front: every piece at its port, to scale, leaning as it stands.

A cabinet projection: widths and heights are true, depth runs up to the right at half its length.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from patency.catalogue import Form, Placing
from patency.papers.drawing.svg import INK, Picture

if TYPE_CHECKING:
    from patency.catalogue import Carrier, Department, PieceType, Port
    from patency.load import Load

_DEPTH_SHARE = 0.5
_DEPTH_ANGLE = math.radians(40)
_MARGIN_MM = 4.0
_THINNEST_MM = 0.9


def draw_oblique(department: Department, load: Load, width_mm: float) -> str:
    """Draw a load as it should look when it is right.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    width_mm
        Width of the picture on paper.

    Returns
    -------
    str
        SVG source.
    """
    carrier = department.carriers[load.carrier]
    view = _View(carrier, width_mm, f"{carrier.name} loaded, seen from the front")
    view.floor()
    standing = {
        connection.port: (department.instruments[piece.piece.split("/")[0]].pieces[piece.piece.split("/")[2]], n == 0)
        for piece in load.pieces
        if piece.placing is Placing.PORT
        for n, connection in enumerate(piece.lumens)
    }
    capped = {cap.port for cap in load.capped_ports}
    for name, port in sorted(carrier.ports.items(), key=lambda item: -item[1].at.y_m):
        piece, stands_here = standing.get(name, (None, False))
        view.socket(port, name in capped)
        if piece is not None and stands_here:
            view.piece(port, piece)
    for name, port in carrier.ports.items():
        view.label(name, port)
    return view.picture.to_text()


class _View:
    """Points of the carrier put on paper."""

    def __init__(self, carrier: Carrier, width_mm: float, title: str) -> None:
        run, rise = _DEPTH_SHARE * math.cos(_DEPTH_ANGLE), _DEPTH_SHARE * math.sin(_DEPTH_ANGLE)
        self._run, self._rise = run, rise
        lowest = min((port.at.z_m for port in carrier.ports.values()), default=0.0) - 0.03
        self._floor_m = lowest
        self._carrier = carrier
        self._scale = (width_mm - 2 * _MARGIN_MM) / (carrier.width_m + run * carrier.depth_m)
        top = carrier.height_m + rise * carrier.depth_m - lowest
        self._height_mm = top * self._scale + 2 * _MARGIN_MM
        self.picture = Picture(width_mm, self._height_mm, title)

    def _on_paper(self, x_m: float, y_m: float, z_m: float) -> tuple[float, float]:
        across = _MARGIN_MM + (x_m + self._run * y_m) * self._scale
        up = _MARGIN_MM + (z_m - self._floor_m + self._rise * y_m) * self._scale
        return across, self._height_mm - up

    def floor(self) -> None:
        """Draw the plane the ports stand on and the carrier's upright edges."""
        width, depth, height, z = self._carrier.width_m, self._carrier.depth_m, self._carrier.height_m, self._floor_m
        corners = [self._on_paper(x, y, z) for x, y in ((0.0, 0.0), (width, 0.0), (width, depth), (0.0, depth))]
        points = " ".join(f"{x:.2f},{y:.2f}" for x, y in corners)
        self.picture.add("polygon", points=points, fill="#f4f4f4", stroke="#888", stroke_width=0.4)
        for x in (0.0, width):
            (x1, y1), (x2, y2) = self._on_paper(x, depth, z), self._on_paper(x, depth, height)
            self.picture.add("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke="#bbb", stroke_width=0.4)

    def socket(self, port: Port, capped: bool) -> None:  # noqa: FBT001 - drawn filled or not
        x, y = self._on_paper(port.at.x_m, port.at.y_m, port.at.z_m)
        self.picture.add(
            "ellipse", cx=x, cy=y, rx=1.8, ry=1.0, fill="#777" if capped else "white", stroke=INK, stroke_width=0.35
        )

    def label(self, name: str, port: Port) -> None:
        x, y = self._on_paper(port.at.x_m, port.at.y_m, port.at.z_m)
        self.picture.text(
            x, y + 3.6, name, 2.7, font_weight="bold", paint_order="stroke", stroke="white", stroke_width=0.6
        )

    def piece(self, port: Port, piece: PieceType) -> None:
        """Draw a piece from its lower end at the port along its lean, body by body."""
        lean = math.radians(port.stand.inclination_deg)
        bodies = piece.outline if piece.way_up != "distal down" else list(reversed(piece.outline))
        along = 0.0
        for body in bodies:
            start = self._along(port, lean, along)
            end = self._along(port, lean, along + body.length_m)
            self._body(start, end, body.width_m * self._scale, body.form)
            along += body.length_m

    def _along(self, port: Port, lean: float, distance_m: float) -> tuple[float, float]:
        return self._on_paper(
            port.at.x_m, port.at.y_m + distance_m * math.cos(lean), port.at.z_m + distance_m * math.sin(lean)
        )

    def _body(self, start: tuple[float, float], end: tuple[float, float], width: float, form: Form) -> None:
        (x1, y1), (x2, y2) = start, end
        if form in {Form.JAW, Form.RING_HANDLE}:
            half = width / 2 if form is Form.RING_HANDLE else max(width / 2, 0.8)
            for side in (-1, 1):
                ends = (x1 + side * half, y1, x2, y2) if form is Form.RING_HANDLE else (x1, y1, x2 + side * half, y2)
                self.picture.add(
                    "line",
                    x1=ends[0],
                    y1=ends[1],
                    x2=ends[2],
                    y2=ends[3],
                    stroke=INK,
                    stroke_width=0.6,
                    stroke_linecap="round",
                )
            return
        wide = max(width, _THINNEST_MM)
        for colour, thickness in ((INK, wide + 0.5), ("white" if form is Form.TUBE else "#ddd", wide)):
            self.picture.add("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=colour, stroke_width=thickness)
