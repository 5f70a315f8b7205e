"""Parts of an archive read piece by piece: so that memory stays small, and so that processes can share a large part."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from patency.steps.archive_parts import ROW_GROUP, cycles_of, samples_of, samples_path

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

# Some 300,000 samples, which keep a process busy for less than a second.
_PIECE_BYTES = 2_000_000


def pieces_of(part: Path) -> int:
    """Tell into how many pieces a part is cut, so that processes can share it.

    Parameters
    ----------
    part
        Its file of cycles.

    Returns
    -------
    int
        One at least.
    """
    path = samples_path(part)
    return 1 + (path.stat().st_size // _PIECE_BYTES if path.exists() else 0)


def cycles_of_piece(part: Path, piece: tuple[int, int], columns: Sequence[str]) -> tuple[list[dict[str, Any]], int]:
    """Read the cycles of a piece of a part.

    Parameters
    ----------
    part
        Its file of cycles.
    piece
        Which piece of it, and of how many.
    columns
        Which columns.

    Returns
    -------
    tuple
        One mapping for each cycle, and in which row of the part's samples those of the first begin.
    """
    number, of = piece
    if of == 1:
        return cycles_of(part, *columns), 0
    sizes = [row["samples"] for row in cycles_of(part, "samples")]
    first, after = (len(sizes) * end // of for end in (number, number + 1))
    return cycles_of(part, *columns, rows=(first, after)), sum(sizes[:first])


def samples_of_cycles(
    part: Path, columns: Sequence[str], sizes: Sequence[int], first_row: int
) -> Iterator[dict[str, NDArray[Any]]]:
    """Read the samples of neighbouring cycles one row group of the file after the other.

    Parameters
    ----------
    part
        Its file of cycles.
    columns
        Which columns.
    sizes
        How many samples each cycle has.
    first_row
        The row of the first sample of the first.

    Yields
    ------
    dict
        For each cycle column to its values. No more than a row group and one cycle are held in memory.
    """
    end = first_row + sum(sizes)
    start = stop = first_row
    held: dict[str, NDArray[Any]] = {}
    row = first_row
    for size in sizes:
        while stop < row + size:
            until = min((stop // ROW_GROUP + 1) * ROW_GROUP, end)
            more = samples_of(part, columns, (stop, until))
            held = {name: _joined(held[name][row - start :], more[name]) if held else more[name] for name in columns}
            start, stop = row, until
        yield {name: held[name][row - start : row - start + size] for name in columns}
        row += size


def _joined(left: NDArray[Any], more: NDArray[Any]) -> NDArray[Any]:
    """Put what is left of one row group before the next; nothing is copied where nothing is left."""
    return np.concatenate((left, more)) if left.size else more
