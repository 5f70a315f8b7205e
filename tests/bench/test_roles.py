"""Every route with every role: the table says who may, and the bench does as it says."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING

import pytest
from fastapi.routing import APIRoute

from patency.bench.authority import MAY, OPEN, may
from patency.bench.pages import ROUTERS
from patency.demo.bench_history import STAFF
from patency.ledger import Role
from tests.bench.desk import Desk, csrf, sign_in

if TYPE_CHECKING:
    from fastapi import FastAPI
    from starlette.testclient import TestClient

DAY = date(2026, 5, 12)
WHO = {role: person for person, role in reversed(STAFF.items())}


def routes(app: FastAPI) -> list[APIRoute]:
    found = [*app.routes, *(route for router in ROUTERS for route in router.routes)]
    return [route for route in found if isinstance(route, APIRoute)]


def test_the_table_names_every_route_and_no_other(desk: Desk) -> None:
    names = [route.name for route in routes(desk.app())]
    assert len(names) > 10
    assert sorted(names) == sorted({*names})
    assert {*names} == OPEN | {*MAY}
    assert not OPEN & {*MAY}


@pytest.mark.parametrize("role", Role)
def test_every_route_answers_every_role_as_the_table_says(client: TestClient, desk: Desk, role: Role) -> None:
    wrong = []
    sign_in(client, WHO[role])
    for route in routes(desk.app()):
        if route.name in OPEN or route.name in {"sign-out", "lock"}:
            continue
        path = re.sub(r"\{[^}]*\}", "Appendix", route.path)
        mark = csrf(client.get("/").text)
        if "POST" in (route.methods or ()):
            answer = client.post(path, data={"csrf": mark}, headers={"x-csrf": mark}, follow_redirects=False)
        else:
            answer = client.get(path, follow_redirects=False)
        permitted = role in MAY[route.name]
        if (answer.status_code == 403) is permitted or answer.status_code >= 500:
            wrong.append(f"{route.name}: {answer.status_code}")
    assert wrong == []


def test_a_role_that_has_ended_permits_nothing() -> None:
    assert may("staff", {Role.ADMINISTRATOR: DAY}, DAY)
    assert not may("staff", {Role.ADMINISTRATOR: date(2026, 5, 11)}, DAY)
    assert not may("no such route", {Role.ADMINISTRATOR: None}, DAY)
