"""The self-check: every published check agrees, and a wrong one would be seen."""

from __future__ import annotations

import runpy
from datetime import UTC, datetime
from pathlib import Path

import pytest

from patency.steps.self_checking import PublishedCheck, published_checks, self_check
from patency.steps.self_checking.check import run

NOW = datetime(2026, 5, 12, 9, 0, tzinfo=UTC)


@pytest.mark.parametrize("check", published_checks(), ids=lambda check: check.name)
def test_every_published_check_agrees(check: PublishedCheck) -> None:
    result = run(check)
    assert result.agrees, f"expected {check.expected} {check.unit}, computed {result.computed}"


def test_every_check_names_its_source_and_the_basis_of_its_tolerance() -> None:
    checks = published_checks()
    assert len({check.name for check in checks}) == len(checks) >= 20
    for check in checks:
        assert len(check.source) > 10
        assert check.basis
        assert check.tolerance < 0.02 * max(abs(check.expected), 1e-3)


@pytest.mark.parametrize("off", [1.001, float("nan")])
def test_a_value_that_is_off_does_not_agree(off: float) -> None:
    check = PublishedCheck("test", "one", "nobody has published this", 1.0, "1", 1e-6, "test", lambda: off)
    assert not run(check).agrees


def test_the_whole_run_tells_the_versions_it_was_computed_with() -> None:
    outcome = self_check(NOW)
    assert outcome.all_agree
    assert len(outcome.results) == len(published_checks())
    assert outcome.versions["patency"]
    assert outcome.versions["Python"].startswith("3.")


def test_the_page_of_checks_is_made_from_the_same_list() -> None:
    docs = Path(__file__).parents[2] / "docs"
    made = runpy.run_path(str(docs / "make_checks.py"))["page"]()
    assert (docs / "published-checks.md").read_text(encoding="utf-8") == made, "run: python docs/make_checks.py"
