"""The package never claims of a result that it is clean, sterile, safe or guaranteed.

Looked at is what people read: phrases in the package's strings, the texts of every language, the
templates of papers and pages, the names in shipped departments, the help of the command line. The
trade's own compounds are allowed; they name a place, a stage or a department and claim nothing.
"""

from __future__ import annotations

import ast
import re
from typing import TYPE_CHECKING

import pytest
import yaml

from tests.house.source import PACKAGE, docstrings, modules, place, tree

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

CLAIM = re.compile(
    r"\b(clean|sterile|safe|safely|guaranteed?|guarantees|sauber|steril|sicher|garantiert)\b", re.IGNORECASE
)
COMPOUNDS = re.compile(
    r"\b(sterile (supply|supplies|services?|goods|barriers?)|clean[ -]sides?|(thermal|final|main|pre-?)[ -]clean)\b",
    re.IGNORECASE,
)
TEMPLATES = {".html", ".j2", ".jinja", ".svg", ".typ", ".txt"}
MARKUP = re.compile(r"<style.*?</style>|<script.*?</script>|\{\{.*?\}\}|\{%.*?%\}|<[^>]*>", re.DOTALL)


def claims(text: str) -> list[str]:
    """Find the words that claim too much, once the trade's compounds are set aside."""
    return [found.group(0) for found in CLAIM.finditer(COMPOUNDS.sub(" ", text))]


def phrases(parsed: ast.Module, *, with_docstrings: bool) -> Iterator[tuple[ast.AST, str]]:
    """Walk through the strings of a module that hold more than one word; single words are names for the program."""
    left_out = set() if with_docstrings else docstrings(parsed)
    for node in ast.walk(parsed):
        text = node.value if isinstance(node, ast.Constant) and node not in left_out else None
        if isinstance(text, str) and " " in text:
            yield node, text.strip()


def values(data: object) -> Iterator[str]:
    """Walk through the strings of a data file, keys left out."""
    if isinstance(data, str):
        yield data
    elif isinstance(data, dict):
        for value in data.values():
            yield from values(value)
    elif isinstance(data, list):
        for value in data:
            yield from values(value)


def data_files() -> list[Path]:
    return sorted(PACKAGE.rglob("*.yaml"))


def test_no_string_of_the_package_claims_too_much() -> None:
    found = [
        f"{place(module, node)} {word}: {text}"
        for module in modules()
        for node, text in phrases(tree(module), with_docstrings=module.parent.name == "cli")
        for word in claims(text)
    ]
    assert found == []


def test_no_text_or_name_in_shipped_data_claims_too_much() -> None:
    found = [
        f"{place(file)} {word}: {text}"
        for file in data_files()
        for text in values(yaml.safe_load(file.read_text(encoding="utf-8")))
        if " " in text or "texts" in file.parts
        for word in claims(text)
    ]
    assert found == []


def test_no_template_claims_too_much() -> None:
    found = [
        f"{place(file)} {word}"
        for file in sorted(PACKAGE.rglob("*"))
        if file.suffix in TEMPLATES
        for word in claims(MARKUP.sub(" ", file.read_text(encoding="utf-8")))
    ]
    assert found == []


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("The load is clean.", ["clean"]),
        ("Guaranteed sterile", ["Guaranteed", "sterile"]),
        ("SAFE to use", ["SAFE"]),
        ("Wird steril", ["steril"]),
        ("not proven clean, whatever the clean side says", ["clean"]),
        ("The sterile supply department, clean side", []),
        ("Cleaning stage, sterilizer, safety data sheet, unclean", []),
    ],
)
def test_a_claim_is_told_from_a_compound_of_the_trade(text: str, words: list[str]) -> None:
    assert claims(text) == words


def test_strings_and_help_are_looked_at_and_comments_of_the_code_are_not() -> None:
    source = '"""A clean module."""\nstage = "clean"\nline = f"the set {name} clean"\n'
    assert [text for _, text in phrases(ast.parse(source), with_docstrings=False)] == ["the set", "clean"]
    assert len(list(phrases(ast.parse(source), with_docstrings=True))) == 3


def test_values_of_data_are_looked_at_and_keys_are_not() -> None:
    assert list(values({"clean": {"name": "Cleaning", "steps": ["a", {"b": "c"}, 3]}})) == ["Cleaning", "a", "c"]


def test_template_code_is_not_text() -> None:
    assert claims(MARKUP.sub(" ", '<p class="clean">{{ name|safe }}</p> sterile')) == ["sterile"]
