"""Damaged records that come in otherwise than as text: as Parquet, cut out of a file, watched for, beside another."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.evidence.damage import DAMAGES, damaged
from tests.evidence.readers import READERS
from tests.evidence.test_damage import COLD

if TYPE_CHECKING:
    from pathlib import Path


def test_there_are_more_than_a_hundred() -> None:
    assert len(DAMAGES) * len(READERS) > 100


@pytest.mark.slow
@pytest.mark.parametrize("reader", READERS)
def test_each_is_judged_not_met_or_refused_with_its_place(reader: str, tmp_path: Path) -> None:
    came = {kind: READERS[reader](damaged(COLD, kind, 3), tmp_path) for kind in DAMAGES}
    assert {kind: one for kind, one in came.items() if one.outcome not in {"judged, not met", "refused"}} == {}
    assert READERS[reader](COLD, tmp_path).outcome == "judged, not met"
