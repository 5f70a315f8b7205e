"""How long a person at the jet view waits after moving a piece, from the request to the answer and to the picture.

Run from the root of the checkout, in the environment of the tests, with a Chromium for the last part:

    python -m benchmarks.reach_moves [LOAD] [server|browser] [PIECES]

A full load of the demo is served as the bench serves it. Pieces spread evenly over the load from the one with most
patches to the one with fewest are moved one after the other, 10 mm to the right and then 15° of turn, and put back.
``server`` asks by HTTP; ``browser`` presses the buttons in a Chromium without a graphics card and waits until the
picture with the answer is drawn. Printed are the median and the longest of all moves, and the memory of the process at
its peak after the load as planned and at the end.
"""

from __future__ import annotations

import os
import resource
import shutil
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import httpx2
import numpy as np

from tests.bench.conftest import being_served
from tests.bench.desk import PINS, badge_of, csrf, open_desk, prepare
from tests.bench.hands import sign_in

if TYPE_CHECKING:
    from collections.abc import Callable

    from playwright.sync_api import Page

PERSON, PIECES = "engineer-1", 24
NUDGES = ("to the right", "turn left")
DRAWS = ("--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader")


class Taken(NamedTuple):
    """What a move takes: time that passes until it is answered, and processor time of the server [s]."""

    passed: float
    worked: float


def peak_gb() -> float:
    """Return the most memory that this process has held [GB]."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e9


def told(load: str, what: str, moves: list[Taken]) -> None:
    """Print the median and the longest of some moves."""
    passed, worked = np.array(moves).T
    times = f"median {np.median(passed):.2f} s, longest {passed.max():.2f} s, {(passed < 1.0).sum()} within 1 s"
    work = f"of processor {np.median(worked):.2f} s and {worked.max():.2f} s"
    print(f"{load} {what}: {len(moves)} moves, {times}; {work}", flush=True)


def spread(bodies: dict[int, int], count: int) -> list[int]:
    """Choose bodies from the one with most patches to the one with fewest."""
    order = sorted(bodies, key=lambda body: -bodies[body])
    return [order[place] for place in np.linspace(0, len(order) - 1, min(count, len(order))).astype(int)]


def by_http(address: str, load: str, bodies: list[int]) -> list[Taken]:
    """Move pieces as the page asks for it."""
    waited = []
    with httpx2.Client(base_url=address, timeout=200) as client:
        form = {"csrf": csrf(client.get("/sign-in?another=1").text), "badge": badge_of(PERSON), "pin": PINS[PERSON]}
        client.post("/sign-in", data={**form, "station": "desk"})
        for body in bodies:
            moves: list[str] = []
            for nudge in NUDGES:
                began, before = time.perf_counter(), time.process_time()
                asked = {"m": moves, "piece": str(body), "nudge": nudge}
                moves = client.get(f"/reach/{load}/moved", params=asked).raise_for_status().json()["m"]
                waited.append(Taken(time.perf_counter() - began, time.process_time() - before))
    return waited


def in_browser(address: str, load: str, bodies: list[int]) -> list[Taken]:
    """Press the buttons and wait for the picture."""
    from playwright.sync_api import sync_playwright

    place = os.environ.get("CHROMIUM") or shutil.which("chromium")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=place, args=list(DRAWS))
        page = browser.new_page(base_url=address, viewport={"width": 1920, "height": 1080})
        page.set_default_timeout(120_000)
        sign_in(page, PERSON)
        page.goto(f"/reach/{load}")
        page.wait_for_selector("#view[data-ready]")
        waited = [one for body in bodies for one in pressed(page, body)]
        browser.close()
    return waited


def pressed(page: Page, body: int) -> list[Taken]:
    """Choose a piece, move it, put it back, and return what the page itself timed and what the server worked [s]."""
    page.select_option("#piece", str(body))
    page.wait_for_selector("#view:not([data-busy])")
    page.wait_for_timeout(1500)  # the smoothed picture of a view at rest comes later
    script = """(value) => new Promise((done) => {
      const view = document.getElementById("view"), began = performance.now(), drawn = Number(view.dataset.drawn);
      document.querySelector(`button[value="${value}"]`).click();
      const look = () => {
        if (!view.dataset.busy && Number(view.dataset.drawn) > drawn) done((performance.now() - began) / 1000);
        else requestAnimationFrame(look);
      };
      requestAnimationFrame(look);
    })"""
    waited = []
    for nudge in NUDGES:
        before = time.process_time()
        waited.append(Taken(float(page.evaluate(script, nudge)), time.process_time() - before))
        page.wait_for_timeout(1500)
    page.evaluate(script, "as planned")
    return waited


def main(load: str, ways: tuple[str, ...], count: int) -> None:
    """Serve the load and move its pieces."""
    ask: dict[str, Callable[[str, str, list[int]], list[Taken]]] = {"server": by_http, "browser": in_browser}
    with tempfile.TemporaryDirectory() as folder:
        prepare(Path(folder) / "bench")
        desk = open_desk(Path(folder) / "bench")
        planned = next(one for one in desk.opened.plan.loads if one.id == load)
        print(f"before: {peak_gb():.2f} GB at most", flush=True)
        began = time.perf_counter()
        found = desk.opened.reach.of(desk.opened.department, planned)
        print(f"{load} as planned: {time.perf_counter() - began:.1f} s, {peak_gb():.2f} GB at most", flush=True)
        solids = found.arranged.solids
        patches = {body: len(solids[body].mesh.zone_of) for body in found.arranged.number_of.values()}
        with being_served(desk.app()) as address:
            for way in ways:
                told(load, way, ask[way](address, load, spread(patches, count)))
                print(f"{peak_gb():.2f} GB at most", flush=True)
        desk.opened.close()


if __name__ == "__main__":
    chosen = sys.argv[2:3] if sys.argv[2:3] and sys.argv[2] in {"server", "browser"} else ["server", "browser"]
    main(sys.argv[1] if sys.argv[1:] else "L1", tuple(chosen), int(sys.argv[3]) if sys.argv[3:] else PIECES)
