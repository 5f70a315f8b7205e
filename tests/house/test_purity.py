"""The computing rooms take values and give values: what the import contracts cannot see is looked for here."""

from __future__ import annotations

import ast
from typing import TYPE_CHECKING

import pytest

from tests.house.source import PACKAGE, PURE_ROOMS, place, tree

if TYPE_CHECKING:
    from collections.abc import Iterator

CALLS = {"open", "input", "print", "exec", "eval", "breakpoint"}
CLOCK = {"now", "today", "utcnow"}
FILE_METHODS = {"write_text", "write_bytes", "mkdir", "unlink", "touch", "rename", "savetxt", "loadtxt", "genfromtxt"}
FILE_METHODS |= {"fromfile", "tofile", "memmap"}
READING = {"read_text", "read_bytes"}  # allowed for files shipped inside the package


def impurities(parsed: ast.Module) -> Iterator[tuple[ast.AST, str]]:
    """Find calls that reach out of a pure room, and names changed across functions."""
    ships_files = any(
        isinstance(node, ast.ImportFrom) and (node.module or "").startswith("importlib") for node in ast.walk(parsed)
    )
    for node in ast.walk(parsed):
        if isinstance(node, ast.Global):
            yield node, f"global {', '.join(node.names)}"
        if not isinstance(node, ast.Call):
            continue
        if isinstance(node.func, ast.Name) and node.func.id in CALLS:
            yield node, f"{node.func.id}()"
        if isinstance(node.func, ast.Attribute):
            name = node.func.attr
            if name in CLOCK | FILE_METHODS or (name in READING and not ships_files):
                yield node, f".{name}()"


def test_pure_rooms_touch_no_file_clock_or_global() -> None:
    found = [
        f"{place(module, node)} {what}"
        for room in PURE_ROOMS
        for module in sorted((PACKAGE / room).rglob("*.py"))
        for node, what in impurities(tree(module))
    ]
    assert found == []


@pytest.mark.parametrize(
    ("source", "what"),
    [
        ("open('site.yaml')", "open()"),
        ("def f():\n    global count\n    count = 1", "global count"),
        ("datetime.now(tz)", ".now()"),
        ("dt.date.today()", ".today()"),
        ("place.read_text()", ".read_text()"),
        ("place.write_text('x')", ".write_text()"),
        ("np.loadtxt('x')", ".loadtxt()"),
        ("print('x')", "print()"),
    ],
)
def test_reaching_out_is_found(source: str, what: str) -> None:
    assert [found for _, found in impurities(ast.parse(source))] == [what]


def test_a_file_shipped_inside_the_package_may_be_read() -> None:
    source = "from importlib.resources import files\nfiles('patency.texts').joinpath('en.yaml').read_text()"
    assert list(impurities(ast.parse(source))) == []
