"""The web application: routes of every page, headers, what is answered when something is wrong."""

from __future__ import annotations

import mimetypes
from contextlib import asynccontextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from fastapi import FastAPI, HTTPException
from fastapi.responses import FileResponse, RedirectResponse

from patency.bench.asking import LANGUAGE, Elsewhere, Forbidden
from patency.bench.interface import make_interface
from patency.bench.languages import language_of
from patency.bench.pages import ROUTERS
from patency.bench.templates import render
from patency.errors import PatencyError

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Awaitable, Callable

    from fastapi import Request
    from fastapi.responses import Response

    from patency.bench.opened import Opened

_ROOM = Path(__file__).parent
_ASSETS = {".css", ".js", ".svg"}
_HEADERS = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
        "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "permissions-policy": "camera=(), geolocation=(), microphone=()",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}


def make_app(opened: Opened, setup_token: str = "") -> FastAPI:
    """Make the application for an opened folder.

    Parameters
    ----------
    opened
        Department, plan, ledger and accounts; closed when the application stops.
    setup_token
        What the one-time setup link carries; empty where everything is set up.

    Returns
    -------
    FastAPI
        To be served, or asked by a test.
    """

    @asynccontextmanager
    async def life(_app: FastAPI) -> AsyncIterator[None]:
        yield
        opened.close()

    app = FastAPI(title="Patency bench", docs_url=None, redoc_url=None, openapi_url=None, lifespan=life)
    app.state.opened = opened
    app.state.setup_token = setup_token
    app.middleware("http")(_with_headers)
    app.get("/asset/{folder}/{name}", name="asset", include_in_schema=False)(_asset)
    for router in ROUTERS:
        app.include_router(router)
    app.mount("/api/v1", make_interface(opened))
    app.exception_handler(Elsewhere)(_elsewhere)
    app.exception_handler(Forbidden)(_forbidden)
    app.exception_handler(PatencyError)(_faulty)
    app.exception_handler(404)(_not_found)
    return app


async def _with_headers(request: Request, call: Callable[[Request], Awaitable[Response]]) -> Response:
    answer = await call(request)
    for name, value in _HEADERS.items():
        answer.headers[name] = value
    if not request.url.path.startswith("/asset/"):
        answer.headers["cache-control"] = "no-store"
    return answer


def _asset(folder: str, name: str) -> FileResponse:
    file = _ROOM / folder / name
    known = file.suffix in _ASSETS and file.parent.parent == _ROOM and ".." not in (folder, name)
    if not known or not file.is_file():
        raise HTTPException(404)
    kind = mimetypes.types_map.get(file.suffix, "text/plain")
    return FileResponse(file, media_type=kind, headers={"cache-control": "no-cache"})


def _told(request: Request, what: str, status: int) -> Response:
    from fastapi.responses import HTMLResponse

    language = language_of(request.cookies.get(LANGUAGE), request.headers.get("accept-language", ""))
    return HTMLResponse(render("layout/fault.html", language, what=what), status_code=status)


def _elsewhere(request: Request, fault: Exception) -> Response:
    path = fault.path if isinstance(fault, Elsewhere) else "/"
    if request.headers.get("hx-request"):
        return RedirectResponse(path, status_code=200, headers={"hx-redirect": path})
    return RedirectResponse(path, status_code=303)


def _forbidden(request: Request, fault: Exception) -> Response:
    return _told(request, fault.why if isinstance(fault, Forbidden) else "", 403)


def _faulty(request: Request, fault: Exception) -> Response:
    return _told(request, fault.line if isinstance(fault, PatencyError) else "", 400)


def _not_found(request: Request, _fault: Exception) -> Response:
    return _told(request, "There is no such page.", 404)
