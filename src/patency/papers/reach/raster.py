"""What is seen of bodies from far away: for each point of a raster the class of the surface, and how it is lit."""

from __future__ import annotations

import base64
import struct
import zlib
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.reach import Look, RayScene

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.reach import BodyShown

    Floats = NDArray[np.float64]

_COLOURS = {
    Look.OFTEN: ("#e2f3fc", "#e2f3fc"),
    Look.SOMETIMES: ("#b4dcf0", "#1f5f86"),
    Look.SELDOM: ("#86c1de", "#2b6c94"),
    Look.RINSED: ("#b7dcb8", "#1d5a2d"),
    Look.REFLECTED: ("#e39a34", "#472700"),
    Look.MISSED: ("#611212", "#ffffff"),
    Look.UNKNOWN: ("#ffffff", "#555555"),
    Look.BARE: ("#c6c6c6", "#c6c6c6"),
}
"""Ground and pattern of each class: the more is known to arrive, the lighter, so that grey tells them apart too."""
_EDGE, _PAPER = "#111111", "#ffffff"
_PERIOD = 8
_SHADES = 3  # of each colour, by the slant under which a surface is seen
_DARKEST = 0.84
_LEAST_STEP_M = 0.010  # a jump in depth that is drawn as an edge within one body


class View(NamedTuple):
    """A direction in which bodies are seen, without perspective.

    Parameters
    ----------
    right, up
        [3] unit vectors of the picture's axes.
    words
        From where it is seen.
    cut_m
        How far ahead all is cut away, so that what is behind lies open [m]; None where nothing is.
    """

    right: Floats
    up: Floats
    words: str
    cut_m: float | None = None

    @property
    def ahead(self) -> Floats:
        """[3] unit vector from the eye into the picture."""
        return np.cross(self.up, self.right)


def seen(
    bodies: Sequence[tuple[BodyShown, NDArray[np.uint8]]], view: View, box: Floats, pixel_m: float
) -> NDArray[np.uint8]:
    """Draw bodies as seen in one direction.

    Parameters
    ----------
    bodies
        The bodies with the class of each patch.
    view
        The direction.
    box
        [2, 2] least and largest place along ``right`` and ``up`` [m].
    pixel_m
        Size of a point of the raster [m].

    Returns
    -------
    NDArray[np.uint8]
        [row, column] numbers of colours in ``palette``; the first row is the uppermost. Where a body is cut it has the
        colour of edges.
    """
    columns, rows = (max(1, int(np.ceil(size / pixel_m))) for size in box[1] - box[0])
    across = box[0, 0] + (np.arange(columns) + 0.5) * pixel_m
    upward = box[1, 1] - (np.arange(rows) + 0.5) * pixel_m
    scene = RayScene([(body.vertices_m.astype(float), body.faces.astype(np.int64)) for body, _ in bodies])
    depths = np.concatenate([body.vertices_m @ view.ahead for body, _ in bodies])
    nearest = float(depths.min()) - 0.01 if view.cut_m is None else view.cut_m
    farthest = float(depths.max()) + 0.01
    plane = across[None, :, None] * view.right + upward[:, None, None] * view.up
    begins = (plane + nearest * view.ahead).reshape(-1, 3)
    faces = scene.first_met(begins, begins + (farthest - nearest) * view.ahead).reshape(rows, columns)
    met = faces >= 0
    corners = np.concatenate([body.vertices_m[body.faces].astype(float) for body, _ in bodies])[faces]
    normals = np.cross(corners[:, :, 1] - corners[:, :, 0], corners[:, :, 2] - corners[:, :, 0])
    slant = np.minimum(normals @ view.ahead, -1e-15)  # a surface that is seen looks toward the eye
    depth = np.einsum("ijk,ijk->ij", corners[:, :, 0] - plane, normals) / slant
    facing = -slant / np.maximum(np.linalg.norm(normals, axis=2), 1e-15)
    shade = np.minimum((facing * _SHADES).astype(int), _SHADES - 1)
    look = np.concatenate([looks[body.patch_of] for body, looks in bodies])[faces]
    number = 2 + 2 * (_SHADES * look.astype(int) + shade) + _patterned(look, *np.indices(faces.shape))
    painted = np.where(met, number, 0)
    painted[met & (normals @ view.ahead > 0.0)] = 1  # seen from within: there the body is cut
    painted[met & _edges(np.where(met, scene.body_of_face[faces], -1), depth)] = 1
    return painted.astype(np.uint8)


def _edges(body: NDArray[np.int32], depth: Floats) -> NDArray[np.bool_]:
    """Tell at which points another body begins, or the same one farther away."""
    edge = np.zeros(body.shape, dtype=bool)
    for axis in (0, 1):
        for step in (1, -1):
            other, farther = np.roll(body, step, axis), np.roll(depth, step, axis) - depth
            edge |= (other < 0) | (other != body) & (farther > 0) | (other == body) & (farther > _LEAST_STEP_M)
    return edge


def _patterned(look: NDArray[np.uint8], row: NDArray[np.int_], column: NDArray[np.int_]) -> NDArray[np.bool_]:
    """Tell which points of a raster carry the ink of their class's pattern."""
    half = _PERIOD // 2
    patterns = {
        Look.SOMETIMES: (row % _PERIOD < 2) & ((column + half * (row // _PERIOD % 2)) % _PERIOD < 2),
        Look.SELDOM: (row % half < 2) & ((column + 2 * (row // half % 2)) % half < 2),
        Look.RINSED: row % half == 0,
        Look.REFLECTED: (row + column) % _PERIOD < 3,
        Look.MISSED: ((row + column) % _PERIOD == 0) | ((row - column) % _PERIOD == 0),
        Look.UNKNOWN: (row // half + column // half) % 2 == 0,
    }
    inked = np.zeros(look.shape, dtype=bool)
    for each, pattern in patterns.items():
        inked |= (look == each) & pattern
    return inked


def sample_of(look: Look, columns: int, rows: int) -> NDArray[np.uint8]:
    """Draw a field of one class, for a legend.

    Parameters
    ----------
    look
        The class.
    columns
        Its width in points.
    rows
        Its height in points.

    Returns
    -------
    NDArray[np.uint8]
        [row, column] numbers of colours in ``palette``.
    """
    row, column = np.indices((rows, columns))
    field = 2 + 2 * (_SHADES * int(look) + _SHADES - 1) + _patterned(np.full((rows, columns), look), row, column)
    field[[0, -1], :] = field[:, [0, -1]] = 1
    return field.astype(np.uint8)


def palette() -> NDArray[np.uint8]:
    """Return the colours: paper, edge, then of each class each shade of its ground and of its pattern.

    Returns
    -------
    NDArray[np.uint8]
        [colour, 3] red, green, blue.
    """
    colours = [_rgb(_PAPER), _rgb(_EDGE)]
    for look in Look:
        for shade in np.linspace(_DARKEST, 1.0, _SHADES):
            colours += [tuple(round(shade * part) for part in _rgb(colour)) for colour in _COLOURS[look]]
    return np.array(colours, dtype=np.uint8)


def _rgb(colour: str) -> tuple[int, ...]:
    return tuple(bytes.fromhex(colour[1:]))


def png_address(points: NDArray[np.uint8]) -> str:
    """Write a raster as a PNG that stands in an address (ISO/IEC 15948, colour type 3).

    Parameters
    ----------
    points
        [row, column] numbers of colours in ``palette``.

    Returns
    -------
    str
        ``data:image/png;base64,...``
    """
    rows, columns = points.shape
    lines = np.concatenate([np.zeros((rows, 1), dtype=np.uint8), points], axis=1).tobytes()
    parts = [
        (b"IHDR", struct.pack(">IIBBBBB", columns, rows, 8, 3, 0, 0, 0)),
        (b"PLTE", palette().tobytes()),
        (b"IDAT", zlib.compress(lines, 9)),
        (b"IEND", b""),
    ]
    file = b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data)) for kind, data in parts
    )
    return "data:image/png;base64," + base64.b64encode(file).decode("ascii")
