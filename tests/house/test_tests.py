"""A test is a sentence, can fail and is not kept from failing; a published check names its source."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from tests.house.source import ROOT, functions, place, tree

FILES = sorted((ROOT / "tests").rglob("*.py"))
ASKING = re.compile(r"^(assert_?\w*|raises|warns|fail)$")
EXCUSES = {"skip", "skipif", "xfail", "importorskip"}
YEAR = re.compile(r"\b(1[89]|20)\d\d\b")


def called(function: ast.AST) -> set[str]:
    """Name what a function calls."""
    calls = [ast.unparse(node.func) for node in ast.walk(function) if isinstance(node, ast.Call)]
    return {call.rpartition(".")[2] for call in calls}


def asks(function: ast.AST, helpers: set[str]) -> bool:
    """Tell whether a function asserts something itself or through a helper."""
    if any(isinstance(node, ast.Assert) and not isinstance(node.test, ast.Constant) for node in ast.walk(function)):
        return True
    return any(ASKING.match(name) or name in helpers for name in called(function))


def asking_helpers(trees: list[ast.Module]) -> set[str]:
    """Name the helpers of the tests that assert something, also those that call another one."""
    everything = [function for parsed in trees for function in functions(parsed) if function.name[:5] != "test_"]
    helpers: set[str] = set()
    while more := {function.name for function in everything if asks(function, helpers)} - helpers:
        helpers |= more
    return helpers


def faults(parsed: ast.Module, helpers: set[str]) -> list[str]:
    """Say which tests of a file cannot fail, are kept from it, or are not a sentence."""
    found = [
        f"{node.lineno} {node.attr}"
        for node in ast.walk(parsed)
        if isinstance(node, ast.Attribute)
        and node.attr in EXCUSES
        and ast.unparse(node.value) in {"pytest", "pytest.mark", "unittest"}
    ]
    for function in functions(parsed):
        if function.name.startswith("test_"):
            if not asks(function, helpers):
                found.append(f"{function.lineno} {function.name} asserts nothing")
            if function.name.count("_") < 3:
                found.append(f"{function.lineno} {function.name} is not a sentence")
    return found


def test_every_test_is_a_sentence_and_can_fail() -> None:
    helpers = asking_helpers([tree(file) for file in FILES])
    assert [f"{place(file)}:{fault}" for file in FILES for fault in faults(tree(file), helpers)] == []


def test_a_published_check_says_from_when_its_source_is() -> None:
    published = sorted((ROOT / "tests" / "published").glob("test_*.py"))
    assert published
    assert [file.name for file in published if not YEAR.search(ast.get_docstring(tree(file)) or "")] == []


@pytest.mark.parametrize(
    ("source", "count"),
    [
        ("def test_two_and_two_is_four():\n    assert 2 + 2 == 4", 0),
        ("def test_two_and_two_is_four():\n    check_sum(2, 2)", 0),
        ("def test_two_and_two_is_four():\n    with pytest.raises(ValueError):\n        add()", 0),
        ("def test_two_and_two_is_four():\n    add(2, 2)", 1),
        ("def test_two_and_two_is_four():\n    assert True", 1),
        ("def test_sum():\n    assert add(2, 2) == 4", 1),
        ("@pytest.mark.xfail\ndef test_two_and_two_is_four():\n    assert 2 + 2 == 5", 1),
        ("def test_two_and_two_is_four():\n    pytest.skip('later')\n    assert 2 + 2 == 5", 1),
    ],
)
def test_a_test_that_cannot_fail_is_found(source: str, count: int) -> None:
    assert len(faults(ast.parse(source), {"check_sum"})) == count


def test_helpers_that_assert_through_others_are_known() -> None:
    source = "def check(x):\n    assert x\ndef check_all(xs):\n    [check(x) for x in xs]\ndef idle():\n    pass"
    assert asking_helpers([ast.parse(source)]) == {"check", "check_all"}


def test_this_file_is_looked_at_too() -> None:
    assert Path(__file__) in FILES
