"""A ledger of the demo department at the start of its day, copied for each test."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest

from patency.ledger import open_ledger
from tests.steps.at_the_bench.bench import Hands, begin

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture(scope="session")
def begun_day(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Write the beginning once."""
    place = str(tmp_path_factory.mktemp("day") / "ledger.sqlite")
    begin(place)
    return place


@pytest.fixture
def hands(begun_day: str, tmp_path: Path) -> Iterator[Hands]:
    """Open a copy."""
    place = str(tmp_path / "ledger.sqlite")
    shutil.copy(begun_day, place)
    ledger = open_ledger(place)
    yield Hands(ledger)
    ledger.close()
