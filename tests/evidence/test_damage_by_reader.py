"""Damaged records however they come in: as text or Parquet, cut out of a file, watched for, beside another."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.evidence.damage import DAMAGES, damaged
from tests.evidence.damageable import DAMAGEABLE
from tests.evidence.readers import READERS

if TYPE_CHECKING:
    from pathlib import Path

    from tests.evidence.damageable import Damageable


@pytest.mark.slow
@pytest.mark.parametrize("machine", DAMAGEABLE.values(), ids=DAMAGEABLE)
@pytest.mark.parametrize("reader", READERS)
def test_each_is_judged_not_met_or_refused_with_its_place(reader: str, machine: Damageable, tmp_path: Path) -> None:
    came = {kind: READERS[reader](machine, damaged(machine.bad, kind, 3), tmp_path) for kind in DAMAGES}
    assert {kind: one for kind, one in came.items() if one.outcome not in {"judged, not met", "refused"}} == {}
    assert READERS[reader](machine, machine.bad, tmp_path).outcome == "judged, not met"
    assert READERS[reader](machine, machine.good, tmp_path).outcome == "met"
