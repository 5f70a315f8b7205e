"""The bench of the tests: Larkmere with loads put together by hand, a clock that stands, an account for every role."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from patency.bench import Clock, make_app, open_folder
from patency.bench.people import open_people
from patency.catalogue import Placing
from patency.demo import larkmere_texts
from patency.demo.bench_history import STAFF, write_history
from patency.demo.day import run_machines
from patency.ledger import open_ledger
from patency.load import Plan, write_plan
from patency.steps import write_all
from tests.demo.larkmere import LOADS, hand_made_load, larkmere

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi import FastAPI
    from starlette.testclient import TestClient

    from patency.bench import Opened
    from patency.load import Load

BEGIN = datetime(2026, 5, 12, 13, 20, tzinfo=UTC)
PINS = {person: f"{(place * 104729) % 900000 + 90417:06}" for place, person in enumerate(STAFF, start=1)}


class Hands:
    """The hands of a clock: they stand until somebody turns them."""

    def __init__(self) -> None:
        self.at = BEGIN

    def on(self, **much: float) -> None:
        self.at += timedelta(**much)


def prepare(folder: Path) -> None:
    """Fill a folder as ``patency serve`` would, without planner and machines, with an account for everybody."""
    department = larkmere()
    assert department.day is not None
    loads = tuple(_named(hand_made_load(name), place) for place, name in enumerate(LOADS))
    plan = Plan(
        site=department.site,
        day=department.day.date,
        loads=loads,
        loads_at_least=4,
        proven_fewest=False,
        objective={"loads": 4.0},
        bound={"loads": 4.0},
    )
    write_all(folder / "site", {name: text.encode() for name, text in larkmere_texts().items()})
    write_all(folder, {"plan.json": write_plan(plan).encode()})
    for load, (record, description) in run_machines(department, plan, np.random.default_rng(1)).items():
        files = {f"load-{load}.csv": record.encode(), f"load-{load}.yaml": description.encode()}
        write_all(folder / "records", files)
    ledger = open_ledger(str(folder / "ledger.sqlite"), create=True)
    write_history(ledger, department, BEGIN)
    ledger.close()
    people = open_people(folder / "people.sqlite")
    for person, pin in PINS.items():
        people.add(person, badge_of(person), pin, BEGIN)
    people.close()


@dataclass
class Desk:
    """An opened bench, its clock and how to come in."""

    opened: Opened
    hands: Hands

    def app(self, setup_token: str = "") -> FastAPI:
        return make_app(self.opened, setup_token)


def _named(load: Load, place: int) -> Load:
    """Name the holder of an optic as the planner does, and run one load after the other."""
    pieces = [
        piece.model_copy(update={"position": "optic_holder"}) if piece.placing is Placing.OPTIC_HOLDER else piece
        for piece in load.pieces
    ]
    starts = datetime(2026, 5, 12, 13, 26) + place * timedelta(minutes=80)  # noqa: DTZ001 - plans have local times
    times = {"starts": starts, "ends": starts + timedelta(minutes=66)}
    return load.model_copy(update={"pieces": tuple(pieces), **times})


def open_desk(folder: Path) -> Desk:
    """Open a prepared folder."""
    hands = Hands()
    return Desk(open_folder(folder, Clock(lambda: hands.at, "test clock")), hands)


def badge_of(person: str) -> str:
    return f"badge-of-{person}"


def csrf(text: str) -> str:
    """Find what a page's forms carry."""
    found = re.search(r'name="csrf" value="(\w+)"', text)
    assert found, text[:500]
    return found.group(1)


def sign_in(client: TestClient, person: str, station: str = "desk") -> None:
    """Come in with badge and PIN."""
    page = client.get("/sign-in?another=1")
    form = {"csrf": csrf(page.text), "badge": badge_of(person), "pin": PINS[person], "station": station}
    answer = client.post("/sign-in", data=form, follow_redirects=False)
    assert answer.status_code == 303, answer.text
