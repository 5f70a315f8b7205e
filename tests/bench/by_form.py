"""Hands without a screen: they read the forms of a page and send what a tap, a scan or the pedal there would send."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import TYPE_CHECKING

from tests.bench.desk import PINS, Desk, badge_of

if TYPE_CHECKING:
    from starlette.testclient import TestClient

_TYPED = {"text", "hidden", "password"}


@dataclass
class Form:
    """A form as it stands on a page, with what it would send if nobody touched it."""

    path: str
    sends: list[tuple[str, str]] = field(default_factory=list)
    boxes: list[tuple[str, str]] = field(default_factory=list)
    buttons: list[tuple[str, str]] = field(default_factory=list)
    scanned_as: str = ""
    pedal: tuple[str, str] | None = None


class _Forms(HTMLParser):
    """Collects the forms of the main part, and where its pedal leads if that is no form."""

    def __init__(self, path: str) -> None:
        super().__init__()
        self.path, self.forms, self.leads = path, list[Form](), ""
        self.form: Form | None = None
        self.select, self.options, self.chosen = "", list[str](), ""
        self.in_main = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {name: value or "" for name, value in attrs}
        self.in_main = self.in_main or tag == "main"
        if not self.in_main:
            return
        if tag == "a" and "data-pedal" in told:
            self.leads = told["href"]
        elif tag == "form":
            self.form = Form(told.get("action") or self.path)
            self.forms.append(self.form)
        elif self.form is not None:
            self._field(self.form, tag, told)

    def _field(self, form: Form, tag: str, told: dict[str, str]) -> None:
        one = told.get("name", ""), told.get("value", "")
        if tag == "input":
            if told.get("type") == "checkbox":
                form.boxes.append(one)
            if told.get("type", "text") in _TYPED or "checked" in told:
                form.sends.append(one)
            if "data-scan-field" in told:
                form.scanned_as = one[0]
        elif tag == "button" and told.get("type") != "button":
            form.buttons.append(one)
            if "data-pedal" in told:
                form.pedal = one
        elif tag == "select":
            self.select, self.options, self.chosen = one[0], [], ""
        elif tag == "option":
            self.options.append(told.get("value", ""))
            self.chosen = one[1] if "selected" in told else self.chosen

    def handle_data(self, data: str) -> None:
        if self.select and self.options and not self.options[-1]:
            self.options[-1] = data.strip().replace("–", "")

    def handle_endtag(self, tag: str) -> None:
        if tag == "select" and self.form is not None:
            self.form.sends.append((self.select, self.chosen or (self.options or [""])[0]))
            self.select = ""
        elif tag == "form":
            self.form = None
        elif tag == "main":
            self.in_main = False


class HandsWithoutScreen:
    """Somebody at another station, who sees the same pages and uses the same forms."""

    def __init__(self, client: TestClient, desk: Desk) -> None:
        self.client, self.desk, self.text, self.path = client, desk, "", "/"
        self.ticked = list[tuple[str, str]]()

    def come(self, person: str, station: str = "soiled side 1") -> None:
        """Scan the badge, enter the PIN."""
        self.open("/sign-in?another=1")
        self.scan(badge_of(person))
        self.pedal(pin=PINS[person], station=station)

    def open(self, path: str) -> None:
        """Open a page."""
        answer = self.client.get(path)
        assert answer.status_code == 200, f"{path}: {answer.status_code}"
        self.text, self.path = answer.text, answer.request.url.path

    def pedal(self, **entered: str) -> None:
        """Press the main button of the page, or follow it where it leads on."""
        forms = self._read()
        found = [form for form in forms.forms if form.pedal]
        if not found:
            assert forms.leads, f"no pedal at {self.path}:\n{self.text}"
            self.open(forms.leads)
            return
        self._send(found[0], entered, found[0].pedal)

    def press(self, button: str, **entered: str) -> None:
        """Press a button by its value, or the one of the form that goes to a path."""
        for form in self._read().forms:
            for one in form.buttons:
                if button in one or form.path.endswith(button):
                    self._send(form, entered, one)
                    return
        raise AssertionError(f"no button {button!r} at {self.path}:\n{self.text}")

    def press_with(self, name: str, value: str, **entered: str) -> None:
        """Press the button of the form that carries a value."""
        form = next(form for form in self._read().forms if (name, value) in form.sends)
        self._send(form, entered)

    def scan(self, code: str) -> None:
        """Scan into the field of the page that takes scans, with every box as it was."""
        form = next(one for one in self._read().forms if one.scanned_as)
        self._send(form, {form.scanned_as: code})

    def tick(self, name: str, *values: str) -> None:
        """Tick boxes of a name; without values all of them."""
        boxes = [box for form in self._read().forms for box in form.boxes if box[0] == name]
        self.ticked = [box for box in boxes if not values or box[1] in values]
        assert self.ticked, f"no box {name!r} {values} at {self.path}"

    def _read(self) -> _Forms:
        forms = _Forms(self.path)
        forms.feed(self.text)
        return forms

    def _send(self, form: Form, entered: dict[str, str], button: tuple[str, str] | None = None) -> None:
        self.desk.hands.on(seconds=5)
        sent: dict[str, list[str]] = {}
        for name, value in [*form.sends, *self.ticked, *([button] if button and button[0] else [])]:
            sent.setdefault(name, []).append(entered.get(name, value))
        self.ticked = []
        answer = self.client.post(form.path, data=sent)
        assert answer.status_code == 200, f"{form.path}: {answer.status_code}\n{answer.text}"
        self.text, self.path = answer.text, answer.request.url.path
