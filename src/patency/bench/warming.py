"""What takes long the first time is done before somebody waits for it."""

from __future__ import annotations

import os
import sys
import threading
import time
from contextlib import suppress
from typing import TYPE_CHECKING

from patency.errors import PatencyError
from patency.steps import RecordFiles, judge_cycle, read_text, try_ports

if TYPE_CHECKING:
    from patency.bench.opened import Opened
    from patency.load import Load

_PEOPLE_FIRST_S = 60.0  # who starts a bench comes in and scans first: the jets take all cores for a quarter of a minute
_LAST = 19  # the niceness that leaves the processor to everybody else


def warm_up(opened: Opened) -> threading.Thread:
    """Compile what computes flows and what judges records, then look what jets strike, beside everything else.

    Parameters
    ----------
    opened
        Department, plan and records.

    Returns
    -------
    threading.Thread
        It ends by itself, and does not keep the process.
    """

    def compute() -> None:
        for load in opened.plan.loads[:1]:
            try_ports(opened.department, load, {}, opened.plan.day)
            # What is wrong with a record is said on the page of its load.
            with suppress(PatencyError):
                _judge(opened, load)
        time.sleep(_PEOPLE_FIRST_S)
        if sys.platform == "linux":  # there a thread steps back behind others, and those it starts with it
            os.setpriority(os.PRIO_PROCESS, threading.get_native_id(), _LAST)
        look_ahead(opened)

    thread = threading.Thread(target=compute, daemon=True, name="warming up")
    thread.start()
    return thread


def look_ahead(opened: Opened) -> None:
    """Compute what jets strike of each load of the plan, so that it can be read where loads are decided and unloaded.

    Parameters
    ----------
    opened
        Department and plan; what is computed is kept with them.
    """
    for load in opened.plan.loads:
        with suppress(PatencyError):  # it is said where the load is looked at
            opened.reach.read_ahead(opened.department, load)


def _judge(opened: Opened, load: Load) -> None:
    """Judge any record there is against a load; what comes out is thrown away."""
    for record in sorted((opened.folder / "records").glob("load-*.csv"))[:1]:
        described = record.with_suffix(".yaml")
        files = RecordFiles(read_text(record), read_text(described), record.name, described.name)
        judge_cycle(files, opened.department, load, opened.plan.day, None)
