"""Where in a basket or pod pieces lie, at the bench: beside the carrier, lit, in the language of the page."""

from __future__ import annotations

from dataclasses import replace
from html import unescape
from typing import TYPE_CHECKING

import pytest
from starlette.testclient import TestClient

from patency.bench.saying import say_in_drawing
from patency.reach import solids_of_load, stated_as_drawn
from patency.steps import Loading, LoadStep, pictures_of_floors, show_loading
from tests.bench.desk import Desk, csrf, sign_in
from tests.demo.larkmere import larkmere

if TYPE_CHECKING:
    from patency.steps import Workplace

POD = "pod of Gallbladder One"
LOADING = "/loading/L1"


@pytest.fixture
def laid(desk: Desk) -> Desk:
    """A bench whose plan states where everything of one pod and its basket lies."""
    load, *others = desk.opened.plan.loads
    stated = stated_as_drawn(load, solids_of_load(larkmere(), load), POD)
    plan = desk.opened.plan.model_copy(update={"loads": (stated, *others)})
    return replace(desk, opened=replace(desk.opened, plan=plan))


def steps_of(work: Workplace) -> tuple[LoadStep, ...]:
    shown = show_loading(work, "L1")
    assert isinstance(shown, Loading)
    return shown.steps


def step_at(work: Workplace, place: str, letter: str) -> LoadStep:
    return next(one for one in steps_of(work) if (one.where[0], one.letter) == (place, letter))


def page_of(bench: Desk, step: LoadStep) -> str:
    """Begin the load and open a step."""
    client = TestClient(bench.app(), base_url="http://127.0.0.1")
    sign_in(client, "loader-1")
    form = {"csrf": csrf(client.get(LOADING).text), "key": "begin"}
    client.post(f"{LOADING}/begin", data=form)
    return unescape(client.get(LOADING, params={"step": step.key}).text)


def test_the_page_of_a_basket_shows_the_places_and_numbers_of_its_pieces(laid: Desk) -> None:
    work = laid.opened.workplace
    basket = next(one for one in steps_of(work) if any(one.numbers) and one.where[0][0] == "B")
    page = page_of(laid, basket)
    assert f"basket {basket.where[0]}, seen from above" in page
    assert 'class="work laid"' in page
    for number in filter(None, basket.numbers):
        assert f'<span class="number">{number}</span>' in page


def test_small_parts_are_lit_in_their_pod_and_the_pod_in_its_basket(laid: Desk) -> None:
    work = laid.opened.workplace
    step = step_at(work, "pod", "A")
    page = page_of(laid, step)
    assert page.count(", seen from above</title>") == 3  # the carrier, the basket, the pod
    basket, pod = pictures_of_floors(work, work.plan.loads[0], step, {}, (90.0, 90.0))
    assert basket.count('stroke-width="1.4"') == 1
    assert pod.count('stroke-width="0.9"') == len(step.pieces)


def test_a_step_whose_places_are_open_shows_the_carrier_alone(laid: Desk) -> None:
    work = laid.opened.workplace
    step = step_at(work, "pod", "B")
    assert not any(step.numbers)
    page = page_of(laid, step)
    assert page.count(", seen from above</title>") == 1
    assert 'class="number"' not in page
    assert 'class="work"' in page


def test_what_stands_in_these_pictures_is_german_on_german_pages(laid: Desk) -> None:
    work = laid.opened.workplace
    pictures = pictures_of_floors(work, work.plan.loads[0], step_at(work, "pod", "A"), {}, (90.0, 90.0))
    for picture in pictures:
        said = say_in_drawing("de", picture)
        english = (">pod<", ">back<", ", seen from above", ">front: you stand here<", ">distal end<")
        assert all(any(word in one for one in pictures) for word in english)
        assert not any(word in said for word in english)
