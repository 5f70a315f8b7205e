"""One process that serves the bench."""

from __future__ import annotations

import secrets
from typing import TYPE_CHECKING

from patency.bench.app import make_app
from patency.bench.warming import warm_up

if TYPE_CHECKING:
    from collections.abc import Callable

    from patency.bench.opened import Opened

_SECONDS_TO_STOP = 2


def serve(opened: Opened, host: str, port: int, tell: Callable[[str], None]) -> None:
    """Serve the bench until it is told to stop.

    Parameters
    ----------
    opened
        Department, plan, ledger and accounts.
    host
        Address to listen at; others than loopback belong behind a server that speaks HTTPS.
    port
        Its port.
    tell
        Called with the addresses to open; the one-time setup link goes nowhere else.
    """
    import uvicorn

    setup_token = "" if opened.people.any_account() else secrets.token_urlsafe(24)
    address = f"http://{host}:{port}"
    tell(f"The bench is at {address}; it ends with Ctrl+C.")
    if setup_token:
        tell(f"Nobody has an account yet. Set up the first one here, once: {address}/setup/{setup_token}")
    warm_up(opened)
    # No access log: the setup link would stand in it.
    uvicorn.run(
        make_app(opened, setup_token),
        host=host,
        port=port,
        access_log=False,
        log_level="warning",
        timeout_graceful_shutdown=_SECONDS_TO_STOP,
        server_header=False,
    )
