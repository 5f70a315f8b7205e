"""The way in: a badge is scanned, a PIN entered; and the way out."""

from __future__ import annotations

import math
from urllib.parse import quote

from fastapi import APIRouter
from fastapi.responses import Response

from patency.bench.asking import LANGUAGE, STATION, Asked, Asking, keep_token
from patency.bench.forms import page_of_ours
from patency.bench.people import Turned, admit
from patency.bench.people.admission import confirm
from patency.bench.people.sessions import end_session, find_session, lock_session, open_session

router = APIRouter(include_in_schema=False)
STATIONS = ("soiled side 1", "soiled side 2", "clean side 1", "clean side 2", "desk")


def _to(asked: Asked) -> str:
    """Say where the person goes on: where the way in was asked for, or the page that is in front of them."""
    wanted = asked.form.get("to") or asked.request.query_params.get("to") or asked.form.get("here", "")
    return page_of_ours(wanted) or "/"


def ask_pin(asked: Asked, badge: str, fault: str = "") -> Response:
    """Ask for the PIN of a badge; for the badge where there is none yet.

    Parameters
    ----------
    asked
        The request.
    badge
        What was scanned; empty for nothing.
    fault
        What was wrong with the try before.

    Returns
    -------
    Response
        The page.
    """
    session = find_session(asked.opened.people, asked.token, asked.now)
    another = bool(badge) or "another" in asked.request.query_params
    held = session.person if session and session.locked and not another else ""
    to = _to(asked)
    status = 422 if fault else 200
    return asked.page("sign_in", badge=badge, held=held, to=to, fault=fault, stations=STATIONS, status=status)


@router.get("/sign-in", name="sign-in")
def sign_in(asked: Asking) -> Response:
    """Ask for the badge, or for the PIN alone where a station is locked."""
    return ask_pin(asked, "")


@router.post("/sign-in/badge", name="sign-in.badge")
def badge(asked: Asking) -> Response:
    """Take a badge that was scanned and ask for its PIN."""
    return ask_pin(asked, asked.form.get("badge", "").strip())


@router.post("/sign-in", name="sign-in.enter")
def enter(asked: Asking) -> Response:
    """Let a person in whose badge and PIN belong together."""
    people, code, pin = asked.opened.people, asked.form.get("badge", "").strip(), asked.form.get("pin", "")
    session = find_session(people, asked.token, asked.now)
    held = session is not None and session.locked and not code
    found = confirm(people, session.person, pin, asked.now) if session and held else admit(people, code, pin, asked.now)
    if isinstance(found, Turned):
        fault = asked.gettext("Badge and PIN do not belong together.")
        if found.wait_s > 0:
            fault += " " + asked.gettext("Wait {} s before the next try.").format(math.ceil(found.wait_s))
        return ask_pin(asked, code, fault)
    end_session(people, asked.token)
    answer = asked.go(_to(asked))
    keep_token(asked.request, answer, open_session(people, found.person, asked.now))
    station = asked.form.get("station", "")
    if station in STATIONS:
        answer.set_cookie(STATION, station, httponly=True, samesite="strict", max_age=10**8)
    return answer


@router.post("/lock", name="lock")
def lock(asked: Asking) -> Response:
    """Lock the station; the same person goes on with the PIN, another with badge and PIN."""
    lock_session(asked.opened.people, asked.token)
    return asked.go(f"/sign-in?to={quote(_to(asked), safe='/')}")


@router.post("/sign-out", name="sign-out")
def sign_out(asked: Asking) -> Response:
    """End the session."""
    end_session(asked.opened.people, asked.token)
    return asked.go("/sign-in")


@router.post("/language", name="language")
def language(asked: Asking) -> Response:
    """Show the pages in another language from now on."""
    answer = asked.go(_to(asked))
    answer.set_cookie(LANGUAGE, asked.form.get("language", "en")[:8], httponly=True, samesite="strict", max_age=10**8)
    return answer
