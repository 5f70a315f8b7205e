"""The view that turns draws each class in the colours and with the pattern of the pictures of the load sheets."""

from __future__ import annotations

import base64
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.bench.templates import asset
from patency.papers.reach.raster import palette, sample_of
from patency.reach import Look

if TYPE_CHECKING:
    from playwright.sync_api import Browser

SIDE = 160  # points: a whole number of the patterns' periods
SQUARE = [[-1, 0, -1], [1, 0, -1], [1, 0, 1], [-1, 0, 1]]  # faces who looks from the front
DRAWN = """async ([three, view, meshes, looks, side]) => {
  const [drawing, { View }] = await Promise.all([import(three), import(view)]);
  const place = document.createElement("div");
  Object.assign(place.style, { position: "fixed", width: `${side}px`, height: `${side}px` });
  document.body.append(place);
  const bodies = [{ mesh: 0, role: "piece", looks: looks[0], turn: [1, 0, 0, 0, 1, 0, 0, 0, 1], shift: [0, 0, 0] }];
  const shown = new View(drawing, { meshes, bodies, screens: [], arms: [] }, place);
  shown.from({ turned: 0, raised: 0 });
  shown.nearer(0.3);
  const seen = [];
  for (const one of looks) {
    shown.show(shown.bodies[0], { ...bodies[0], looks: one });
    shown.draw(1);
    await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
    const flat = new OffscreenCanvas(side, side).getContext("2d");
    flat.drawImage(shown.renderer.domElement, 0, 0);
    seen.push([...flat.getImageData(0, 0, side, side).data]);
  }
  return seen;
}"""


def packed(values: object, kind: str) -> str:
    return base64.b64encode(np.array(values, dtype=kind).tobytes()).decode("ascii")


def tones(points: np.ndarray[tuple[int, int], np.dtype[np.uint8]]) -> dict[tuple[int, ...], float]:
    """Return each colour with its share of the points."""
    colours, counts = np.unique(points, axis=0, return_counts=True)
    return {tuple(colour.tolist()): count / len(points) for colour, count in zip(colours, counts, strict=True)}


@pytest.mark.slow
def test_each_class_is_drawn_in_the_two_tones_and_as_often_inked_as_in_the_pictures(
    drawing_browser: Browser, served: str
) -> None:
    mesh = {"vertices": packed(SQUARE, "<f4"), "faces": packed([0, 1, 2, 0, 2, 3], "<u4")}
    meshes = [{**mesh, "patch_of": packed([0, 0], "<u4")}]
    looks = [packed([int(look)], "u1") for look in Look]
    scripts = [asset("vendor", "three.module.min.js"), asset("reach", "view.js")]
    page = drawing_browser.new_page(base_url=served)
    page.goto("/sign-in")
    drawn = page.evaluate(DRAWN, [*scripts, meshes, looks, SIDE])
    page.close()
    patterned = []
    for look, seen in zip(Look, drawn, strict=True):
        expected = palette()[sample_of(look, SIDE + 2, SIDE + 2)[1:-1, 1:-1]]
        assert tones(np.array(seen, dtype=np.uint8).reshape(-1, 4)[:, :3]) == tones(expected.reshape(-1, 3)), look
        patterned.append(len(tones(expected.reshape(-1, 3))))
    assert sorted(patterned) == [1, 1, 2, 2, 2, 2, 2, 2]  # the brightest and what jets are not asked of have no pattern
