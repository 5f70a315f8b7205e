"""The first start: whoever holds the one-time link makes the first account, an administrator's."""

from __future__ import annotations

import hmac

from fastapi import APIRouter
from fastapi.responses import Response

from patency.bench.asking import Asked, Asking, Forbidden
from patency.bench.people import weak_pin
from patency.bench.staff.new_accounts import accounts_for
from patency.ledger import PermitPerson, Person, Refused, Role

router = APIRouter(include_in_schema=False)


def _administrators(asked: Asked) -> list[str]:
    return [one.person for one in asked.opened.ledger.all_of(Person) if Role.ADMINISTRATOR in one.roles]


def _check(asked: Asked, token: str) -> None:
    wanted = asked.request.app.state.setup_token
    if not wanted or not hmac.compare_digest(wanted.encode(), token.encode()) or asked.opened.people.any_account():
        raise Forbidden(asked.gettext("This link was used before, or is not the one that was printed."))


@router.get("/setup/{token}", name="setup")
def setup(asked: Asking, token: str) -> Response:
    """Ask who the administrator is."""
    _check(asked, token)
    return asked.page("setup", known=_administrators(asked), faults={}, made=None, filled={})


@router.post("/setup/{token}", name="setup.make")
def make(asked: Asking, token: str) -> Response:
    """Make the administrator's account, and one for everybody the ledger knows where that is wanted."""
    _check(asked, token)
    form, opened = asked.form, asked.opened
    person, badge, pin = (form.get(name, "").strip() for name in ("person", "badge", "new_pin"))
    faults = {
        name: fault
        for name, fault in (
            ("person", "" if person else "the key of a person, such as admin-1"),
            ("badge", "" if len(badge) >= 4 else "at least four signs"),
            ("new_pin", weak_pin(pin) or ""),
        )
        if fault
    }
    known = _administrators(asked)
    if not faults and not known:
        asked.person = person
        outcome = opened.ledger.append(PermitPerson(person=person, roles={Role.ADMINISTRATOR: None}), asked.around())
        if isinstance(outcome, Refused):
            faults["person"] = outcome.text
    elif known and person not in known:
        faults["person"] = "one of those who are administrators"
    if faults:
        return asked.page("setup", known=known, faults=faults, made=None, filled=form, status=422)
    opened.people.add(person, badge, pin, asked.now)
    asked.request.app.state.setup_token = ""
    others = [one for one in opened.ledger.all_of(Person) if one.person != person] if form.get("everybody") else []
    made = accounts_for(opened.people, others, asked.now)
    return asked.page("setup", known=known, faults={}, made=made, filled={})
