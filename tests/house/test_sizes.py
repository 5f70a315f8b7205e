"""Small modules, small functions: what fits on a screen can be read at once."""

from __future__ import annotations

import ast
from statistics import median

import pytest

from tests.house.source import functions, modules, place, tree

MODULE_MEDIAN, MODULE_USUAL, MODULE_MOST = 150, 400, 400
FUNCTION_USUAL, FUNCTION_MOST = 40, 70


def too_large(sizes: dict[str, int], *, usual: int, most: int) -> list[str]:
    """Say what breaks the rule that 95 % keep to the usual size and nothing exceeds the most."""
    faults = [f"{name} has {lines} lines, more than {most}" for name, lines in sizes.items() if lines > most]
    above = {name: lines for name, lines in sizes.items() if lines > usual}
    if len(above) > 0.05 * len(sizes):
        largest = ", ".join(f"{name} ({lines})" for name, lines in sorted(above.items(), key=lambda item: -item[1]))
        faults.append(f"{len(above)} of {len(sizes)} exceed {usual} lines: {largest}")
    return faults


def function_sizes(parsed: ast.Module, name: str) -> dict[str, int]:
    """Count the lines of each function, docstring included."""
    return {
        f"{name}:{node.lineno} {node.name}": (node.end_lineno or node.lineno) - node.lineno + 1
        for node in functions(parsed)
    }


def test_modules_are_small() -> None:
    sizes = {place(module): len(module.read_text(encoding="utf-8").splitlines()) for module in modules()}
    assert too_large(sizes, usual=MODULE_USUAL, most=MODULE_MOST) == []
    assert median(sizes.values()) <= MODULE_MEDIAN


def test_functions_are_small() -> None:
    sizes: dict[str, int] = {}
    for module in modules():
        sizes |= function_sizes(tree(module), place(module))
    assert too_large(sizes, usual=FUNCTION_USUAL, most=FUNCTION_MOST) == []


@pytest.mark.parametrize(
    ("lines", "faults"),
    [([10] * 19 + [60], 0), ([10] * 18 + [60, 60], 1), ([10] * 99 + [71], 1), ([10, 71], 2)],
)
def test_a_large_one_among_small_ones_is_found(lines: list[int], faults: int) -> None:
    sizes = {str(place): size for place, size in enumerate(lines)}
    assert len(too_large(sizes, usual=FUNCTION_USUAL, most=FUNCTION_MOST)) == faults


def test_the_lines_of_a_function_are_counted_from_its_name_to_its_end() -> None:
    body = "\n".join("    x = 1" for _ in range(69))
    assert function_sizes(ast.parse(f"@cache\ndef f():\n{body}\n\ny = 2\n"), "m.py") == {"m.py:2 f": 70}
