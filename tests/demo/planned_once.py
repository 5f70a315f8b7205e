"""The demo's day planned once for all tests that need its plan: a department that is the same has the same plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.demo import bench_folder, day
from patency.steps.load_planning import Planned, plan_site

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    import pytest

_PLANNED: dict[tuple[tuple[str, bytes], ...], Planned] = {}


def planned_once(folder: Path, on_progress: Callable[[str], None] | None = None) -> Planned:
    """Plan a department, or recall the plan of one with the very same files."""
    files = tuple(sorted((path.name, path.read_bytes()) for path in folder.iterdir()))
    if files not in _PLANNED:
        _PLANNED[files] = plan_site(folder, on_progress=on_progress)
    return _PLANNED[files]


def share_plans(patch: pytest.MonkeyPatch) -> None:
    """Let the demo day and the folder of the bench take their plan from here."""
    for module in (day, bench_folder):
        patch.setattr(module, "plan_site", planned_once)
