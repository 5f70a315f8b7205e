"""People who play a day through the bench: they scan, tap and press the pedal, and know no word of the pages."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from starlette.testclient import TestClient

from patency.catalogue import Cap
from patency.ledger import InstrumentSet, LoadRecord, SetState, Stock
from patency.load import CappedPort
from patency.steps import next_steam_load
from tests.bench.by_form import HandsWithoutScreen
from tests.bench.desk import PINS
from tests.bench.hands import scan, sign_in

if TYPE_CHECKING:
    from fastapi import FastAPI
    from playwright.sync_api import Page

    from patency.load import Load
    from tests.bench.desk import Desk

THREE = ("carrier", "machine", "programme")


class Players:
    """Whoever stands at the one browser, and those who work at other stations through the same pages' forms."""

    def __init__(self, page: Page, app: FastAPI, desk: Desk) -> None:
        self.page, self.app, self.desk = page, app, desk
        self.forms = HandsWithoutScreen(TestClient(app, base_url="http://127.0.0.1"), desk)

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

    # At other stations, through the forms of the same pages.

    def wash(self, *loads: str, at: str = "") -> None:
        """Bring loads from the hand-over through machines that run side by side; none is looked at yet."""
        if at:
            self.clock(at)
        for load in loads:
            self._start_elsewhere(self.planned(load))
        self.desk.hands.on(minutes=66)
        self.forms.come("assembler-1", "clean side 1")
        for load in loads:
            self.forms.open(f"/unloading/{load}")
            self.forms.pedal()

    def look_elsewhere(self, load: str) -> None:
        """Look at every port, nothing is off; count back."""
        self.forms.open(f"/unloading/{load}")
        self.forms.pedal()
        self.forms.press("/back")

    def _start_elsewhere(self, load: Load) -> None:
        forms = self.forms
        self._back_from_theatre(load.sets)
        forms.come("lead-2")
        for name in load.sets:
            self._take_in(name)
        forms.open(f"/loading/{load.id}")
        forms.pedal()
        self._confirm_all()
        forms.pedal()
        for kind in THREE:
            forms.tick("checked")
            forms.scan(f"{kind}:{getattr(load, kind)}")
        forms.pedal()
        assert self.load_now(load.id).state == "started"

    def _back_from_theatre(self, sets: tuple[str, ...]) -> None:
        self.forms.come("coordinator-1", "desk")
        for name in sets:
            if self.set_now(name).state is SetState.IN_USE:
                self.forms.open(f"/clean/{name}")
                self.forms.pedal()

    def _take_in(self, name: str) -> None:
        """Receive what was used, count, go past the work by hand, bind a pod where one is needed, take apart."""
        forms = self.forms
        if self.set_now(name).state is SetState.USED:
            forms.open("/receiving")
            forms.scan(f"set:{name}")
            forms.pedal()
        forms.open(f"/receiving/{name}?part=apart")
        if "pod-code" in forms.text:
            forms.scan(f"pod:pod of {name}")
        forms.pedal()
        assert self.set_now(name).state is SetState.DISMANTLED

    def _confirm_all(self, but: int = 0) -> int:
        done = 0
        while True:
            at, steps = (int(one) for one in re.findall(r"<strong>(\d+) / (\d+)</strong>", self.forms.text)[0])
            if at >= steps - but:
                return done
            self.forms.pedal()
            done += 1

    def confirm_elsewhere(self, person: str, load: str, but: int) -> int:
        """Confirm the steps of a load but the last ones, at another station; return how many."""
        self.forms.come(person, "soiled side 2")
        self.forms.open(f"/loading/{load}")
        return self._confirm_all(but)

    def release_elsewhere(self, load: str) -> None:
        """Release a load whose record misses nothing."""
        self.forms.come("releaser-1", "desk")
        self.forms.open(f"/release/{load}")
        assert 'class="not-met"' not in self.forms.text
        self.forms.press("release", pin=PINS["releaser-1"])

    def pack_elsewhere(self, *sets: str) -> None:
        """Inspect, put together, pack."""
        self.forms.come("assembler-1", "clean side 1")
        for name in sets:
            self.forms.open(f"/clean/{name}")
            for _ in range(3):
                self.forms.pedal()
            assert self.set_now(name).state is SetState.PACKED

    def steam_elsewhere(self, **sets: tuple[str, ...]) -> None:
        """Pack sets, bring them through sterilizers that run side by side, release them."""
        forms, day = self.forms, self.desk.opened.plan.day
        steam = [next_steam_load(self.desk.opened.workplace, machine, day) for machine in sets]
        for machine, names in sets.items():
            self.pack_elsewhere(*names)
            forms.open("/clean")
            forms.tick("sets", *names)
            forms.press("/clean-steam", machine=machine)
        self.desk.hands.on(minutes=58)
        forms.come("assembler-1", "clean side 1")
        for load in steam:
            forms.open(f"/unloading/{load}")
            forms.pedal()
            forms.pedal()
        for load in steam:
            self.release_elsewhere(load)
        forms.come("assembler-1", "clean side 1")

    def issue_elsewhere(self, name: str, case: str) -> None:
        """Put a released set into the store where it is not there yet, and issue it to the key of a case."""
        self.forms.open(f"/clean/{name}")
        if self.set_now(name).state is SetState.STERILE_RELEASED:
            self.forms.pedal()
        self.forms.scan(case)
        assert self.set_now(name).state is SetState.ISSUED

    def plan_again(self, load: str, *sets: str) -> Load:
        """Plan sets of a load anew, all or some, where they were, and open the bench with that plan."""
        opened, before = self.desk.opened, self.planned(load)
        again = before.model_copy(update={"id": f"{load}-again"})
        if sets:
            kept = tuple(one for one in before.pieces if one.set in sets)
            freed = {lumen.port for one in before.pieces for lumen in one.lumens}
            freed -= {lumen.port for one in kept for lumen in one.lumens}
            again = again.model_copy(update={"sets": sets, "pieces": kept, **self._closed(before, sorted(freed))})
        plan = opened.plan.model_copy(update={"loads": (*opened.plan.loads, again)})
        self.desk.opened = self.app.state.opened = replace(opened, plan=plan)
        return again

    def _closed(self, load: Load, freed: list[str]) -> dict[str, tuple[object, ...]]:
        """Close ports with the caps there are, and leave open those for which none is left."""
        department, ledger = self.desk.opened.department, self.desk.opened.ledger
        capped, left_open = [*load.capped_ports], [*load.open_ports]
        for name in freed:
            port = department.carriers[load.carrier].ports[name]
            family = (port.hose or port).end.family
            caps = [
                key for key, one in department.accessories.items() if isinstance(one, Cap) and one.near.family is family
            ]
            stock = ledger.find(Stock, caps[0])
            if stock is not None and stock.free > sum(one.cap == caps[0] for one in capped):
                capped.append(CappedPort(port=name, cap=caps[0]))
            else:
                left_open.append(name)
        return {"capped_ports": tuple(capped), "open_ports": tuple(left_open)}

    # What is so.

    def clock(self, at: str) -> None:
        """Let it be that time of the day, if it is not later already."""
        hour, minute = (int(one) for one in at.split(":"))
        self.desk.hands.at = max(self.desk.hands.at, self.desk.hands.at.replace(hour=hour, minute=minute))

    def planned(self, load: str) -> Load:
        return next(one for one in self.desk.opened.plan.loads if one.id == load)

    def set_now(self, name: str) -> InstrumentSet:
        found = self.desk.opened.ledger.find(InstrumentSet, name)
        assert found is not None
        return found

    def load_now(self, load: str) -> LoadRecord:
        found = self.desk.opened.ledger.find(LoadRecord, load)
        assert found is not None
        return found
