"""Who asks for a page, in what language, at which station: what every route is handed, and how it answers."""

from __future__ import annotations

import hmac
import uuid
from contextlib import suppress
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated, Any
from urllib.parse import quote

from fastapi import Depends, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from itsdangerous import BadSignature, URLSafeSerializer

from patency.bench.authority import OPEN, UNATTENDED, may
from patency.bench.forms import Posted, page_of_ours, posted
from patency.bench.languages import language_of
from patency.bench.navigation import PLACES, Destination
from patency.bench.people.admission import Admission, admit, confirm
from patency.bench.people.sessions import LOCKS_AFTER, new_token, note_acting
from patency.bench.saying import say
from patency.bench.templates import render
from patency.ledger import Circumstances, Confirmation, Kind, Role, Who
from patency.steps import findings_of

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from patency.bench.opened import Opened
    from patency.steps import Finding

SESSION = "session"
STATION = "station"
LANGUAGE = "language"
TOLD = "told"


class Elsewhere(Exception):
    """The person has to go to another page first.

    Parameters
    ----------
    path
        Where to.
    """

    def __init__(self, path: str) -> None:
        self.path = path


class Forbidden(Exception):
    """The page is not for this person, or the request did not come from a page of ours.

    Parameters
    ----------
    why
        In one sentence.
    """

    def __init__(self, why: str) -> None:
        self.why = why


@dataclass(slots=True)
class Asked:
    """A request, as routes see it.

    Parameters
    ----------
    request
        The request itself.
    opened
        The department, plan, ledger, accounts.
    form
        What was posted; empty for a page that is only read.
    token
        The browser's token, of a session or of nobody yet.
    person
        Who is signed in; empty for nobody.
    roles
        What the person may do.
    now
        The moment.
    language
        In which language the person reads.
    lists
        What was posted, with every value of a field.
    files
        Files that were sent with the form, by field; without their names.
    """

    request: Request
    opened: Opened
    form: dict[str, str]
    token: str
    person: str
    roles: Mapping[Role, Any]
    now: datetime
    language: str = "en"
    lists: dict[str, list[str]] = field(default_factory=dict)
    files: dict[str, bytes] = field(default_factory=dict)

    @property
    def station(self) -> str:
        """Where the person stands, as chosen at this browser."""
        return self.request.cookies.get(STATION) or "desk"

    @property
    def csrf(self) -> str:
        """What a form of this browser carries to show that it came from a page of ours."""
        return self.opened.people.keyed("form", self.token)

    @property
    def here(self) -> str:
        """The page in front of the person: the one that is asked for, or the one a form was sent from."""
        if self.request.method == "POST":
            return page_of_ours(self.form.get("here", "")) or "/"
        url = self.request.url
        return f"{url.path}?{url.query}" if url.query else url.path

    @property
    def locks_after_s(self) -> float:
        """How long a page may stand before nobody acts any more [s]."""
        return LOCKS_AFTER.total_seconds()

    def gettext(self, text: str) -> str:
        """Say something in the person's language.

        Parameters
        ----------
        text
            In English.

        Returns
        -------
        str
            The translation, or the text itself where there is none.
        """
        return say(self.language, text)

    def may(self, route: str) -> bool:
        """Say whether the person may take a route, so that a page shows no way that is closed.

        Parameters
        ----------
        route
            Its name.

        Returns
        -------
        bool
            Whether the person may.
        """
        return route in OPEN or may(route, self.roles, self.now.date())

    def findings(self, about: str, key: str) -> tuple[Finding, ...]:
        """List what was reported at a thing, so that every page of it warns.

        Parameters
        ----------
        about
            What kind of thing.
        key
            Which one.

        Returns
        -------
        tuple[Finding, ...]
            The latest first.
        """
        return findings_of(self.opened.workplace, Kind(about), key)

    def around(self, second: str | None = None) -> Circumstances:
        """Say who asks the ledger, when and where, under the key the form carried.

        Parameters
        ----------
        second
            Another person who confirmed with badge and PIN too.

        Returns
        -------
        Circumstances
            For a command.
        """
        both = Confirmation.BADGE_AND_PIN
        return Circumstances(
            command=self.form.get("command") or uuid.uuid4().hex,
            who=Who(person=self.person, confirmed=both),
            second=Who(person=second, confirmed=both) if second else None,
            at=self.now,
            clock=self.opened.clock.name,
            recorded=self.now,
            station=self.station,
            relies_on=self.opened.versions,
        )

    def note_reading(self) -> None:
        """Write down what an auditor looks at, with what was asked of the page."""
        if Role.AUDITOR in self.roles:
            url = self.request.url
            what = f"{url.path}?{url.query}" if url.query else url.path
            self.opened.people.note_read(self.person, what, self.now)

    def pin_is_right(self) -> bool:
        """Ask for the person's PIN again, before a decision that is named; the form's field is ``pin``.

        Returns
        -------
        bool
            Whether it was right; wrong ones are slowed like those of a sign-in.
        """
        found = confirm(self.opened.people, self.person, self.form.get("pin", ""), self.now)
        return isinstance(found, Admission)

    def second_person(self) -> str | None:
        """Ask for badge and PIN of another person who confirms too; the fields are ``second_badge``, ``second_pin``.

        Returns
        -------
        str or None
            Key of the person; None where badge and PIN do not belong together, or they are the same person's.
        """
        badge, pin = self.form.get("second_badge", "").strip(), self.form.get("second_pin", "")
        found = admit(self.opened.people, badge, pin, self.now) if badge else None
        return found.person if isinstance(found, Admission) and found.person != self.person else None

    def page(self, template: str, *, status: int = 200, **shown: object) -> HTMLResponse:
        """Answer with a page.

        Parameters
        ----------
        template
            The page's folder, such as ``board``, or a file in it, such as ``board/rows.html``.
        status
            Of HTTP; 422 for a form that is shown again with its faults.
        **shown
            What the template shows.

        Returns
        -------
        HTMLResponse
            The page.
        """
        text = render(template, self.language, asked=self, **shown)
        answer = HTMLResponse(text, status_code=status)
        self.remember(answer)
        return answer

    def places(self) -> list[Destination]:
        """List the places this person may go to.

        Returns
        -------
        list[Destination]
            In the order they are shown.
        """
        return [place for place in PLACES if self.may(place.route)] if self.person else []

    @property
    def told(self) -> dict[str, str] | None:
        """What the page before wants to have said on this one; None where nothing."""
        kept = self.request.cookies.get(TOLD)
        with suppress(BadSignature):
            return self._signer().loads(kept) if kept else None
        return None

    def _signer(self) -> URLSafeSerializer:
        return URLSafeSerializer(self.csrf, salt=TOLD)

    def go(self, path: str, told: str = "", sound: str = "good") -> Response:
        """Answer that it was done, and where to go on.

        Parameters
        ----------
        path
            Of a page of ours.
        told
            What that page says first; empty for nothing.
        sound
            How it sounds: ``good`` or ``bad``.

        Returns
        -------
        Response
            The browser goes there.
        """
        answer = RedirectResponse(path, status_code=303)
        if told:
            kept = self._signer().dumps({"text": told, "sound": sound})
            answer.set_cookie(TOLD, str(kept), httponly=True, samesite="strict", max_age=30)
        return answer

    def remember(self, answer: Response) -> None:
        """Let the browser keep its token.

        Parameters
        ----------
        answer
            The answer that carries it.
        """
        if self.request.cookies.get(SESSION) != self.token:
            keep_token(self.request, answer, self.token)
        if TOLD in self.request.cookies:
            answer.delete_cookie(TOLD)


def keep_token(request: Request, answer: Response, token: str) -> None:
    """Let a browser keep a token no script can read and no other site can send.

    Parameters
    ----------
    request
        What is answered.
    answer
        The answer.
    token
        The token.
    """
    secure = request.url.scheme == "https"
    answer.set_cookie(SESSION, token, httponly=True, samesite="strict", secure=secure, path="/")


def asking(request: Request, sent: Annotated[Posted, Depends(posted)]) -> Asked:
    """Find out who asks, and whether they may.

    Parameters
    ----------
    request
        The request.
    sent
        What was posted.

    Returns
    -------
    Asked
        What a route needs.

    Raises
    ------
    Elsewhere
        To sign in or to unlock first.
    Forbidden
        When the role does not permit it, or a form did not come from a page of ours.
    """
    opened: Opened = request.app.state.opened
    route = request.scope["route"].name
    now = opened.clock.now()
    token = request.cookies.get(SESSION) or ""
    session, person = opened.behind(token, now)
    asked = Asked(
        request=request,
        opened=opened,
        form={name: values[-1] for name, values in sent.fields.items()},
        token=token or new_token(),
        person=person.person if person else "",
        roles=person.roles if person else {},
        now=now,
        language=language_of(request.cookies.get(LANGUAGE), request.headers.get("accept-language", "")),
        lists=sent.fields,
        files=sent.files,
    )
    if request.method == "POST":
        _came_from_us(asked)
    if route in OPEN:
        return asked
    if person is None:
        raise Elsewhere(f"/sign-in?to={quote(UNATTENDED.get(route, asked.here), safe='/')}")
    if not asked.may(route):
        raise Forbidden(asked.gettext("This page is not for your role."))
    if session is not None and route not in UNATTENDED:
        note_acting(opened.people, token, session, now)
    asked.note_reading()
    return asked


def _came_from_us(asked: Asked) -> None:
    sent = asked.form.get("csrf") or asked.request.headers.get("x-csrf", "")
    if not hmac.compare_digest(sent.encode(), asked.csrf.encode()):
        raise Forbidden(asked.gettext("This form is out of date. Open the page again and repeat."))


Asking = Annotated[Asked, Depends(asking)]
"""What a route takes as its first argument."""
