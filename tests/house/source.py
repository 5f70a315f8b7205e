"""What the house rules look at: the package's modules as trees, its rooms, the repository's files."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "patency"
ROOMS = sorted(door.parent.name for door in PACKAGE.glob("*/__init__.py"))
PURE_ROOMS = ["quantities", "texts", "catalogue", "load", "flow", "reach", "plan", "evidence"]

_FOLDERS = ["src", "tests", "docs", "benchmarks", ".ci"]
_MADE_BY_PROGRAMS = {"__pycache__", "_build", ".ruff_cache", ".mypy_cache", ".pytest_cache"}


def modules() -> list[Path]:
    """List the package's modules."""
    return sorted(PACKAGE.rglob("*.py"))


@cache
def tree(module: Path) -> ast.Module:
    """Parse a module."""
    return ast.parse(module.read_text(encoding="utf-8"))


def place(module: Path, node: ast.AST | None = None) -> str:
    """Say where something stands, for a message."""
    line = f":{node.lineno}" if node is not None and hasattr(node, "lineno") else ""
    return f"{module.relative_to(ROOT)}{line}" if module.is_relative_to(ROOT) else f"{module.name}{line}"


def functions(parsed: ast.Module) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    """Walk through every function and method of a module."""
    for node in ast.walk(parsed):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


def docstrings(parsed: ast.Module) -> set[ast.Constant]:
    """Collect the nodes that are docstrings, of fields too, so that other strings can be told from them."""
    return {
        node.value
        for node in ast.walk(parsed)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str)
    }


def repository_files() -> Iterator[Path]:
    """Walk through the files that belong to the repository, leaving out what programs made."""
    yield from (file for file in sorted(ROOT.iterdir()) if file.is_file() and file.name[:9] != ".coverage")
    for folder in _FOLDERS:
        for file in sorted((ROOT / folder).rglob("*")):
            if file.is_file() and not _MADE_BY_PROGRAMS.intersection(file.relative_to(ROOT).parts):
                yield file


def text_of(file: Path) -> str:
    """Read a file as text; a file that is not text gives nothing."""
    try:
        return file.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return ""
