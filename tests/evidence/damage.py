"""Ways in which a record gets damaged on its way from the logger, each drawn at random from a seed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    Damage = Callable[[list[str], np.random.Generator], list[str]]


def _rows(lines: list[str], rng: np.random.Generator, many: int = 1) -> list[int]:
    """Draw rows below the header."""
    return sorted(int(row) for row in rng.choice(np.arange(1, len(lines)), many, replace=False))


def _cell(
    lines: list[str], rng: np.random.Generator, change: Callable[[str], str], column: int | None = None
) -> list[str]:
    (row,) = _rows(lines, rng)
    cells = lines[row].split(",")
    place = int(rng.integers(len(cells))) if column is None else column
    cells[place] = change(cells[place])
    return [*lines[:row], ",".join(cells), *lines[row + 1 :]]


def _without_rows(lines: list[str], rng: np.random.Generator) -> list[str]:
    first = int(rng.integers(1, len(lines) - 60))
    return lines[:first] + lines[first + int(rng.integers(10, 60)) :]


def _swapped_rows(lines: list[str], rng: np.random.Generator) -> list[str]:
    first, second = _rows(lines, rng, 2)
    lines[first], lines[second] = lines[second], lines[first]
    return lines


def _repeated_block(lines: list[str], rng: np.random.Generator) -> list[str]:
    first = int(rng.integers(1, len(lines) - 40))
    block = lines[first : first + 30]
    return [*lines[: first + 30], *block, *lines[first + 30 :]]


def _clock(by_s: float) -> Damage:
    def damage(lines: list[str], rng: np.random.Generator) -> list[str]:
        (row,) = _rows(lines, rng)
        later = []
        for line in lines[row:]:
            time, _, rest = line.partition(",")
            later.append(f"{float(time) + by_s:g},{rest}")
        return lines[:row] + later

    return damage


def _scaled(column: int, factor: float, offset: float = 0.0) -> Damage:
    """Write a column in another unit than it is described in."""

    def damage(lines: list[str], _: np.random.Generator) -> list[str]:
        written = []
        for line in lines[1:]:
            cells = line.split(",")
            cells[column] = f"{float(cells[column]) * factor + offset:.6g}"
            written.append(",".join(cells))
        return [lines[0], *written]

    return damage


def _stuck(lines: list[str], rng: np.random.Generator) -> list[str]:
    """Let a column show nothing from a row on."""
    (row,) = _rows(lines[: len(lines) // 2], rng)
    column = int(rng.integers(1, 4))
    written = []
    for line in lines[row:]:
        cells = line.split(",")
        cells[column] = "---"
        written.append(",".join(cells))
    return lines[:row] + written


def _swapped_names(lines: list[str], rng: np.random.Generator) -> list[str]:
    names = lines[0].split(",")
    first, second = (int(place) for place in rng.choice(np.arange(1, len(names)), 2, replace=False))
    names[first], names[second] = names[second], names[first]
    return [",".join(names), *lines[1:]]


# Bytes that are no text in UTF-8 reach the reader as this sign or not at all.
DAMAGES: dict[str, Damage] = {
    "a cell of letters": lambda lines, rng: _cell(lines, rng, lambda _: "#REF!"),
    "a cell with a stray sign": lambda lines, rng: _cell(lines, rng, lambda cell: cell[:1] + "\ufffd" + cell[1:]),
    "a cell with a zero byte": lambda lines, rng: _cell(lines, rng, lambda cell: f"\x00{cell}"),
    "an empty cell": lambda lines, rng: _cell(lines, rng, lambda _: "", int(rng.integers(1, 4))),
    "an enormous value": lambda lines, rng: _cell(lines, rng, lambda _: "9e99", int(rng.integers(1, 4))),
    "a row without time": lambda lines, rng: _cell(lines, rng, lambda _: "", 0),
    "a time in words": lambda lines, rng: _cell(lines, rng, lambda _: "noon", 0),
    "a time far off": lambda lines, rng: _cell(lines, rng, lambda _: "1e9", 0),
    "an unknown stage": lambda lines, rng: _cell(lines, rng, lambda _: "soak", -1),
    "a cell too many": lambda lines, rng: _cell(lines, rng, lambda cell: f"{cell},1"),
    "a quote left open": lambda lines, rng: _cell(lines, rng, lambda cell: f'"{cell}'),
    "rows lost": _without_rows,
    "rows swapped": _swapped_rows,
    "rows written twice": _repeated_block,
    "the beginning lost": lambda lines, rng: [lines[0], *lines[int(rng.integers(40, 120)) :]],
    "the end lost": lambda lines, rng: lines[: int(rng.integers(40, len(lines) - 60))],
    "the last line torn": lambda lines, rng: [*lines[:-1], lines[-1][: int(rng.integers(1, 12))]],
    "a clock set back": _clock(-300.0),
    "a clock set forward": _clock(3600.0),
    "a sensor fallen silent": _stuck,
    "names of columns swapped": _swapped_names,
    "degrees Fahrenheit": _scaled(2, 1.8, 32.0),
    "kelvins": _scaled(2, 1.0, 273.15),
    "kilopascals for millibars": _scaled(3, 0.1),
    "pascals for millibars": _scaled(3, 100.0),
    "pounds for millibars": _scaled(3, 0.0145038),
}


def damaged(text: str, kind: str, seed: int) -> str:
    """Damage a record; whether its last line ends with a line break is drawn too."""
    rng = np.random.default_rng([seed, list(DAMAGES).index(kind)])
    lines = DAMAGES[kind](text.splitlines(), rng)
    return "\n".join(lines) + ("" if kind == "the last line torn" else "\n")
