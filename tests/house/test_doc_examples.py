"""The examples on the pages give what the pages say."""

from __future__ import annotations

import doctest
import re
from pathlib import Path

import pytest

from tests.house.source import ROOT, text_of

PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]
BLOCK = re.compile(r"^```(?:python|pycon)\n(.*?)^```", re.MULTILINE | re.DOTALL)


def examples(text: str, name: str) -> doctest.DocTest:
    """Read the examples of a page, one after the other as in one sitting."""
    source = "\n".join(BLOCK.findall(text))
    return doctest.DocTestParser().get_doctest(source, {}, name, name, 0)


def failures(test: doctest.DocTest) -> str:
    """Run the examples and return what went wrong, as text."""
    told: list[str] = []
    runner = doctest.DocTestRunner(verbose=False, optionflags=doctest.NORMALIZE_WHITESPACE | doctest.ELLIPSIS)
    runner.run(test, out=told.append)
    return "".join(told)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_the_examples_of_a_page_hold(page: Path) -> None:
    assert failures(examples(text_of(page), page.name)) == ""


def test_an_example_that_does_not_hold_is_found() -> None:
    page = "Look:\n\n```pycon\n>>> x = 2\n```\n\nand\n\n```python\n>>> x + 1\n4\n```\n"
    assert "Got:\n    3" in failures(examples(page, "page"))
    assert failures(examples(page.replace("4", "3"), "page")) == ""
