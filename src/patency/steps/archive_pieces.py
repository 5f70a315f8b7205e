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
    start = stop = row = first_row
    held: dict[str, NDArray[Any]] = {}
    for size in sizes:
        begun: list[dict[str, NDArray[Any]]] = []  # what earlier row groups hold of this cycle
        while stop < row + size:
            if row < stop:
                begun.append({name: held[name][max(row - start, 0) :] for name in columns})
            start, stop = stop, min((stop // ROW_GROUP + 1) * ROW_GROUP, end)
            held = samples_of(part, columns, (start, stop))
        now = {name: held[name][max(row - start, 0) : row + size - start] for name in columns}
        # Only a cycle that reaches over the end of a row group is copied.
        yield {name: np.concatenate([one[name] for one in (*begun, now)]) for name in columns} if begun else now
        row += size
