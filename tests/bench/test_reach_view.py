"""What the jets strike, in a real browser: a view that turns, pieces that are moved, pictures where there is none."""

from __future__ import annotations

import dataclasses
import html
import re
from functools import cache
from typing import TYPE_CHECKING

import pytest

from patency.load import Plan
from patency.reach import JetSampling, LoadReach, figures_of_zones, reach_of_load
from patency.steps import KeptReach, shadows_of_piece
from tests.bench.desk import Desk, sign_in
from tests.bench.hands import serious_faults, small_targets
from tests.bench.hands import sign_in as come_in
from tests.demo.larkmere import larkmere
from tests.reach.drawn import drawn_load

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, Page, ViewportSize
    from starlette.testclient import TestClient

SIZES: list[ViewportSize] = [{"width": 1920, "height": 1080}, {"width": 1366, "height": 768}]
TABLET: ViewportSize = {"width": 1024, "height": 768}
PHONE: ViewportSize = {"width": 390, "height": 844}


@cache
def few_found() -> LoadReach:
    """Compute a load of a few pieces coarsely, once for all tests."""
    site, load = drawn_load()
    arms = site.machine_kinds[load.machine_kind].arms
    return reach_of_load(site, load, dict.fromkeys(arms, 95 / 60000), 50.0, sampling=JetSampling(12, 1))


@pytest.fixture
def desk(desk: Desk) -> Desk:
    """The bench with one load of a few pieces that is already computed."""
    _, load = drawn_load()
    plan = Plan.model_validate({**desk.opened.plan.model_dump(), "loads": [load.model_dump()]}, strict=False)
    kept = KeptReach({})
    kept._found[load.id, ()] = few_found()
    return Desk(dataclasses.replace(desk.opened, plan=plan, reach=kept), desk.hands)


@pytest.fixture
def view(drawing_browser: Browser, served: str) -> Iterator[Page]:
    """The page of the load, drawn; it fails the test where its script fails or its policy is broken."""
    context = drawing_browser.new_context(viewport=SIZES[0], base_url=served, locale="en-GB", has_touch=True)
    page = context.new_page()
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda told: faults.append(told.text) if told.type == "error" else None)
    come_in(page, "engineer-1")
    page.goto("/reach/L1")
    page.wait_for_selector("#view[data-ready]")
    yield page
    context.close()
    assert faults == []


def number_of(piece: str) -> int:
    return few_found().arranged.number_of["Gallbladder One", piece]


def helped() -> int:
    """Return a piece of which too little is struck and that a change would help."""
    found, (site, load) = few_found(), drawn_load()
    return next(
        body
        for key, body in found.arranged.number_of.items()
        if shadows_of_piece(site, load, found, key, moved=False).change
    )


def looked_from(page: Page) -> list[float]:
    """Return from where the view is seen, once it is drawn again."""
    page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    return [float(one) for one in (page.get_attribute("#view", "data-from") or "").split()]


def touch(page: Page, *places: list[tuple[float, float]]) -> None:
    """Put fingers on the screen, move them from place to place, and take them off."""
    session = page.context.new_cdp_session(page)
    for number, fingers in enumerate([*places, []]):
        kind = "touchStart" if number == 0 else "touchMove" if fingers else "touchEnd"
        points = [{"x": x, "y": y, "id": finger} for finger, (x, y) in enumerate(fingers)]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    session.detach()


def moved(page: Page, act: str) -> str:
    """Press a button that moves the piece and return what is said of it."""
    with page.expect_response("**/moved**"):
        page.click(act)
    page.wait_for_selector("#view:not([data-busy])")
    return page.inner_text("#told")


def colours(page: Page) -> int:
    """Count the colours that the view shows."""
    script = """() => { const canvas = document.querySelector('#view canvas');
      const flat = new OffscreenCanvas(canvas.width, canvas.height).getContext('2d');
      flat.drawImage(canvas, 0, 0);
      const points = new Uint32Array(flat.getImageData(0, 0, canvas.width, canvas.height).data.buffer);
      return new Set(points).size; }"""
    return int(page.evaluate(script))


@pytest.mark.slow
def test_the_load_is_drawn_turns_and_a_moved_piece_casts_its_shadow_elsewhere(view: Page) -> None:
    assert colours(view) > 20
    assert view.is_hidden("#state")
    turned, raised, distance = looked_from(view)
    view.focus("#view")
    view.keyboard.press("ArrowLeft")
    view.keyboard.press("ArrowUp")
    view.keyboard.press("PageUp")
    assert looked_from(view) == pytest.approx([(turned + 10) % 360, raised + 10, 0.8 * distance], abs=0.01)
    view.keyboard.press("Home")
    assert looked_from(view) == [turned, raised, distance]
    spot = view.locator("#view").bounding_box()
    assert spot is not None
    view.mouse.move(spot["x"] + 300, spot["y"] + 200)
    view.mouse.down()
    view.mouse.move(spot["x"] + 200, spot["y"] + 200, steps=4)
    view.mouse.up()
    assert looked_from(view)[0] == pytest.approx(turned + 40, abs=1.1)
    x, y = spot["x"] + 300, spot["y"] + 200
    touch(view, [(x, y)], [(x + 40, y)], [(x + 100, y)])  # one finger turns it back
    assert looked_from(view)[0] == pytest.approx(turned, abs=1.1)
    touch(view, [(x, y), (x + 100, y)], [(x - 25, y), (x + 125, y)], [(x - 50, y), (x + 150, y)])
    assert looked_from(view)[2] == pytest.approx(distance / 2, rel=0.02)  # two fingers bring it nearer
    view.mouse.wheel(0, 100)
    assert looked_from(view)[2] == pytest.approx(1.1 * distance / 2, rel=0.02)
    view.click("[data-side=above]")
    assert looked_from(view)[:2] == [0.0, 90.0]
    view.select_option("#piece", str(number_of("mod5/1/tube")))
    view.wait_for_selector("#chosen")
    assert "Struck directly:" in view.inner_text("#chosen")
    assert "Here it breaks" not in view.inner_text("#told")
    assert "Here it breaks none" in moved(view, "button[value='up']")
    assert "m=" in view.url
    view.click("button[value='as planned']")
    view.wait_for_function("() => !location.search.includes('m=')")
    for size in SIZES:
        view.set_viewport_size(size)
        assert looked_from(view)[2] > 0.0
        assert colours(view) > 20
        assert serious_faults(view) == []
        assert small_targets(view) == []
        assert not view.evaluate("document.documentElement.scrollWidth > innerWidth")


@pytest.mark.slow
def test_pieces_that_are_moved_change_their_shadow_and_all_goes_back_step_by_step_or_at_once(view: Page) -> None:
    optic, obturator = number_of("optic/1/optic"), number_of("sleeve11/1/obturator")
    view.select_option("#piece", str(helped()))
    view.wait_for_selector("#chosen")
    assert re.search(r"Smallest change that would help: .+; \d+ % would be struck", view.inner_text("#chosen"))
    assert re.search(r"\(\d+ %, (in the shadow of .+|no jet points there)\)", view.inner_text("#chosen"))
    before = looked_from(view)[2]
    view.click("#near")
    assert looked_from(view)[2] < before / 2
    view.select_option("#piece", str(obturator))
    view.wait_for_selector("#chosen h2:has-text('obturator')")
    for _ in range(3):  # faster than it is computed: none is lost
        view.click("button[value='down']")
    with view.expect_response(f"**/moved?m={obturator}*-30*nudge=down") as last:
        view.click("button[value='down']")
    assert str(optic) in last.value.json()["changed"]
    view.wait_for_selector("#view:not([data-busy])")
    shadows = view.inner_text("#told").partition("Its shadow on others")[2]
    changed = re.search(r"rigid optic, Gallbladder One: ([\d.]+) % → ([\d.]+) %", shadows)
    assert changed
    assert float(changed[2]) < float(changed[1])
    assert f"m={obturator}%3A0%2C0%2C-40" in view.url
    assert "It cannot stay here" in view.inner_text("#state")  # beside the view, at once
    with view.expect_response(f"**/scene?m={obturator}*-30*"):
        view.go_back()
    view.wait_for_selector("#view[data-ready]")
    view.wait_for_selector("#chosen h2:has-text('obturator')")
    assert f"m={obturator}%3A0%2C0%2C-30" in view.url
    view.click("text=All pieces as planned")
    view.wait_for_url(lambda url: "m=" not in url)
    view.wait_for_selector("#view[data-ready]")
    view.click("#told a[data-piece] >> nth=0")
    view.wait_for_selector("#chosen")
    assert view.inner_text("#chosen h2").startswith("light post adapter")
    view.click("#chosen summary")
    with view.expect_response("**/moved**nudge=up"):
        view.click("button[value='up']")
    view.wait_for_selector("#chosen details[open] .figures")  # a move leaves open what was opened
    for size in (TABLET, PHONE):
        view.set_viewport_size(size)
        view.locator("button[value='as planned']").scroll_into_view_if_needed()
        assert view.evaluate("document.getElementById('view').getBoundingClientRect().bottom") > 200  # still in sight
        assert not view.evaluate("document.documentElement.scrollWidth > innerWidth")


@pytest.mark.slow
def test_a_dragged_piece_goes_with_the_hand_and_stays_where_a_second_finger_comes(view: Page) -> None:
    spot = view.locator("#view").bounding_box()
    assert spot is not None
    x, y = spot["x"] + 300, spot["y"] + 200
    view.select_option("#piece", str(number_of("clip10/1/instrument")))
    view.wait_for_selector("#chosen")
    view.click("#drag")
    seen = looked_from(view)
    touch(view, [(x, y)], [(x + 60, y)], [(x + 60, y), (x + 160, y)], [(x + 60, y), (x + 260, y)])
    assert looked_from(view)[2] == pytest.approx(seen[2] / 2, rel=0.02)
    assert "m=" not in view.url
    shot = "() => document.querySelector('#view canvas').toDataURL()"
    still = view.evaluate(shot)
    view.mouse.move(x, y)
    view.mouse.down()
    view.mouse.move(x + 80, y, steps=4)
    assert looked_from(view)[:2] == seen[:2]
    assert view.evaluate(shot) != still
    with view.expect_response("**/moved**shift=**") as answer:
        view.mouse.up()
    across, back, up = (float(one) for one in answer.value.json()["m"][0].split(":")[1].split(",")[:3])
    assert across > 20.0
    assert (back, up) == (0.0, 0.0)


@pytest.mark.slow
def test_a_piece_is_chosen_by_touch_dragged_and_refused_in_words_where_it_cannot_stay(view: Page) -> None:
    view.click("[data-side=front]")
    spot = view.locator("#view").bounding_box()
    assert spot is not None
    found = view.evaluate(
        """() => { const box = document.getElementById('view').getBoundingClientRect();
        return [...Array(60).keys()].flatMap((row) => [...Array(60).keys()].map((column) =>
          [box.left + box.width * column / 60, box.top + box.height * row / 60])); }"""
    )
    for x, y in found[::7]:
        if view.evaluate("document.getElementById('piece').value"):
            break
        view.mouse.click(x, y)
    assert view.evaluate("document.getElementById('piece').value")
    view.wait_for_selector("#chosen")
    view.select_option("#piece", str(number_of("mod5/1/tube")))
    view.wait_for_function("() => document.querySelector('#chosen h2').innerText.includes('tube')")
    view.click("#drag")
    view.mouse.move(spot["x"] + 300, spot["y"] + 200)
    view.mouse.down()
    view.mouse.move(spot["x"] + 300, spot["y"] + 120, steps=4)
    view.mouse.up()
    view.wait_for_function("() => location.search.includes('m=')")
    for _ in range(12):
        if "cannot stay here" in view.inner_text("#told"):
            break
        moved(view, "button[value='up']")
    assert "sweep of an arm" in view.inner_text("#told")


@pytest.mark.slow
def test_without_three_dimensions_the_load_is_shown_from_four_sides_and_pieces_can_still_be_moved(page: Page) -> None:
    come_in(page, "engineer-1")
    page.add_init_script("HTMLCanvasElement.prototype.getContext = () => null")
    page.goto("/reach/L1")
    page.wait_for_url("**as=pictures**")
    page.wait_for_load_state("load")
    drawn = page.evaluate("[...document.querySelectorAll('img.side')].map((one) => one.naturalWidth)")
    assert len(drawn) == 4
    assert min(drawn) > 100
    page.select_option("#piece", str(number_of("mod5/1/tube")))
    page.click("button[value='up']")
    page.wait_for_selector("#chosen")
    page.wait_for_load_state("load")
    assert page.locator("img.side").count() == 5
    assert f"m={number_of('mod5/1/tube')}%3A0%2C0%2C10" in page.content().replace("&amp;", "&")
    page.set_viewport_size(PHONE)
    assert not page.evaluate("document.documentElement.scrollWidth > innerWidth")
    for size in SIZES:
        page.set_viewport_size(size)
        assert serious_faults(page) == []
        assert small_targets(page) == []
        assert not page.evaluate("document.documentElement.scrollWidth > innerWidth")


def test_the_pages_answer_in_german_and_refuse_what_cannot_be_read(client: TestClient) -> None:
    sign_in(client, "engineer-1")
    assert client.get("/reach").text.count('href="/reach/L1"') == 1
    client.cookies.set("language", "de")
    body = number_of("mod5/1/tube")
    words = client.get("/reach/L1", params={"as": "pictures", "piece": body, "nudge": "up"}).text
    assert "Direkt getroffen" in words
    assert "von vorn" in client.get("/reach/L1/from/front").text
    assert "nicht getroffen" in client.get("/reach/L1/legend").text
    narrow = client.get("/reach/L1/legend?columns=1")
    assert "nicht getroffen" in narrow.text
    assert client.get(f"/reach/L1/from/front?piece={body}").text != client.get("/reach/L1/from/front").text
    told = client.get(f"/reach/L1/moved?piece={helped()}").json()["told"]
    assert re.search(r"Kleinste Änderung, die hilft: [^;]*(drehen|stellen|legen)[^;]*; getroffen würden \d+ %", told)
    assert "Seine Stellen, die zu weniger" in told
    assert "Seine Stellen in Zahlen" in told
    assert "oberer Arm" in told
    for path in (
        "/reach/L9",
        "/reach/L1/from/above",
        "/reach/L1/scene?m=1:2",
        "/reach/L1/scene?m=1:nan,0,0,0,0,0",
        "/reach/L1/scene?m=0x1:0,0,0,0,0,0",
        "/reach/L1/moved?m=9999:1,0,0,0,0,0",
        "/reach/L1/moved?piece=x",
        f"/reach/L1/moved?piece={body}&nudge=sideways",
        f"/reach/L1/moved?piece={body}&shift=1,2",
        "/reach/L1/piece?piece=9999",
        "/reach/L1/from/front?piece=9999",
        "/reach/L1/legend?columns=3",
    ):
        assert client.get(path).status_code == 400, path
    many = "&".join(f"m={number}:1,0,0,0,0,0" for number in range(21))
    assert client.get(f"/reach/L1/scene?{many}").status_code == 400


def test_a_scene_holds_every_body_once_and_a_move_sends_only_what_changed(client: TestClient) -> None:
    sign_in(client, "engineer-1")
    scene = client.get("/reach/L1/scene").json()
    solids = few_found().arranged.solids
    assert len(scene["bodies"]) == len(solids)
    assert len(scene["meshes"]) < len(solids)
    assert [one["name"] for one in scene["arms"]] == [arm.name for arm in few_found().arms.arms]
    assert [len(one["jets"]) for one in scene["arms"]] == [len(arm.jets) for arm in few_found().arms.arms]
    assert scene["m"] == []
    body = number_of("mod5/1/tube")
    answer = client.get(f"/reach/L1/moved?piece={body}&shift=3,-2,40").json()
    assert answer["m"] == [f"{body}:3,-2,40,0,0,0"]
    assert str(body) in answer["changed"]
    assert len(answer["changed"]) < len(solids)
    shift = answer["changed"][str(body)]["shift"]
    planned = solids[body].pose.shift_m
    assert shift == pytest.approx([planned[0] + 0.003, planned[1] - 0.002, planned[2] + 0.040])
    same = client.get(f"/reach/L1/moved?piece={body}&m={answer['m'][0]}&nudge=as%20planned").json()
    assert same["m"] == []
    assert set(same["changed"]) == set(answer["changed"])


def test_what_the_jets_do_to_each_zone_stands_beside_the_piece_in_figures(client: TestClient) -> None:
    sign_in(client, "engineer-1")
    key = ("Gallbladder One", "mod5/1/tube")
    for told in (
        client.get(f"/reach/L1/moved?piece={number_of(key[1])}").json()["told"],
        client.get(f"/reach/L1?as=pictures&piece={number_of(key[1])}").text,
    ):
        assert "<details><summary>Its zones in figures" in told
        rows = re.findall("<tr>(<td>.*?)</tr>", told)
        shown = [[html.unescape(cell) for cell in re.findall("<(?:td|div[^>]*)>(.*?)(?=<)", row)] for row in rows]
        strikes = few_found().strikes
        assert strikes is not None
        expected = figures_of_zones(strikes, key)
        assert [row[0] for row in shown] == [one.zone for one in expected]
        for (_, arms, share, hits, pressure, angles), one in zip(shown, expected, strict=True):
            assert float(share.removesuffix(" %")) == pytest.approx(100 * one.struck_share, abs=0.5)
            assert float(hits) == pytest.approx(one.hits_per_min, abs=0.05)
            assert float(pressure) == pytest.approx(one.pressure_pa / 1000, abs=0.005)
            if one.arms:
                low, high = (float(end) for end in angles.removesuffix("°").split("–"))
                assert (low, high) == pytest.approx((one.least_incidence_deg, one.largest_incidence_deg), abs=0.5)
            assert arms == (", ".join(one.arms) or "no arm")
        assert any(one.arms for one in expected)


def test_only_who_may_sees_it_and_no_script_stands_in_the_page(client: TestClient) -> None:
    sign_in(client, "admin-1")
    assert client.get("/reach").status_code == 403
    sign_in(client, "auditor-1")
    page = client.get("/reach/L1").text
    assert not re.search(r"<script(?![^>]*src=)", page)
    assert larkmere().carriers["Lapwing"].name in client.get("/reach").text
