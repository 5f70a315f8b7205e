"""Who calls: a session's token instead of a cookie, so that no page of another site can call in somebody's name."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from http import HTTPStatus
from typing import TYPE_CHECKING, Annotated

from fastapi import Depends, Header, Request
from fastapi.security import HTTPAuthorizationCredentials, HTTPBearer

from patency.bench.asking import Asked
from patency.bench.interface.faults import Declined
from patency.bench.people.sessions import note_acting

if TYPE_CHECKING:
    from patency.bench.interface.bodies import Second
    from patency.bench.opened import Opened

_bearer = HTTPBearer(auto_error=False, description="The token that `POST /session` gave.")
_NOT_IN_THE_KEY = {"pin", "second", "badge"}

_Station = Annotated[
    str,
    Header(
        alias="Station", pattern=r"^[A-Za-z0-9](?:[A-Za-z0-9 ._-]*[A-Za-z0-9])?$", max_length=60,
        description="Where it is done, as the ledger keeps it.",
    ),
]  # fmt: skip
_Key = Annotated[
    str,
    Header(
        alias="Idempotency-Key", pattern=r"^[A-Za-z0-9._-]+$", min_length=8, max_length=64,
        description="Of the caller's choosing, a new one for each thing done; the same request under it does nothing "
        "again.",
    ),
]  # fmt: skip


@dataclass(slots=True)
class Call(Asked):
    """A request of a program, for a person who signed in.

    Parameters
    ----------
    at_station
        Where it is done.
    """

    at_station: str = "interface"

    @property
    def station(self) -> str:
        """Where it is done."""
        return self.at_station

    def confirmed_by(self, second: Second | None) -> str | None:
        """Ask whether a second person confirms too.

        Parameters
        ----------
        second
            Badge and PIN of that person; None for nobody.

        Returns
        -------
        str or None
            Key of the person; None where badge and PIN do not belong together, or they are the caller's own.
        """
        if second is None:
            return None
        self.form |= {"second_badge": second.badge, "second_pin": second.pin}
        return self.second_person()

    def confirms(self, pin: str) -> None:
        """Ask for the caller's PIN again before a decision that is named.

        Parameters
        ----------
        pin
            What was sent.

        Raises
        ------
        Declined
            When it is not right; wrong ones are slowed like those of a sign-in.
        """
        self.form |= {"pin": pin}
        if not self.pin_is_right():
            raise Declined.because(HTTPStatus.FORBIDDEN, "body.pin", "is not right", "the PIN of who is signed in")


def calling(
    request: Request,
    bearer: Annotated[HTTPAuthorizationCredentials | None, Depends(_bearer)],
    station: _Station = "interface",
) -> Call:
    """Find out who calls, and whether they may; what a role may do is said by the name the route shares with its page.

    Parameters
    ----------
    request
        The request.
    bearer
        The session's token.
    station
        Where it is done.

    Returns
    -------
    Call
        What a route needs.

    Raises
    ------
    Declined
        Where nobody is signed in, or the role does not permit it.
    """
    opened: Opened = request.app.state.opened
    now = opened.clock.now()
    token = bearer.credentials if bearer else ""
    session, person = opened.behind(token, now)
    if person is None:
        what = "is locked: nobody acted for a while" if session else "is no session that is open"
        raise Declined.because(HTTPStatus.UNAUTHORIZED, "header.Authorization", what, "Bearer and a token of /session")
    call = Call(
        request=request, opened=opened, form={}, token=token, person=person.person, roles=person.roles, now=now,
        at_station=station,
    )  # fmt: skip
    if not call.may(request.scope["route"].name):
        held = ", ".join(person.roles)
        raise Declined.because(HTTPStatus.FORBIDDEN, person.person, f"may not: is {held}", "a role that may")
    if session is not None:
        note_acting(opened.people, token, session, now)
    call.note_reading()
    return call


async def _what_is_asked(request: Request) -> str:
    """Say what is asked, without what is secret: the ledger keeps a digest of it in the command's key."""
    try:
        body = json.loads(await request.body() or b"null")
    except ValueError:
        body = None
    if isinstance(body, dict):
        body = {name: value for name, value in body.items() if name not in _NOT_IN_THE_KEY}
    return json.dumps([request.method, request.url.path, body], sort_keys=True)


def doing(
    call: Annotated[Call, Depends(calling)], asked: Annotated[str, Depends(_what_is_asked)], idempotency_key: _Key
) -> Call:
    """Take the key under which something is done once, however often it is sent.

    The key the ledger keeps says also what was asked: under a key that was used for something else by mistake a request
    is not taken for its repetition and silently left undone.

    Parameters
    ----------
    call
        Who calls.
    asked
        What is asked, as text.
    idempotency_key
        Of the caller's choosing.

    Returns
    -------
    Call
        Ready to act.
    """
    digest = hashlib.sha256(f"{call.person} {asked}".encode()).hexdigest()
    call.form["command"] = f"{idempotency_key} {digest[:12]}"
    return call


Reading = Annotated[Call, Depends(calling)]
"""What a route that only reads takes first."""
Doing = Annotated[Call, Depends(doing)]
"""What a route that acts takes first."""
