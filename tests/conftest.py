"""What all tests share: the order they run in, and invented examples that are the same on every machine."""

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
    """Run what is marked slow last, and keep the order otherwise."""
    items.sort(key=lambda item: item.get_closest_marker("slow") is not None)
