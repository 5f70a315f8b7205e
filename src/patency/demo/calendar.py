"""The calendar of the demo department: which tests its machines need, and when they were done; all invented."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING

import yaml

if TYPE_CHECKING:
    from datetime import date

    from patency.catalogue import Department

# Name, what it is of, what is tested, interval, how long before the day it was done.
_TESTS = (
    ("daily test of {}", "machine", "{}", "24 h", timedelta(0)),
    ("soil test of {}", "machine", "{}", "7 d", timedelta(days=3)),
    ("final rinse water of {}", "water", "final rinse of {}", "28 d", timedelta(days=12)),
    ("thermometers of {}", "sensor", "thermometers of {}", "365 d", timedelta(days=140)),
)
_MORNING = time(5, 40, tzinfo=UTC)


def demo_calendar(department: Department, day: date) -> str:
    """Write down the tests of the demo's washers, every one in date on a day.

    Parameters
    ----------
    department
        Larkmere.
    day
        The day.

    Returns
    -------
    str
        YAML, format ``patency-calendar/1``.
    """
    tests, done = {}, []
    for machine in department.machines:
        for name, of, tested, interval, before in _TESTS:
            called = name.format(machine)
            tests[called] = {
                "of": of,
                "name": tested.format(machine),
                "interval": interval,
                "blocks": {"machines": [machine]},
                "source": "invented for the demo",
            }
            at = datetime.combine(day, _MORNING) - before
            done.append(
                {"test": called, "at": at.isoformat(timespec="minutes"), "by": "engineer-1", "result": "passed"}
            )
    return yaml.safe_dump({"format": "patency-calendar/1", "tests": tests, "done": done}, sort_keys=False)
