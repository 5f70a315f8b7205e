"""The interface as an application of its own, held by the bench at ``/api/v1``; its description is served with it."""

from __future__ import annotations

from http import HTTPStatus
from typing import TYPE_CHECKING, Any

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException

from patency.bench.interface import clean, desk, findings, loads, sessions, soiled
from patency.bench.interface.faults import Declined, Faults, on_declined, on_error, on_http, on_invalid, told
from patency.errors import InputError, PatencyError

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable

    from fastapi import Request
    from fastapi.responses import Response

    from patency.bench.opened import Opened

_LARGEST_BODY = 12_000_000  # a picture of 8 MB in base64, and what is said of it

_ABOUT = """
What the pages of the bench do, for programs: the same steps, people, roles and holds.

Predictions are calculations, not measurements. Not evaluated is not passed. Release is the decision of a qualified
person, who is signed in and gives the PIN again. A program that acts here acts in the name of that person: follow the
instructions for use and the department's validated process.
"""
_WRONG: dict[int | str, dict[str, Any]] = {
    400: {"model": Faults, "description": "A value that means nothing, or a body that cannot be read"},
    401: {"model": Faults, "description": "Nobody is signed in, or the session is locked"},
    403: {"model": Faults, "description": "The role does not permit it, or a PIN is not right"},
    404: {"model": Faults, "description": "There is no such thing"},
    409: {"model": Faults, "description": "Refused: every reason, and nothing was written"},
    413: {"model": Faults, "description": "Larger than anything that is asked for, or of unknown length"},
    422: {"model": Faults, "description": "Not understood: a fault for each field"},
    503: {"model": Faults, "description": "The store does not answer, and nothing was written"},
}


def make_interface(opened: Opened) -> FastAPI:
    """Make the interface for an opened folder.

    Parameters
    ----------
    opened
        Department, plan, ledger and accounts.

    Returns
    -------
    FastAPI
        To be held by the application of the bench.
    """
    api = FastAPI(
        title="Patency bench", version="1", description=_ABOUT, docs_url=None, redoc_url=None, responses=_WRONG
    )
    api.state.opened = opened
    api.middleware("http")(_within_bounds)
    for part in (sessions, desk, soiled, loads, clean, findings):
        api.include_router(part.router)
    api.exception_handler(Declined)(on_declined)
    api.exception_handler(PatencyError)(on_error)
    api.exception_handler(RequestValidationError)(on_invalid)
    api.exception_handler(HTTPException)(on_http)
    return api


async def _within_bounds(request: Request, call: Callable[[Request], Awaitable[Response]]) -> Response:
    """Read no body that is too large; it would be read before anybody asks who calls."""
    length = request.headers.get("content-length", "0")
    if "transfer-encoding" in request.headers or not length.isdigit() or int(length) > _LARGEST_BODY:
        where, what = f"{request.method} {request.url.path}", f"a body of {length} bytes, or of unknown length"
        fault = InputError(where, what, f"at most {_LARGEST_BODY} bytes, told beforehand; a picture may have 8 MB")
        return told(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, [fault])
    return await call(request)
