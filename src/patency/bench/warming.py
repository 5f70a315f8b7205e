"""What takes long the first time is done before somebody waits for it."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

from patency.steps import try_ports

if TYPE_CHECKING:
    from patency.bench.opened import Opened


def warm_up(opened: Opened) -> threading.Thread:
    """Compile what computes flows, beside everything else.

    Parameters
    ----------
    opened
        Department and plan.

    Returns
    -------
    threading.Thread
        It ends by itself, and does not keep the process.
    """

    def compute() -> None:
        for load in opened.plan.loads[:1]:
            try_ports(opened.department, load, {}, opened.plan.day)

    thread = threading.Thread(target=compute, daemon=True, name="warming up")
    thread.start()
    return thread
