"""A piece of the catalogue as a solid: its outline drawn along the z axis from the proximal end, flat side along x."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby, pairwise
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import BoreSegment, Form, Part
from patency.reach.solids.bodies import box, turned, wire
from patency.reach.solids.mesh import OPENING, Mesh, Zone, joined, of_triangles

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue import Body, CoilPlace, PieceType
    from patency.reach.solids.mesh import Floats, Integers

PATCH_M = 0.004
"""Largest size of a surface patch unless told otherwise [m]."""
_LEAST_PATCHES = 900
_FINE = 0.5  # patches of jaws and of handles with rings are smaller by this factor
_ROUND = (Form.TUBE, Form.ROD, Form.CONE)
_DRAWINGS_KEPT = 256  # more than a load has kinds of pieces
_STEPS_PER_TURN = 24


@dataclass(frozen=True, slots=True)
class Solid:
    """A drawn piece.

    Parameters
    ----------
    mesh
        Its surface in its own axes; None where nothing could be drawn.
    gaps
        What the catalogue does not state and had to be known to draw all of it; with any, what the jets strike is
        not known.
    """

    mesh: Mesh | None
    gaps: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A body of the outline and where it begins along the axis."""

    body: Body
    begins_m: float

    @property
    def ends_m(self) -> float:
        return self.begins_m + self.body.length_m

    @property
    def word(self) -> str:
        return self.body.name or self.body.form.value


def piece_solid(piece: PieceType, cell_m: float = PATCH_M) -> Solid:
    """Draw a piece from what the catalogue states of it.

    Parameters
    ----------
    piece
        The piece.
    cell_m
        Largest size of a surface patch [m]; jaws and handles get patches half as large, small pieces smaller ones.

    Returns
    -------
    Solid
        Consecutive tubes, rods and cones are one turned body with its cups hollowed out; blocks, jaw halves, rings of
        a handle and coils are bodies of their own that touch it. What a block, jaw, ring handle, coil, cone or a
        tube without lumen needs beyond length and width and is not stated is a gap, and that body is left out.
    """
    return _drawn_once(_Same(piece), cell_m)


class _Same:
    """A piece type that equals itself alone: comparing all that is stated of it would take longer than drawing it."""

    def __init__(self, piece: PieceType) -> None:
        self.piece = piece

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.piece is self.piece

    def __hash__(self) -> int:
        return id(self.piece)


@lru_cache(maxsize=_DRAWINGS_KEPT)
def _drawn_once(same: _Same, cell_m: float) -> Solid:
    piece = same.piece
    cell_m *= fineness(piece)
    stretches, begins = [], 0.0
    for body in piece.outline:
        stretches.append(_Stretch(body, begins))
        begins += body.length_m
    meshes: list[Mesh] = []
    gaps: list[str] = []
    for is_round, group in groupby(stretches, key=lambda one: one.body.form in _ROUND):
        run = list(group)
        missing = [gap for one in run if (gap := _gap(one, piece))]
        gaps += missing
        if is_round and not missing:
            profile, zones = _profile(run, piece)
            meshes.append(turned(profile, zones, cell_m))
        elif not is_round:
            meshes += [mesh for one in run if not _gap(one, piece) for mesh in _drawn(one, piece, cell_m)]
    gaps += _cup_gaps(piece, stretches)
    return Solid(joined(meshes) if meshes else None, tuple(dict.fromkeys(gaps)))


def mesh_solid(piece: PieceType, vertices: Floats, faces: Integers, cell_m: float = PATCH_M) -> Solid:
    """Take a piece's shape from the triangles of a mesh file.

    Parameters
    ----------
    piece
        The piece.
    vertices
        [vertex, 3] places in metres, in the axes that the catalogue asks for.
    faces
        [face, 3] corners, counter-clockwise from outside.
    cell_m
        Longest edge of a patch [m]; half as long at jaws, their hinges, handles with rings and edges.

    Returns
    -------
    Solid
        The piece; its zones are those of its outline that lie at the same distance along the axis.
    """
    cell_m *= fineness(piece)
    ends = np.cumsum([body.length_m for body in piece.outline])
    # The hinge of a jaw lies where it begins, on some a little before.
    fine = [
        (end - body.length_m - cell_m, end + cell_m)
        for body, end in zip(piece.outline, ends, strict=True)
        if body.form in (Form.JAW, Form.RING_HANDLE)
    ]
    mesh = of_triangles(vertices, faces, Zone(piece.name, sided=True), cell_m, fine)
    number = np.minimum(np.searchsorted(ends, mesh.patch_centres[:, 2]), len(ends) - 1)
    zones = tuple(Zone(body.name or body.form.value, sided=True) for body in piece.outline)
    return Solid(Mesh(mesh.vertices, mesh.faces, mesh.patch_of, number.astype(np.int64), zones))


def cable_solid(piece: PieceType, place: CoilPlace, cell_m: float = PATCH_M) -> Solid:
    """Draw a cable or tube coiled on a place of the coil rack.

    Parameters
    ----------
    piece
        The cable.
    place
        The place: its mandrel gives radius and pitch. The axis of the coil is the z axis here.
    cell_m
        Largest size of a surface patch [m].

    Returns
    -------
    Solid
        A round bar along a helix against the mandrel, its thickness that of each stretch of its outline.
    """
    ends = np.cumsum([body.length_m for body in piece.outline])
    radius = (place.mandrel_diameter_m + piece.widest_m) / 2
    turn = math.hypot(2 * math.pi * radius, place.pitch_m)
    count = max(2, math.ceil(ends[-1] / min(cell_m, turn / _STEPS_PER_TURN)))
    along = np.linspace(0.0, ends[-1], count + 1)
    bodies = np.minimum(np.searchsorted(ends, along, side="left"), len(ends) - 1)
    widths = np.array([body.width_m for body in piece.outline])[bodies]
    at = radius - (piece.widest_m - widths) / 2  # thin stretches lie against the mandrel as well
    angle = 2 * math.pi * along / turn
    path = np.stack([at * np.cos(angle), at * np.sin(angle), piece.widest_m / 2 + place.pitch_m * along / turn], axis=1)
    words = [body.name or ("cable" if body.form is Form.COIL else "cable end") for body in piece.outline]
    zones = [Zone(words[number], sided=True) for number in bodies[1:]]
    return Solid(wire(path, widths / 2, zones, cell_m, close=False))


def fineness(piece: PieceType) -> float:
    """Return by which factor patches of a piece are smaller than usual because it is small.

    Parameters
    ----------
    piece
        The piece.

    Returns
    -------
    float
        Between 0 and 1, so that a piece of any size has some hundreds of patches and its share is told to a percentage
        point.
    """
    area = sum(math.pi * body.width_m * (body.length_m + body.width_m / 2) for body in piece.outline)
    return min(1.0, math.sqrt(area / (_LEAST_PATCHES * PATCH_M**2)))


def _gap(stretch: _Stretch, piece: PieceType) -> str:
    body, word = stretch.body, stretch.word
    if body.form in (Form.BLOCK, Form.RING_HANDLE) and body.thickness_m is None:
        return f"the thickness of its {word} is not stated"
    if body.form is Form.JAW and body.opening_deg is None:
        return f"how far its {word} opens is not stated"
    if body.form is Form.CONE and body.end_width_m is None:
        return f"the width at the end of its {word} is not stated"
    if body.form is Form.COIL and (body.thickness_m is None or body.turns is None):
        return f"thickness or turns of its {word} are not stated"
    if body.form is Form.TUBE and not piece.lumens and body.thickness_m is None:
        return f"the wall of its {word} is not stated"
    return ""


def _cup_gaps(piece: PieceType, stretches: list[_Stretch]) -> Iterator[str]:
    if piece.cups is None:
        yield "nobody has looked for hollows in it"
    for cup in piece.cups or ():
        if cup.opens == "side":
            yield f"where its {cup.name} lies is not stated"
            continue
        for one in stretches:
            proximal = cup.opens == "proximal"
            within = one.begins_m < cup.depth_m if proximal else one.ends_m > stretches[-1].ends_m - cup.depth_m
            if within and (one.body.form not in _ROUND or one.body.width_m <= cup.width_m):
                yield f"its {cup.name} is wider than the {one.word} around it"


def _profile(run: list[_Stretch], piece: PieceType) -> tuple[list[tuple[float, float]], list[Zone]]:
    """Return the outline of a turned body from the middle of its proximal end to the middle of its distal end."""
    first, last = run[0], run[-1]
    if len(run) == 1 and first.body.form is Form.TUBE and not piece.lumens:
        return _ring(first)
    outer = [(first.body.width_m / 2, first.begins_m)]
    names: list[Zone] = []
    for before, one in pairwise([None, *run]):
        if one is None:
            continue
        begin = (one.body.width_m / 2, one.begins_m)
        if before is not None and begin != outer[-1]:
            outer.append(begin)
            names.append(Zone(f"step at the {one.word}", sided=False))
        end_width = one.body.width_m if one.body.end_width_m is None else one.body.end_width_m
        outer.append((end_width / 2, one.ends_m))
        names.append(Zone(one.word, sided=True))
    whole = sum(body.length_m for body in piece.outline)
    foot, foot_names = _end(first, "proximal", piece if first.begins_m == 0.0 else None)
    head, head_names = _end(last, "distal", piece if last.ends_m == whole else None)
    return [*foot, *outer, *reversed(head)], [*foot_names, *names, *reversed(head_names)]


def _ring(one: _Stretch) -> tuple[list[tuple[float, float]], list[Zone]]:
    outer = one.body.width_m / 2
    inner = max(outer - (one.body.thickness_m or 0.0), 0.0)
    low, high = one.begins_m, one.ends_m
    edge, inside = Zone(f"edge of the {one.word}", sided=False), Zone(f"inside the {one.word}", sided=False)
    points = [(inner, low), (outer, low), (outer, high), (inner, high), (inner, low)]
    return points, [edge, Zone(one.word, sided=True), edge, inside]


def _end(one: _Stretch, side: str, piece: PieceType | None) -> tuple[list[tuple[float, float]], list[Zone]]:
    """Return the points from the axis to the rim of an end face, with its cup and its lumen's opening."""
    inward = 1.0 if side == "proximal" else -1.0
    at = one.begins_m if side == "proximal" else one.ends_m
    face = Zone(f"end of the {one.word}", sided=False)
    cup = next((cup for cup in (piece.cups if piece else None) or () if cup.opens == side), None)
    rim = (one.body.width_m if one.body.end_width_m is None or side == "proximal" else one.body.end_width_m) / 2
    bore = min(_bore_m(piece) / 2 if piece and one.body.form is Form.TUBE else 0.0, rim * 0.98)
    if cup is not None and cup.width_m / 2 < rim:
        inside = Zone(f"inside the {cup.name}", sided=False)
        floor = at + inward * cup.depth_m
        bore = min(bore, cup.width_m / 2 * 0.98)
        opening = [(0.0, floor), (bore, floor)] if bore else [(0.0, floor)]
        zones = [OPENING, inside] if bore else [inside]
        return [*opening, (cup.width_m / 2, floor), (cup.width_m / 2, at)], [*zones, inside, face]
    if rim == 0.0:
        return [], []
    return ([(0.0, at), (bore, at)], [OPENING, face]) if bore else ([(0.0, at)], [face])


def _bore_m(piece: PieceType) -> float:
    widths = [
        segment.bore_m.nominal if isinstance(segment, BoreSegment) else segment.outer_m.nominal
        for lumen in piece.lumens.values()
        for segment in (lumen.segments[-1],)
    ]
    return max(widths, default=0.0)


def _drawn(one: _Stretch, piece: PieceType, cell_m: float) -> Iterator[Mesh]:
    body, word = one.body, one.word
    half, low, high = body.width_m / 2, one.begins_m, one.ends_m
    if body.form is Form.BLOCK:
        thick = (body.thickness_m or 0.0) / 2
        zones = [Zone(word, sided=True)] * 6
        yield box(np.array([-half, -thick, low]), np.array([half, thick, high]), zones, cell_m)
    elif body.form is Form.JAW:
        yield from _jaws(one, cell_m * _FINE)
    elif body.form is Form.RING_HANDLE:
        bridge = "ratchet" if Part.RATCHET in (piece.states or {}) else f"yoke of the {word}"
        yield from _rings(one, bridge, cell_m * _FINE)
    elif body.form is Form.COIL:
        yield _spring(one, cell_m)


def _jaws(one: _Stretch, cell_m: float) -> Iterator[Mesh]:
    """Two halves that meet at the proximal end of the body and open in the plane of x and z."""
    body, half = one.body, one.body.width_m / 2
    turn = math.radians(body.opening_deg or 0.0) / 2
    for side, sign in (("left", -1.0), ("right", 1.0)):
        inner, outer = Zone(f"inner {one.word}, {side}", sided=False), Zone(f"outer {one.word}, {side}", sided=False)
        tip = Zone(f"tip of the {one.word}, {side}", sided=False)
        faces = [outer, inner] if sign < 0 else [inner, outer]
        low, high = sorted((0.0, sign * half))
        mesh = box(
            np.array([low, -half, 0.0]), np.array([high, half, body.length_m]), [*faces, *[outer] * 3, tip], cell_m
        )
        cosine, sine = math.cos(turn), sign * math.sin(turn)
        rotation = np.array([[cosine, 0.0, sine], [0.0, 1.0, 0.0], [-sine, 0.0, cosine]])
        yield mesh.moved(rotation, np.array([0.0, 0.0, one.begins_m]))


def _rings(one: _Stretch, bridge: str, cell_m: float) -> Iterator[Mesh]:
    """Two closed loops of bar, as long as the body and together as wide, joined by a yoke or the ratchet."""
    body = one.body
    bar = (body.thickness_m or 0.0) / 2
    bend = body.width_m / 4 - bar  # radius of the loop's middle line
    straight = max(body.length_m - 2 * (bend + bar), 0.0)
    for side, sign in (("left", -1.0), ("right", 1.0)):
        count = max(6, math.ceil(math.pi * bend / cell_m))
        steps = max(1, math.ceil(straight / cell_m))
        arc = np.linspace(0.0, math.pi, count + 1)
        rise = np.linspace(0.0, straight, steps + 1)[1:-1]
        top = np.stack([bend * np.cos(arc), straight + bend * np.sin(arc)], axis=1)
        down = np.stack([np.full(len(rise), -bend), rise[::-1]], axis=1)
        bottom = np.stack([-bend * np.cos(arc), -bend * np.sin(arc)], axis=1)
        up = np.stack([np.full(len(rise), bend), rise], axis=1)
        flat = np.concatenate([top, down, bottom, up])
        middle = one.begins_m + bar + bend
        path = np.stack([sign * body.width_m / 4 + flat[:, 0], np.zeros(len(flat)), middle + flat[:, 1]], axis=1)
        zone = Zone(f"{one.word}, {side} ring", sided=True)
        yield wire(path, np.full(len(path), bar), [zone] * len(path), cell_m, close=True)
    yoke = Zone(bridge, sided=True)
    reach = body.width_m / 4
    low, high = np.array([-reach, -bar, one.ends_m - 2 * bar]), np.array([reach, bar, one.ends_m])
    yield box(low, high, [yoke] * 6, cell_m)


def _spring(one: _Stretch, cell_m: float) -> Mesh:
    body = one.body
    bar = (body.thickness_m or 0.0) / 2
    turns = body.turns or 1.0
    radius = body.width_m / 2 - bar
    count = max(3, math.ceil(turns * max(_STEPS_PER_TURN / 2, 2 * math.pi * radius / cell_m)))
    angle = np.linspace(0.0, 2 * math.pi * turns, count + 1)
    rise = np.linspace(one.begins_m + bar, one.ends_m - bar, count + 1)
    path = np.stack([radius * np.cos(angle), radius * np.sin(angle), rise], axis=1)
    return wire(path, np.full(count + 1, bar), [Zone(one.word, sided=True)] * count, cell_m, close=False)
