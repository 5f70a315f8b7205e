"""What a program is told when something is wrong: each fault with where, what, expected, and all of it as one line."""

from __future__ import annotations

from http import HTTPStatus
from typing import TYPE_CHECKING, Any, TypeVar

from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import BaseModel

from patency.errors import InputError, PatencyError, StoreError
from patency.ledger import Refused

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fastapi import Request
    from starlette.exceptions import HTTPException

Outcome = TypeVar("Outcome")
_SECRET = {"pin", "badge", "second", "authorization"}


class Fault(BaseModel):
    """One fault."""

    where: str
    what: str
    expected: str
    line: str


class Faults(BaseModel):
    """What every answer other than 200 says."""

    faults: list[Fault]


class Declined(Exception):
    """Nothing was done, and why.

    Parameters
    ----------
    status
        Of HTTP.
    faults
        At least one.
    """

    def __init__(self, status: int, faults: Iterable[PatencyError]) -> None:
        self.status = status
        self.faults = tuple(faults)

    @classmethod
    def because(cls, status: int, where: str, what: str, expected: str) -> Declined:
        """Decline for one reason.

        Parameters
        ----------
        status
            Of HTTP.
        where
            The place of the fault.
        what
            What is so.
        expected
            What would have to be so.

        Returns
        -------
        Declined
            To be raised.
        """
        return cls(status, [InputError(where, what, expected)])


def granted(outcome: Outcome | Refused, status: int = HTTPStatus.CONFLICT) -> Outcome:
    """Take what a step gave, unless it refused.

    Parameters
    ----------
    outcome
        What the step gave.
    status
        Of HTTP, where it refused.

    Returns
    -------
    Outcome
        The same.

    Raises
    ------
    Declined
        With every reason of the refusal.
    """
    if isinstance(outcome, Refused):
        raise Declined(status, [InputError(one.where, one.what, one.expected) for one in outcome.reasons])
    return outcome


def told(status: int, faults: Iterable[PatencyError], headers: dict[str, str] | None = None) -> JSONResponse:
    """Answer with faults.

    Parameters
    ----------
    status
        Of HTTP.
    faults
        At least one.
    headers
        More of them.

    Returns
    -------
    JSONResponse
        A document of `Faults`.
    """
    listed = [
        Fault(where=_plain(one.where), what=_plain(one.what), expected=_plain(one.expected), line=one.line)
        for one in faults
    ]
    return JSONResponse(Faults(faults=listed).model_dump(), status_code=status, headers=headers)


def _plain(text: str) -> str:
    """Write what no text of a document may hold, such as half of a pair of surrogates, as its escape."""
    return "".join(sign if sign.isprintable() else sign.encode("unicode_escape").decode() for sign in text)


def on_declined(_request: Request, fault: Exception) -> JSONResponse:
    """Tell what a step refused; of exceptions FastAPI hands on only their common type.

    Parameters
    ----------
    _request
        What was asked.
    fault
        A `Declined`.

    Returns
    -------
    JSONResponse
        The faults.
    """
    assert isinstance(fault, Declined)  # noqa: S101 - registered for it alone
    headers = {"www-authenticate": "Bearer"} if fault.status == HTTPStatus.UNAUTHORIZED else None
    return told(fault.status, fault.faults, headers)


def on_error(_request: Request, fault: Exception) -> JSONResponse:
    """Tell of an error of ours: a store that does not answer, or a value that means nothing.

    Parameters
    ----------
    _request
        What was asked.
    fault
        A `PatencyError`.

    Returns
    -------
    JSONResponse
        The fault.
    """
    assert isinstance(fault, PatencyError)  # noqa: S101 - registered for it alone
    status = HTTPStatus.SERVICE_UNAVAILABLE if isinstance(fault, StoreError) else HTTPStatus.BAD_REQUEST
    return told(status, [fault])


def on_http(request: Request, fault: Exception) -> JSONResponse:
    """Tell of a path or a method that does not exist, or of a body that cannot be read.

    Parameters
    ----------
    request
        What was asked.
    fault
        An exception of HTTP.

    Returns
    -------
    JSONResponse
        The fault.
    """
    http: HTTPException = fault  # type: ignore[assignment] # registered for it alone
    where = f"{request.method} {request.url.path}"
    headers = dict(http.headers) if http.headers else None
    return told(http.status_code, [InputError(where, str(http.detail), "a request as openapi.json says")], headers)


def on_invalid(_request: Request, fault: Exception) -> JSONResponse:
    """Tell what of a request cannot be understood; badges and PINs are not repeated.

    Parameters
    ----------
    _request
        What was asked.
    fault
        What FastAPI found.

    Returns
    -------
    JSONResponse
        A fault for each field.
    """
    assert isinstance(fault, RequestValidationError)  # noqa: S101 - registered for it alone
    return told(HTTPStatus.UNPROCESSABLE_ENTITY, [_invalid(one) for one in fault.errors()])


def _invalid(one: dict[str, Any]) -> InputError:
    place = [str(part) for part in one["loc"]]
    given = one.get("input")
    secret = bool(_SECRET & {part.lower() for part in place}) or isinstance(given, dict | list)
    what = "is missing" if one["type"] == "missing" else "cannot be used" if secret else f"is {ascii(given)[:80]}"
    return InputError(".".join(place), what, str(one["msg"]))
