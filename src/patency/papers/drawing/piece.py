"""A piece drawn to scale from its outline: the end that goes to the port left, the other right."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue import Form
from patency.papers.drawing.svg import INK, Picture

if TYPE_CHECKING:
    from patency.catalogue import PieceType

# Thinner than this a line vanishes in a copy of a copy.
_THINNEST_MM = 0.6


def draw_piece(piece: PieceType, scale: float) -> str:
    """Draw one piece: its proximal end left, or its distal end where that one goes down to the port.

    Parameters
    ----------
    piece
        The piece type with its outline.
    scale
        Millimetres on paper per metre of piece; the same for all pieces of a sheet.

    Returns
    -------
    str
        SVG source, as large as the piece at that scale.
    """
    height = max(piece.widest_m * scale, 2.0) + 1.0
    picture = Picture(piece.length_m * scale + 1.0, height, piece.name)
    x = 0.5
    for body in piece.outline:
        length, width = body.length_m * scale, max(body.width_m * scale, _THINNEST_MM)
        _BODIES[body.form](picture, x, height / 2, length, width)
        x += length
    if piece.way_up == "distal down":
        picture.mirror()
    return picture.to_text()


def _tube(picture: Picture, x: float, y: float, length: float, width: float) -> None:
    picture.add("rect", x=x, y=y - width / 2, width=length, height=width, fill="white", stroke=INK, stroke_width=0.4)


def _rod(picture: Picture, x: float, y: float, length: float, width: float) -> None:
    picture.add("rect", x=x, y=y - width / 2, width=length, height=width, fill="#999", stroke=INK, stroke_width=0.4)


def _cone(picture: Picture, x: float, y: float, length: float, width: float) -> None:
    points = f"{x:.2f},{y - width / 2:.2f} {x + length:.2f},{y:.2f} {x:.2f},{y + width / 2:.2f}"
    picture.add("polygon", points=points, fill="#ccc", stroke=INK, stroke_width=0.4)


def _block(picture: Picture, x: float, y: float, length: float, width: float) -> None:
    picture.add(
        "rect", x=x, y=y - width / 2, width=length, height=width, rx=0.6, fill="#ddd", stroke=INK, stroke_width=0.4
    )


def _jaw(picture: Picture, x: float, y: float, length: float, width: float) -> None:
    opening = max(width, 1.2)
    for side in (-1, 1):
        picture.add(
            "line",
            x1=x,
            y1=y,
            x2=x + length,
            y2=y + side * opening / 2,
            stroke=INK,
            stroke_width=0.6,
            stroke_linecap="round",
        )


def _ring_handle(picture: Picture, x: float, y: float, length: float, width: float) -> None:
    radius = min(width / 4, length / 4)
    for side in (-1, 1):
        picture.add(
            "circle", cx=x + radius + 0.2, cy=y + side * radius, r=radius, fill="white", stroke=INK, stroke_width=0.5
        )
        picture.add(
            "line", x1=x + 2 * radius, y1=y + side * radius / 2, x2=x + length, y2=y, stroke=INK, stroke_width=0.7
        )


def _coil(picture: Picture, x: float, y: float, length: float, width: float) -> None:
    turns = 6
    points = " ".join(
        f"{x + length * step / (2 * turns):.2f},{y + (-width if step % 2 else width) / 2:.2f}"
        for step in range(2 * turns + 1)
    )
    picture.add("polyline", points=points, fill="none", stroke=INK, stroke_width=0.4)


_BODIES = {
    Form.TUBE: _tube,
    Form.ROD: _rod,
    Form.CONE: _cone,
    Form.BLOCK: _block,
    Form.JAW: _jaw,
    Form.RING_HANDLE: _ring_handle,
    Form.COIL: _coil,
}
