"""The loaded carrier seen obliquely from the front: every piece at its port, to scale, leaning as planned.

An oblique projection: widths and heights are true, depth runs up to the right at six tenths of its length, steep enough
that the rows of ports come apart. A piece of which no side is planned is drawn leaning to the back.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from patency.catalogue import Form, Leaning, Placing
from patency.load import pieces_of_set
from patency.papers.drawing.svg import INK, Picture

if TYPE_CHECKING:
    from collections.abc import Iterable

    from patency.catalogue import Carrier, Department, PieceType, Port
    from patency.load import Load

_DEPTH_SHARE = 0.6
_DEPTH_ANGLE = math.radians(48)
_RUN, _RISE = _DEPTH_SHARE * math.cos(_DEPTH_ANGLE), _DEPTH_SHARE * math.sin(_DEPTH_ANGLE)
# Across and into the depth, seen from the front.
_TOWARD = {Leaning.BACK: (0.0, 1.0), Leaning.FRONT: (0.0, -1.0), Leaning.LEFT: (-1.0, 0.0), Leaning.RIGHT: (1.0, 0.0)}
_MARGIN_MM = 4.0
_LABEL_MM = 3.2
_THINNEST_MM = 0.9
# The floor is drawn this far below the ports, so that their sockets stand clear of it.
_BELOW_PORTS_M = 0.03


def draw_oblique(department: Department, load: Load, room_mm: tuple[float, float]) -> str:
    """Draw a load as it should look when it is right.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    room_mm
        What the picture may take up on paper, across and down; it fills one of the two.

    Returns
    -------
    str
        SVG source.
    """
    carrier = department.carriers[load.carrier]
    types = {
        (piece.set, piece.key): piece.piece_type for name in load.sets for piece in pieces_of_set(department, name)
    }
    standing = {piece.position: piece for piece in load.pieces if piece.placing is Placing.PORT}
    ends = [
        _point(carrier.ports[port], piece.leans, types[piece.set, piece.piece].length_m)
        for port, piece in standing.items()
    ]
    view = _View(carrier, room_mm, ends)
    view.floor()
    capped = {cap.port for cap in load.capped_ports}
    for name, port in sorted(carrier.ports.items(), key=lambda item: -item[1].at.y_m):
        view.socket(port, "#777" if name in capped else "white")
        if name in standing:
            piece = standing[name]
            view.hoses(port, [carrier.ports[lumen.port] for lumen in piece.lumens if lumen.port != name])
            view.piece(port, piece.leans, types[piece.set, piece.piece])
    for name, port in carrier.ports.items():
        view.label(name, port)
    return view.picture.to_text()


def _point(port: Port, leans: Leaning | None, distance_m: float) -> tuple[float, float, float]:
    """Return the point of a piece's axis at a distance from its port: across, into the depth, up [m]."""
    inclination = math.radians(port.stand.inclination_deg)
    flat_m, up_m = distance_m * math.cos(inclination), distance_m * math.sin(inclination)
    across, deep = _TOWARD[leans or Leaning.BACK]
    return port.at.x_m + flat_m * across, port.at.y_m + flat_m * deep, port.at.z_m + up_m


def _projected(x_m: float, y_m: float, z_m: float) -> tuple[float, float]:
    """Return a point as it is seen: across and up [m]."""
    return x_m + _RUN * y_m, z_m + _RISE * y_m


class _View:
    """Points of the carrier put on paper."""

    def __init__(
        self, carrier: Carrier, room_mm: tuple[float, float], ends: Iterable[tuple[float, float, float]]
    ) -> None:
        self._carrier = carrier
        self._floor_m = min((port.at.z_m for port in carrier.ports.values()), default=0.0) - _BELOW_PORTS_M
        corner = (carrier.width_m, carrier.depth_m, self._floor_m)
        seen = [_projected(*point) for point in ((0.0, 0.0, self._floor_m), corner, *ends)]
        self._left_m = min(across for across, _ in seen)
        across_m = max(across for across, _ in seen) - self._left_m
        up_m = max(up for _, up in seen) - self._floor_m
        across_mm, up_mm = (room - 2 * _MARGIN_MM for room in room_mm)
        self._scale = min(across_mm / across_m, up_mm / up_m)
        width_mm, self._height_mm = (length * self._scale + 2 * _MARGIN_MM for length in (across_m, up_m))
        self.picture = Picture(width_mm, self._height_mm, f"{carrier.name} loaded, seen from the front")

    def _on_paper(self, x_m: float, y_m: float, z_m: float) -> tuple[float, float]:
        across_m, up_m = _projected(x_m, y_m, z_m)
        across = _MARGIN_MM + (across_m - self._left_m) * self._scale
        return across, self._height_mm - _MARGIN_MM - (up_m - self._floor_m) * self._scale

    def _at(self, port: Port) -> tuple[float, float]:
        return self._on_paper(port.at.x_m, port.at.y_m, port.at.z_m)

    def floor(self) -> None:
        """Draw the plane the ports stand on, and say where the loader stands."""
        width, depth, z = self._carrier.width_m, self._carrier.depth_m, self._floor_m
        corners = [self._on_paper(x, y, z) for x, y in ((0.0, 0.0), (width, 0.0), (width, depth), (0.0, depth))]
        points = " ".join(f"{x:.2f},{y:.2f}" for x, y in corners)
        self.picture.add("polygon", points=points, fill="#f2f2f2", stroke="#666", stroke_width=0.5)

    def socket(self, port: Port, fill: str) -> None:
        x, y = self._at(port)
        self.picture.add("ellipse", cx=x, cy=y, rx=2.0, ry=1.1, fill=fill, stroke=INK, stroke_width=0.4)

    def label(self, name: str, port: Port) -> None:
        x, y = self._at(port)
        self.picture.text(
            x, y + 4.2, name, _LABEL_MM, font_weight="bold", paint_order="stroke", stroke="white", stroke_width=1.0
        )

    def hoses(self, port: Port, others: Iterable[Port]) -> None:
        """Draw the hoses that come over from other ports to a piece with more than one lumen."""
        x, y = self._at(port)
        for other in others:
            x1, y1 = self._at(other)
            self.picture.add(
                "path",
                d=f"M{x1:.2f},{y1:.2f} Q{(x1 + x) / 2:.2f},{min(y1, y) - 12:.2f} {x:.2f},{y - 4:.2f}",
                fill="none",
                stroke=INK,
                stroke_width=0.5,
                stroke_dasharray="1.6 1",
            )

    def piece(self, port: Port, leans: Leaning | None, piece: PieceType) -> None:
        """Draw a piece from its lower end at the port along its lean, body by body."""
        bodies = piece.outline if piece.way_up != "distal down" else list(reversed(piece.outline))
        along = 0.0
        for body in bodies:
            near, far = (self._on_paper(*_point(port, leans, at)) for at in (along, along + body.length_m))
            proximal, distal = (near, far) if piece.way_up != "distal down" else (far, near)
            self._body(proximal, distal, body.width_m * self._scale, body.form)
            along += body.length_m

    def _body(self, proximal: tuple[float, float], distal: tuple[float, float], width: float, form: Form) -> None:
        if form is Form.JAW:
            half = max(width / 2, 1.0)
            for side in (-half, half):
                self._line(proximal, (distal[0] + side, distal[1]), INK, 0.7)
        elif form is Form.RING_HANDLE:
            self._ring_handle(proximal, distal, width)
        else:
            wide = max(width, _THINNEST_MM)
            self._line(proximal, distal, INK, wide + 0.7)
            self._line(proximal, distal, "white" if form is Form.TUBE else "#ccc", wide)

    def _ring_handle(self, proximal: tuple[float, float], distal: tuple[float, float], width: float) -> None:
        length = math.dist(proximal, distal)
        radius = min(width, length) / 4
        # The rings lie at the proximal end, their middles one radius along the axis.
        x, y = (near + radius / length * (far - near) for near, far in zip(proximal, distal, strict=True))
        for side in (-radius, radius):
            self._line((x + side / 2, y), distal, INK, 0.7)
            self.picture.add("circle", cx=x + side, cy=y, r=radius, fill="white", stroke=INK, stroke_width=0.5)

    def _line(self, start: tuple[float, float], end: tuple[float, float], stroke: str, width: float) -> None:
        (x1, y1), (x2, y2) = start, end
        self.picture.add("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=stroke, stroke_width=width)
