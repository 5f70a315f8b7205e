"""What all tests share: their order, and invented examples that are the same everywhere."""

from __future__ import annotations

import os

import pytest
from hypothesis import HealthCheck, settings

# The same examples each time, so that a test that passed passes again. To look for new ones:
# HYPOTHESIS_PROFILE=search .venv-test/bin/pytest tests/<room>
settings.register_profile(
    "same", derandomize=True, deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile("search", deadline=None, max_examples=1000)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "same"))


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Run files with a test marked slow last."""
    slow = {item.path for item in items if item.get_closest_marker("slow")}
    items.sort(key=lambda item: item.path in slow)
