"""Accounts and roles: the administrator's page."""

from __future__ import annotations

from datetime import date

from fastapi import APIRouter
from fastapi.responses import Response
from pydantic import BaseModel

from patency.bench.asking import Asked, Asking
from patency.bench.forms import read_form
from patency.bench.staff.new_accounts import NewAccount, accounts_for
from patency.ledger import PermitPerson, Person, Refused, Role

router = APIRouter(include_in_schema=False)


class _NewPerson(BaseModel):
    person: str
    role: Role
    until: date | None = None


def _show(
    asked: Asked, faults: dict[str, str], made: list[NewAccount], reasons: object = (), status: int = 200
) -> Response:
    opened = asked.opened
    return asked.page(
        "staff",
        persons=opened.ledger.all_of(Person),
        accounts=set(opened.people.persons()),
        reads=opened.people.reads(),
        roles=list(Role),
        faults=faults,
        made=made,
        reasons=reasons,
        status=status,
    )


@router.get("/staff", name="staff")
def staff(asked: Asking) -> Response:
    """Show who may do what, who has an account, and what auditors looked at."""
    return _show(asked, {}, [])


@router.post("/staff", name="staff.add")
def add(asked: Asking) -> Response:
    """Permit a person a role, and hand out a new badge and PIN."""
    new, faults = read_form(_NewPerson, asked.form)
    if new is None:
        return _show(asked, faults, [], status=422)
    ledger = asked.opened.ledger
    known = ledger.find(Person, new.person)
    roles = {**(known.roles if known else {}), new.role: new.until}
    try:
        command = PermitPerson(person=new.person, roles=roles)
    except ValueError:
        return _show(asked, {"person": "a key with a digit and no space, such as loader-3"}, [], status=422)
    outcome = ledger.append(command, asked.around())
    if isinstance(outcome, Refused):
        return _show(asked, {}, [], outcome.reasons, 422)
    person = ledger.find(Person, new.person)
    made = accounts_for(asked.opened.people, [person] if person else [], asked.now)
    return _show(asked, {}, made)
