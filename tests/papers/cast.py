"""What the tests of the papers are about: the small plan, and a full load of the demo department made by hand."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import cache

from patency.catalogue import Placing
from patency.papers import LoadSheet, load_sheet
from tests.demo.larkmere import hand_made_load, larkmere
from tests.small_plan import PLANNED_SITE, SMALL_PLAN
from tests.small_site import small_department

PRINTED = datetime(2026, 5, 12, 12, 0, tzinfo=UTC)
SMALL = small_department(PLANNED_SITE)
SMALL_LOAD = SMALL_PLAN.loads[0]
LARKMERE = larkmere()
FULL_LOAD = hand_made_load("L2")


@cache
def small_sheet() -> LoadSheet:
    """Return the sheet of the small load."""
    return load_sheet(SMALL, SMALL_LOAD, "Monday 02 March 2026", ["H1, set A: look here"])


@cache
def full_sheet() -> LoadSheet:
    """Return the sheet of the full load."""
    return load_sheet(LARKMERE, FULL_LOAD, "Tuesday 12 May 2026", ["H3, set A: clip applier"])


def pieces_on_ports() -> int:
    """Count the pieces of the full load that stand on ports."""
    return sum(piece.placing is Placing.PORT for piece in FULL_LOAD.pieces)
