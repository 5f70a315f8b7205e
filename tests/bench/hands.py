"""What a person does in a real browser: scan, sign in, look whether everything can be read and reached."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from axe_playwright_python.sync_playwright import Axe

from tests.bench.desk import PINS, badge_of

if TYPE_CHECKING:
    from playwright.sync_api import Page

LEAST_TARGET_PX = 54.2
"""15 mm on a 24-inch screen of 1920 x 1080: 531.3 mm wide, so a pixel is 0.2767 mm."""
_SERIOUS = {"serious", "critical"}
_AXE = Axe()
_ASKED = {"resultTypes": ["violations"], "rules": {"target-size": {"enabled": True}}}
_SMALL_TARGETS = """
() => [...document.querySelectorAll(
    'main button, main a.button, main select, main input:not([type=hidden]), header a, header button, footer a, '
    + 'footer button')]
  .filter(e => e.offsetParent !== null && !['checkbox', 'radio', 'file'].includes(e.type))
  .map(e => [e.outerHTML.slice(0, 90), e.getBoundingClientRect()])
  .filter(([, box]) => Math.min(box.width, box.height) < %s)
  .map(([html, box]) => `${html} ${box.width.toFixed()} x ${box.height.toFixed()}`)
"""


def scan(page: Page, code: str) -> None:
    """Type as a scanner does: quickly, wherever the focus is, with Enter at the end."""
    page.wait_for_load_state("load")
    page.evaluate("document.documentElement.dataset.scanMs = 500")  # keys come slowly where others use the processor
    page.keyboard.type(code)
    page.keyboard.press("Enter")


def heard(page: Page) -> str:
    """Wait until a tune was played for what the page answers, which may be after it is seen, and say which."""
    # Not by a script that is looked at again and again: what pages allow forbids that.
    page.wait_for_selector("html[data-heard]", state="attached")
    return str(page.evaluate("document.documentElement.dataset.heard"))


def sign_in(page: Page, person: str, station: str = "desk") -> None:
    """Scan the badge, enter the PIN."""
    page.goto("/sign-in?another=1")
    scan(page, badge_of(person))
    page.fill("#f-pin", PINS[person])
    page.select_option("#f-station", station)
    page.click("main .main-act")
    page.wait_for_selector(".who")


def serious_faults(page: Page) -> list[str]:
    """Ask axe-core what keeps people from using the page, the targets of WCAG 2.2 with it."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(_AXE.axe_script)
    found: list[dict[str, Any]] = page.evaluate("options => axe.run(options).then(told => told.violations)", _ASKED)
    return [f"{one['id']}: {one['nodes'][0]['html'][:120]}" for one in found if one["impact"] in _SERIOUS]


def small_targets(page: Page) -> list[str]:
    """List what a glove cannot hit."""
    return list(page.evaluate(_SMALL_TARGETS % LEAST_TARGET_PX))
