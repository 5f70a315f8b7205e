"""People who play a day through the browser: they scan, tap and press the pedal, and know no word of the pages."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.ledger import Appended, Circumstances, Confirmation, EndLoad, InstrumentSet, MoveSet, SetState, Who
from patency.steps import (
    all_seen,
    begin_load,
    bind_pod,
    confirm_step,
    dismantle_set,
    receive_set,
    show_before_start,
    start_load,
)
from tests.bench.desk import PINS
from tests.bench.hands import scan, sign_in
from tests.steps.at_the_bench.bench import done

if TYPE_CHECKING:
    from playwright.sync_api import Page

    from patency.ledger import Command
    from tests.bench.desk import Desk

THREE = ("carrier", "machine", "programme")


class Players:
    """Whoever stands at the one browser, and those who work elsewhere meanwhile."""

    def __init__(self, page: Page, desk: Desk) -> None:
        self.page, self.desk, self.number = page, desk, 0

    # At the browser.

    def come(self, person: str, station: str = "soiled side 1") -> None:
        sign_in(self.page, person, station)

    def press(self, waits_for: str) -> None:
        """Press the pedal and wait for what follows."""
        self.page.keyboard.press("F9")
        self.page.wait_for_selector(waits_for)

    def tap(self, what: str, waits_for: str) -> None:
        self.page.locator(what).first.click()
        self.page.wait_for_selector(waits_for)

    def receive(self, name: str) -> None:
        """Scan a set that came back."""
        self.page.goto("/receiving")
        scan(self.page, f"set:{name}")
        self.page.wait_for_url(f"**/receiving/{name.replace(' ', '%20')}*")

    def take_apart(self, name: str) -> None:
        """Go past the work by hand, bind a pod by its scan, take apart."""
        self.page.goto(f"/receiving/{name}?part=hand")
        self.press("#pod-code")
        scan(self.page, f"pod:{name}")
        self.press_after(".state.met", "main a[href^='/loading/']")

    def press_after(self, what: str, waits_for: str) -> None:
        self.page.wait_for_selector(what)
        self.press(waits_for)

    def confirm(self) -> str:
        """Confirm the step on the screen with the pedal; return its key."""
        step = self.page.locator("#confirm input[name=step]").get_attribute("value") or ""
        before = int(self.page.locator(".head progress").get_attribute("value") or 0)
        self.page.keyboard.press("F9")
        self.confirmed(before + 1)
        return step

    def confirmed(self, number: int) -> None:
        """Wait until so many steps are confirmed."""
        self.page.wait_for_selector(f".head progress[value='{number}']")

    def start(self, load: str) -> None:
        """Tick every look, scan carrier, machine and programme, start."""
        planned = next(one for one in self.desk.opened.plan.loads if one.id == load)
        for box in self.page.locator("input[name=checked]").all():
            box.check()
        for number, kind in enumerate(THREE, start=1):
            scan(self.page, f"{kind}:{getattr(planned, kind)}")
            self.page.wait_for_selector(f":nth-match(.scanned.right, {number})")
        self.press(".told.good")

    def decide(self, load: str, decision: str, why: str = "") -> None:
        """Decide about a load with the PIN."""
        self.page.goto(f"/release/{load}")
        if why:
            self.page.fill("#f-why", why)
        self.page.fill("#f-pin", PINS["releaser-1"])
        self.tap(f"button[value='{decision}']", ".told.good")

    def told(self) -> str:
        return self.page.inner_text("main")

    # Elsewhere.

    def around(self, who: str) -> Circumstances:
        self.number += 1
        self.desk.hands.on(seconds=5)
        at = self.desk.hands.at
        by = Who(person=who, confirmed=Confirmation.BADGE)
        return Circumstances(command=f"p{self.number}", who=by, at=at, clock="test clock", recorded=at, station="other")

    def do(self, command: Command, who: str) -> None:
        outcome = self.desk.opened.ledger.append(command, self.around(who))
        assert isinstance(outcome, Appended), outcome.text

    def set_now(self, name: str) -> InstrumentSet:
        found = self.desk.opened.ledger.find(InstrumentSet, name)
        assert found is not None
        return found

    def run(self, load: str) -> None:
        """Bring the sets of a load through the machine at another station."""
        work = self.desk.opened.workplace
        planned = next(one for one in work.plan.loads if one.id == load)
        for name in planned.sets:
            if self.set_now(name).state is SetState.IN_USE:
                self.do(MoveSet(set_key=name, to=SetState.USED), "coordinator-1")
            done(receive_set(work, name, self.around("lead-2")))
            done(bind_pod(work, name, f"pod of {name}", self.around("lead-2")))
            done(dismantle_set(work, name, all_seen(self.set_now(name)), self.around("lead-2")))
        shown = done(begin_load(work, load, self.around("lead-2")))
        while shown.now is not None:
            shown = done(confirm_step(work, load, shown.now.key, (), self.around("lead-2")))
        before = done(show_before_start(work, load))
        scans = (before.carrier, before.machine, before.programme)
        done(start_load(work, load, scans, before.checks, self.around("lead-2")))
        self.desk.hands.on(minutes=66)
        self.do(EndLoad(load=load, completed=True), "assembler-1")
