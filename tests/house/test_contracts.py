"""The import contracts hold, and each kind of them can break."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from typing import TYPE_CHECKING

import grimp
import pytest

from tests.house.source import PURE_ROOMS, ROOMS, ROOT

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

CONTRACTS = ROOT / ".importlinter"
HEAVY = {"matplotlib", "numba", "ortools", "scipy", "typst"}
ENTRANCES = {"patency", "patency.__main__", "patency.cli"}


def broken_contracts(source: Path) -> list[str]:
    """Check the contracts on a copy of the package and name those that break."""
    program = "import sys; from importlinter.cli import lint_imports_command as lint; lint()"
    result = subprocess.run(
        [sys.executable, "-c", program, "--no-cache", "--no-logo", str(CONTRACTS)],
        cwd=source,
        env={**os.environ, "PYTHONPATH": str(source), "COLUMNS": "200"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert "Contracts:" in result.stdout, result.stdout + result.stderr
    return [line.removesuffix(" BROKEN") for line in result.stdout.splitlines() if line.endswith(" BROKEN")]


@pytest.fixture
def house(tmp_path: Path) -> Path:
    shutil.copytree(ROOT / "src" / "patency", tmp_path / "patency", ignore=shutil.ignore_patterns("__pycache__"))
    return tmp_path


def test_the_contracts_hold(house: Path) -> None:
    assert broken_contracts(house) == []


@pytest.mark.slow
@pytest.mark.parametrize(
    ("module", "line", "contract"),
    [
        ("quantities/upward.py", "import patency.catalogue", "A room imports only rooms nearer the ground"),
        ("flow/sideways.py", "import patency.reach", "A room imports only rooms nearer the ground"),
        ("attic/__init__.py", "import patency.errors", "A room imports only rooms nearer the ground"),
        ("flow/reading.py", "import pathlib", "The computing rooms know no file, database, network, clock or chance"),
        ("evidence/late.py", "import time", "The computing rooms know no file, database, network, clock or chance"),
        ("demo/window.py", "import patency.quantities.back", "Others enter quantities through its door"),
        ("quantities/back.py", "import patency.quantities.round", "No cycle between the modules of a room"),
    ],
)
def test_a_contract_can_break(house: Path, module: str, line: str, contract: str) -> None:
    (house / "patency" / "quantities" / "back.py").write_text("")
    (house / "patency" / "quantities" / "round.py").write_text("import patency.quantities.back\n")
    (house / "patency" / module).parent.mkdir(exist_ok=True)
    (house / "patency" / module).write_text(line + "\n")
    assert contract in broken_contracts(house)


def test_the_contracts_name_every_room() -> None:
    text = CONTRACTS.read_text(encoding="utf-8")
    assert [room for room in ROOMS if f"[importlinter:contract:door-{room}]" not in text] == []
    pure = text.split("[importlinter:contract:pure]")[1].split("forbidden_modules")[0]
    assert [room for room in PURE_ROOMS if f"patency.{room}\n" not in pure] == []


def unused(importers: Mapping[str, set[str]], entrances: set[str]) -> list[str]:
    """Name the modules that no other module imports."""
    return sorted(module for module, who in importers.items() if not who and module not in entrances)


def test_every_module_is_used_by_another_or_is_a_door() -> None:
    graph = grimp.build_graph("patency", cache_dir=None)
    importers = {module: graph.find_modules_that_directly_import(module) for module in graph.modules}
    folders = {module for module in graph.modules if graph.find_children(module)}
    assert unused(importers, ENTRANCES | folders | {f"patency.{room}" for room in ROOMS}) == []


def test_a_module_nobody_imports_is_found() -> None:
    assert unused({"a": set(), "a.b": {"a"}, "a.left": set()}, {"a"}) == ["a.left"]


def spread(importers: Mapping[str, set[str]]) -> list[str]:
    """Name the libraries that more than one module of a room imports."""
    found = []
    for library, who in sorted(importers.items()):
        rooms: dict[str, list[str]] = {}
        for module in sorted(who):
            rooms.setdefault(".".join(module.split(".")[:2]), []).append(module)
        found += [f"{library}: {', '.join(modules)}" for modules in rooms.values() if len(modules) > 1]
    return found


def test_a_heavy_library_is_imported_in_one_module_of_a_room() -> None:
    graph = grimp.build_graph("patency", include_external_packages=True, cache_dir=None)
    found = {name: graph.find_modules_that_directly_import(name) for name in HEAVY & graph.modules}
    assert spread(found) == []


def test_a_heavy_library_in_two_modules_is_found() -> None:
    importers = {"numba": {"patency.flow.a", "patency.flow.b"}, "scipy": {"patency.flow.c", "patency.plan.d.e"}}
    assert spread(importers) == ["numba: patency.flow.a, patency.flow.b"]
