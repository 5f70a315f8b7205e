"""The floor of a basket or pod from above: every piece where the plan lays it, to scale, with its number."""

from __future__ import annotations

import math
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import Leaning
from patency.papers.drawing.svg import INK, LIT, WIDTH_OF_A_SIGN, Picture

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from numpy.typing import NDArray

    from patency.reach import FloorPlan, Outline, Rectangle

    Floats = NDArray[np.float64]

_MARGIN_MM, _HEAD_MM, _FOOT_MM = 1.5, 6.0, 9.6
_NAME_MM, _WORDS_MM, _NUMBER_MM = 5.0, 3.4, 4.2
_DIGIT_HEIGHT = 0.72  # of the height of its type
_GAPS_MM, _FREE_MM = (0.7, 2.0, 4.0, 7.0), 0.6  # from a small piece to the number beside it; around that number
_WAYS = np.array([(1, 0), (0, -1), (-1, 0), (0, 1), (1, -1), (-1, -1), (-1, 1), (1, 1)])
_NUMBERS_APART = 1.5  # of their height
_PLACES_OF_NUMBER = np.linspace(0.06, 0.94, 23)  # of the length of a piece
_END_MM, _END_SHARE = 1.3, 0.12  # half of its width; of the length of a short piece
_TOWARD = {Leaning.RIGHT: (1, 0), Leaning.BACK: (0, 1), Leaning.LEFT: (-1, 0), Leaning.FRONT: (0, -1)}


def draw_floor(
    floor: FloorPlan,
    numbers: Mapping[tuple[str, str], str],
    letters: Mapping[str, str],
    lit: Collection[tuple[str, str]],
    room_mm: tuple[float, float],
) -> str:
    """Draw a floor from above; the front, where the loader stands, is at the foot of the picture.

    Parameters
    ----------
    floor
        The floor, with what lies on it.
    numbers
        Set and piece to its number in the list beside the picture.
    letters
        Set to the letter that stands for it.
    lit
        Set and piece of those to which a hand goes now; with a pod that of any piece in it.
    room_mm
        What the picture may take up, across and down; it fills one of the two.

    Returns
    -------
    str
        SVG source.
    """
    across_mm, down_mm = room_mm[0] - 2 * _MARGIN_MM, room_mm[1] - _HEAD_MM - _FOOT_MM
    scale = min(across_mm / floor.width_m, down_mm / floor.depth_m)
    paper = _Paper(floor, scale)
    paper.frame(letters)
    sets = {owner for owner, _ in lit}
    for owner, pod in floor.pods.items():
        paper.pod(pod, letters[owner], lit=owner in sets and not any(key in floor.outlines for key in lit))
    for key, outline in floor.outlines.items():
        paper.piece(outline, lit=key in lit)
    # The narrowest piece has the fewest places for its number; beside small pieces there is room when the others have.
    order = sorted(floor.outlines, key=lambda key: float(np.ptp(floor.outlines[key].corners_m, axis=0).min()))
    for key in order:
        if not paper.is_small(floor.outlines[key]):
            paper.number(floor.outlines[key], numbers[key], lit=key in lit)
    for key in order:
        if paper.is_small(floor.outlines[key]):
            paper.number_beside(floor.outlines[key], numbers[key], lit=key in lit)
    return paper.picture.to_text()


class _Paper:
    """Places on the floor put on paper: x across, y up the page towards the back."""

    def __init__(self, floor: FloorPlan, scale: float) -> None:
        self.floor, self.scale = floor, scale
        self.width_mm, self.depth_mm = floor.width_m * scale, floor.depth_m * scale
        words = f"{_words(floor.name)}, seen from above"
        self.picture = Picture(self.width_mm + 2 * _MARGIN_MM, self.depth_mm + _HEAD_MM + _FOOT_MM, words)
        self.written: list[tuple[float, float]] = []

    def on_paper(self, places_m: Floats) -> Floats:
        x, y = places_m[..., 0] * self.scale, places_m[..., 1] * self.scale
        return np.stack([_MARGIN_MM + x, _HEAD_MM + self.depth_mm - y], axis=-1)

    def frame(self, letters: Mapping[str, str]) -> None:
        """Draw the edge of the floor; say what it is and where its front is."""
        picture, middle = self.picture, self.picture.width_mm / 2
        owner = self.floor.name.removeprefix("pod of ")
        is_pod = owner != self.floor.name
        name = "pod" if is_pod else owner
        picture.text(_MARGIN_MM, 4.6, name, _NAME_MM, text_anchor="start", font_weight="bold")
        if is_pod:
            picture.tag(_MARGIN_MM + 13.0, 2.9, letters[owner], 4.0)
        picture.text(middle, 4.6, "back", _WORDS_MM)
        picture.text(middle, picture.height_mm - 5.6, "front: you stand here", _WORDS_MM)
        self.end(np.array([middle - 9.0, picture.height_mm - 2.4]), np.array([1, 0]), _END_MM)
        picture.text(middle - 7.5, picture.height_mm - 1.2, "distal end", _WORDS_MM, text_anchor="start")
        picture.add(
            "rect", x=_MARGIN_MM, y=_HEAD_MM, width=self.width_mm, height=self.depth_mm, rx=1.2,
            fill="#f2f2f2", stroke=INK, stroke_width=0.6,
        )  # fmt: skip

    def pod(self, pod: Rectangle, letter: str, *, lit: bool) -> None:
        x, y = (float(one) for one in self.on_paper(np.array([pod.left_m, pod.front_m + pod.depth_m])))
        width, depth = pod.width_m * self.scale, pod.depth_m * self.scale
        self.picture.add(
            "rect", x=x, y=y, width=width, height=depth, rx=1, fill=LIT if lit else "white", stroke=INK,
            stroke_width=1.4 if lit else 0.4, stroke_dasharray="none" if lit else "1.6 0.8",
        )  # fmt: skip
        size = min(_NUMBER_MM, depth / 3)
        self.picture.name(x + width / 2, y + depth / 2 - 0.3 * size, "pod", size, width)
        self.picture.tag(x + width / 2, y + depth / 2 + 0.8 * size, letter, 0.9 * size)

    def piece(self, outline: Outline, *, lit: bool) -> None:
        """Draw a piece and, black, which end is the distal one."""
        corners = self.on_paper(outline.corners_m)
        self.picture.add(
            "polygon", points=_points(corners), fill=LIT if lit else "white", stroke=INK, stroke_linejoin="round",
            stroke_width=0.9 if lit else 0.35,
        )  # fmt: skip
        toward = np.array(_TOWARD[outline.points]) * np.array([1, -1])
        low, high = corners.min(axis=0), corners.max(axis=0)
        axis = int(toward[1] != 0)
        tip = np.where(toward > 0, high, low).astype(float)
        tip[1 - axis] = np.mean(_crossing(corners, axis, float(tip[axis] - 0.02 * toward[axis] * (high - low)[axis])))
        size = min(_END_MM, _END_SHARE * float((high - low)[axis]))
        self.end(tip, toward, size)
        if size == _END_MM:  # in a shorter piece the number has no room to keep away from it
            foot = tip - size * toward
            self.written.append((float(foot[0]), float(foot[1])))

    def end(self, tip: Floats, toward: Floats, size_mm: float) -> None:
        """Draw what marks a distal end."""
        foot, side = tip - 2 * size_mm * toward, size_mm * np.array([-toward[1], toward[0]])
        corners = np.array([tip, foot + side, foot - side])
        self.picture.add("polygon", points=_points(corners), fill=INK, stroke="white", stroke_width=0.25)

    def number(self, outline: Outline, words: str, *, lit: bool) -> None:
        """Write the number of a piece on it: where it is widest, away from other numbers."""
        corners = self.on_paper(outline.corners_m)
        low, high = corners.min(axis=0), corners.max(axis=0)
        axis = 0 if outline.points in {Leaning.LEFT, Leaning.RIGHT} else 1
        clear, best = _NUMBERS_APART * _NUMBER_MM, (-math.inf, 0.0, 0.0)
        for share in _PLACES_OF_NUMBER:
            along = float(low[axis] + share * (high - low)[axis])
            edges = _crossing(corners, axis, along)
            x, y = (along, float(edges.mean())) if axis == 0 else (float(edges.mean()), along)
            away = min((math.dist((x, y), other) for other in self.written), default=clear)
            worth = min(away, clear) / clear + min(_rim(corners, np.array([x, y])) / _NUMBER_MM, 1.0)
            best = max(best, (worth, x, y))
        _, x, y = best
        self.write(np.array([x, y]), words, lit=lit)

    def is_small(self, outline: Outline) -> bool:
        """Tell whether a number would hide a piece: out of the sides of a long one it may stand."""
        size = np.ptp(self.on_paper(outline.corners_m), axis=0)
        return bool(size.max() <= 3 * _NUMBER_MM and 0.85 * size.min() < _NUMBER_MM)

    def number_beside(self, outline: Outline, words: str, *, lit: bool) -> None:
        """Write the number of a small piece beside it, as near as nothing else is, with a line to it."""
        corners = self.on_paper(outline.corners_m)
        low, high = corners.min(axis=0), corners.max(axis=0)
        half = np.array([0.6 + WIDTH_OF_A_SIGN * len(words), 1.2]) * _NUMBER_MM / 2
        others = [self.on_paper(one.corners_m) for one in self.floor.outlines.values() if one is not outline]
        taken = [(one.min(axis=0), one.max(axis=0)) for one in others]
        taken += [(np.array(at) - half, np.array(at) + half) for at in self.written]
        edge = np.array([_MARGIN_MM, _HEAD_MM])
        far = edge + np.array([self.width_mm, self.depth_mm])
        best, at = -math.inf, (low + high) / 2
        for gap, way in product(_GAPS_MM, _WAYS):
            place = (low + high) / 2 + way * ((high - low) / 2 + gap + half)
            free = [float(np.maximum(least - place - half, place - half - most).max()) for least, most in taken]
            inside = float(min((place - half - edge).min(), (far - place - half).min()))
            worth = min(*free, inside, _FREE_MM) - 0.02 * gap
            if worth > best:
                best, at = worth, place
        foot = at.clip(low, high)
        end = foot.clip(at - half, at + half)
        self.picture.add("line", x1=foot[0], y1=foot[1], x2=end[0], y2=end[1], stroke=INK, stroke_width=0.35)
        self.write(at, words, lit=lit)

    def write(self, at: Floats, words: str, *, lit: bool) -> None:
        """Write a number with its middle at a place."""
        self.written.append((float(at[0]), float(at[1])))
        if lit:
            self.picture.tag(float(at[0]), float(at[1]), words, _NUMBER_MM)
        else:
            base = float(at[1]) + _DIGIT_HEIGHT / 2 * _NUMBER_MM
            self.picture.name(float(at[0]), base, words, _NUMBER_MM, 4 * _NUMBER_MM)


def _words(name: str) -> str:
    return name if name.startswith("pod of ") else f"basket {name}"


def _points(corners: Floats) -> str:
    return " ".join(f"{x:.2f},{y:.2f}" for x, y in corners)


def _rim(corners: Floats, at: Floats) -> float:
    """Return how far the edge of a polygon is from a point."""
    edges = np.roll(corners, -1, axis=0) - corners
    share = ((at - corners) * edges).sum(axis=1) / np.maximum((edges**2).sum(axis=1), 1e-12)
    nearest = corners + share.clip(0.0, 1.0)[:, None] * edges
    return float(np.linalg.norm(nearest - at, axis=1).min())


def _crossing(corners: Floats, axis: int, at: float) -> Floats:
    """Return where the edges of a polygon cross a line, along that line."""
    ends = np.roll(corners, -1, axis=0)
    over = (corners[:, axis] <= at) != (ends[:, axis] <= at)
    first, last = corners[over], ends[over]
    share = (at - first[:, axis]) / (last - first)[:, axis]
    crossed: Floats = first[:, 1 - axis] + share * (last - first)[:, 1 - axis]
    return crossed
