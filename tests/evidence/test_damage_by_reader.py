"""Damaged records however they come in: as text or Parquet, cut out of a file, watched for, beside another."""

from __future__ import annotations

import tracemalloc
from typing import TYPE_CHECKING

import pytest

from tests.evidence.damage import DAMAGES, damaged
from tests.evidence.damageable import DAMAGEABLE, WITHOUT_STAGES
from tests.evidence.readers import READERS

if TYPE_CHECKING:
    from pathlib import Path

    from tests.evidence.damageable import Damageable


@pytest.mark.parametrize("machine", [*DAMAGEABLE.values(), WITHOUT_STAGES], ids=[*DAMAGEABLE, "no stages told"])
@pytest.mark.parametrize("reader", ["text", "two sources", "as the logger"])
def test_a_last_time_far_off_takes_no_more_memory_than_the_record(
    reader: str, machine: Damageable, tmp_path: Path
) -> None:
    """A grid over a million years, as the two clocks were once compared on, would take all there is."""
    header, *rows = machine.bad.splitlines()
    _, _, cells = rows[-1].partition(",")
    far = "\n".join([header, *rows, f"900000000,{cells}", f"900000004,{cells}", ""])
    tracemalloc.start()
    assert READERS[reader](machine, far, tmp_path).outcome == "judged, not met"
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 400e6


def test_a_file_of_which_no_row_names_a_cycle_is_refused(tmp_path: Path) -> None:
    washed = DAMAGEABLE["washer-disinfector"]
    found = READERS["cut"](washed, washed.bad.replace("time,T1", "time,T1,", 1), tmp_path)
    assert found.outcome == "refused"
    assert "no row names a cycle in the column 'run'" in found.refused[0]


@pytest.mark.slow
@pytest.mark.parametrize("machine", DAMAGEABLE.values(), ids=DAMAGEABLE)
@pytest.mark.parametrize("reader", READERS)
def test_each_is_judged_not_met_or_refused_with_its_place(reader: str, machine: Damageable, tmp_path: Path) -> None:
    came = {kind: READERS[reader](machine, damaged(machine.bad, kind, 3), tmp_path) for kind in DAMAGES}
    assert {kind: one for kind, one in came.items() if one.outcome not in {"judged, not met", "refused"}} == {}
    assert READERS[reader](machine, machine.bad, tmp_path).outcome == "judged, not met"
    assert READERS[reader](machine, machine.good, tmp_path).outcome == "met"
