"""Every page in German: what reads the same in English and is no name of the department was left over."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import TYPE_CHECKING, Any

import pytest

from patency.ledger import Piece
from tests.bench.by_form import HandsWithoutScreen
from tests.bench.desk import PINS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from starlette.testclient import TestClient

    from tests.bench.desk import Desk

pytestmark = pytest.mark.slow

TWO = ("Gallbladder Two", "Gallbladder One")
_SPOKEN = ("aria-label", "alt", "title", "data-failed")
_ALIKE = {
    "Deutsch",
    "English",
    "Patency",
    "PIN",
    "Port",
    "Scan",
    "Start",
    "min",
    "mbar",
    "Test",
    "Lumen",
    "Person",
    "Set",
    "GS1",
    "DataMatrix",
    "North",
    "South",
}
"""Words that are the same in both languages, and names of the languages."""
_ENGLISH = re.compile(r"\b(the|of|and|is|are|with|for|from|which|by|has|this|that|its|not|at|on|to)\b")
"""Small words that no German sentence has."""
_STEPS = (0, 12, 24, 30, 34, 36, 38, 42)
"""Steps of the load that differ: hoses, nozzles, holders, coils, pods, caps."""
_DESK = (
    "/", "/board", "/receiving", "/loading", "/unloading", "/clean", "/clean-tests", "/release", "/holds", "/stock",
    "/trace?kind=case&key=case-04", "/trace?kind=load&key=before-2&direction=backward", "/set/Appendix",
    "/set/Appendix/label", "/laboratory", "/laboratory/L1", "/reach", "/finding/set/Appendix", "/clean/Appendix",
)  # fmt: skip


class _Texts(HTMLParser):
    """What a person reads or hears of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.found, self.inside = set[str](), list[str]()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found |= {value for name, value in attrs if name in _SPOKEN and value}
        if tag in {"script", "style"}:
            self.inside.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if self.inside and tag == self.inside[-1]:
            self.inside.pop()

    def handle_data(self, data: str) -> None:
        if not self.inside and data.strip():
            self.found.add(" ".join(data.split()))


def _strings(value: Any) -> Iterator[str]:  # noqa: ANN401 - whatever a description holds
    if isinstance(value, dict):
        for key, one in value.items():
            yield from (*_strings(key), *_strings(one))
    elif isinstance(value, list | tuple | set):
        for one in value:
            yield from _strings(one)
    elif isinstance(value, str) and len(value) > 1:
        yield value


class _Reader:
    """Reads a page in both languages and keeps what was left in English."""

    def __init__(self, client: TestClient, desk: Desk) -> None:
        opened = desk.opened
        marks = [one.mark for one in opened.ledger.all_of(Piece) if one.mark]
        told = [
            *marks,
            *_strings(opened.department.model_dump(mode="json")),
            *_strings(opened.plan.model_dump(mode="json")),
        ]
        told += [part for one in told for part in one.split(": ")]
        names = sorted({*told, *PINS, *opened.department.sets}, key=len, reverse=True)
        self.names = re.compile("|".join([r"case-\d+", *(rf"(?<!\w){re.escape(one)}(?!\w)" for one in names)]))
        self.client, self.left = client, dict[str, set[str]]()

    def read(self, *paths: str) -> None:
        for path in paths:
            english, german = (self._texts(path, language) for language in ("en", "de"))
            for text in german:
                own = self.names.sub("", text)
                rest = {*re.findall(r"[A-Za-zäöüÄÖÜß]{3,}", own)} - _ALIKE
                if (rest and text in english) or _ENGLISH.search(own):
                    self.left.setdefault(text, set()).add(path)

    def _texts(self, path: str, language: str) -> set[str]:
        answer = self.client.get(path, headers={"accept-language": language})
        assert answer.status_code == 200, path
        texts = _Texts()
        texts.feed(answer.text)
        return texts.found


def test_no_page_leaves_english_behind(client: TestClient, desk: Desk) -> None:
    hands, reader = HandsWithoutScreen(client, desk), _Reader(client, desk)
    reader.read("/sign-in?another=1")
    hands.come("lead-2")
    reader.read(*_DESK)
    _soiled_side(hands, reader)
    _in_a_load(hands, reader)
    hands.come("releaser-1")
    reader.read("/release/L1", "/holds", "/set/Gallbladder Two", "/unloading")
    hands.come("admin-1")
    reader.read("/staff")
    assert reader.left == {}


def _soiled_side(hands: HandsWithoutScreen, reader: _Reader) -> None:
    for name in ("Visiting Wrist", *TWO):
        hands.open("/receiving")
        hands.scan(f"set:{name}")
        path = f"/receiving/{name}"
        reader.read(path, *(f"{path}?part={part}" for part in ("hand", "apart")))
    hands.open(f"/receiving/{TWO[0]}")
    hands.tick("missing", f"{TWO[0]}/sleeve11/1/valve spring")
    hands.pedal()
    reader.read(f"/receiving/{TWO[0]}", f"/clean/{TWO[0]}", f"/set/{TWO[0]}", "/board")
    hands.press("/found")
    for name in TWO:
        hands.open(f"/receiving/{name}?part=apart")
        hands.scan(f"pod:pod-{name}")
        reader.read(f"/receiving/{name}?part=apart")
        hands.pedal()


def _in_a_load(hands: HandsWithoutScreen, reader: _Reader) -> None:
    hands.open("/loading/L1")
    reader.read("/loading/L1")
    hands.pedal()
    reader.read("/loading/L1/otherwise?wrong=port+blocked&port=H4", "/loading/L1/otherwise?wrong=sleeve+torn&port=H4")
    reader.read("/loading/L1/otherwise?wrong=cap+missing&port=T1", f"/loading/L1/swap?step={TWO[0]}/mod5/1/tube")
    for step in range(43):
        if step in _STEPS:
            reader.read("/loading/L1")
        hands.pedal()
    reader.read("/loading/L1", "/loading/L1/start")
    hands.pedal()
    for code in ("carrier:Lapwing", "machine:Alder", "programme:gentle_lumen"):
        hands.tick("checked")
        hands.scan(code)
    hands.pedal()
    reader.read("/loading/L1", "/unloading/L1")
    hands.open("/unloading/L1")
    hands.pedal()
    reader.read("/unloading/L1", "/release/L1")
    hands.press("off")
    reader.read("/unloading/L1")
