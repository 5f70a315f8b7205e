"""The tests of a machine as the ledger has them: what is missing is named, with what to do about it."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest

from patency.steps.at_the_bench.machine_tests import MachineTests
from patency.steps.interlocking import tests_of_cycle as ask

RAN = datetime.fromisoformat("2026-11-27T08:10+00:00")
NONE_KNOWN = (
    "no test of Alder is on record, such as its daily test: whoever did it enters result, moment and "
    "until when it counts; where none was done before the cycle, it is not met"
)


def entered(at: str, due: str | None = "2026-11-28T06:00:00+00:00") -> dict[str, Any]:
    return {
        "seq": 7,
        "at": at,
        "who": {"person": "engineer-1"},
        "what": {"test": "daily test", "passed": True, "due": due},
    }


@pytest.mark.parametrize(
    ("tests", "state", "why"),
    [
        (
            (),
            "not evaluated",
            NONE_KNOWN,
        ),
        (
            (entered("2026-11-27T09:00:00+00:00"),),
            "not evaluated",
            "daily test of Alder was first done after the cycle began and does not count for it: hold it",
        ),
        (
            (entered("2026-11-27T06:00:00+00:00"),),
            "met",
            "daily test: in date; passed at 2026-11-27 06:00 UTC, engineer-1; counts until 2026-11-28 06:00 UTC",
        ),
        (
            (entered("2026-11-27T06:00:00+00:00", None),),
            "not evaluated",
            "daily test: not judged; passed at 2026-11-27 06:00 UTC, engineer-1; nobody says how long it counts",
        ),
    ],
)
def test_the_releaser_reads_which_test_of_which_machine_is_missing(
    tests: tuple[dict[str, Any], ...], state: str, why: str
) -> None:
    (criterion,) = ask(MachineTests("Alder", tests, RAN), RAN, "Alder", None).criteria
    assert (criterion.state.value, criterion.why) == (state, why)
