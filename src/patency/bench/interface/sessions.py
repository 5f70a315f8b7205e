"""The way in for programs: badge and PIN give a token for one person, who has to be there as at any station."""

from __future__ import annotations

import math
from http import HTTPStatus
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request

from patency.bench.interface.answers import Closed, Opened
from patency.bench.interface.bodies import SignIn
from patency.bench.interface.calling import Reading
from patency.bench.interface.faults import Declined
from patency.bench.people import Turned, admit
from patency.bench.people.sessions import LOCKS_AFTER, end_session, open_session
from patency.ledger import Person

if TYPE_CHECKING:
    from patency.bench.opened import Opened as Bench

router = APIRouter(tags=["session"])


@router.post("/session", name="sign-in.enter")
def enter(request: Request, body: SignIn) -> Opened:
    """Let a person in whose badge and PIN belong together."""
    opened: Bench = request.app.state.opened
    now = opened.clock.now()
    found = admit(opened.people, body.badge.strip(), body.pin, now)
    person = None if isinstance(found, Turned) else opened.ledger.find(Person, found.person)
    if isinstance(found, Turned) or person is None:
        wait = math.ceil(found.wait_s) if isinstance(found, Turned) else 0
        expected = f"a badge and its PIN, in {wait} s" if wait > 0 else "a badge and its PIN"
        raise Declined.because(HTTPStatus.UNAUTHORIZED, "body", "badge and PIN do not belong together", expected)
    token = open_session(opened.people, found.person, now)
    in_force = [role for role, until in person.roles.items() if until is None or now.date() <= until]
    return Opened(token=token, person=found.person, roles=in_force, locks_after_s=LOCKS_AFTER.total_seconds())


@router.delete("/session", name="sign-out")
def leave(call: Reading) -> Closed:
    """End the session."""
    end_session(call.opened.people, call.token)
    return Closed(person=call.person)
