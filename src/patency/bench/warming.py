"""What takes long the first time is done before somebody waits for it."""

from __future__ import annotations

import threading
from contextlib import suppress
from typing import TYPE_CHECKING

from patency.errors import PatencyError
from patency.steps import RecordFiles, judge_cycle, read_text, try_ports

if TYPE_CHECKING:
    from patency.bench.opened import Opened
    from patency.load import Load


def warm_up(opened: Opened) -> threading.Thread:
    """Compile what computes flows and what judges records, beside everything else.

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

    thread = threading.Thread(target=compute, daemon=True, name="warming up")
    thread.start()
    return thread


def _judge(opened: Opened, load: Load) -> None:
    """Judge any record there is against a load; what comes out is thrown away."""
    for record in sorted((opened.folder / "records").glob("load-*.csv"))[:1]:
        described = record.with_suffix(".yaml")
        files = RecordFiles(read_text(record), read_text(described), record.name, described.name)
        judge_cycle(files, opened.department, load, opened.plan.day, None)
