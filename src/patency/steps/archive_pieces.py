"""Parts of an archive read piece by piece: so that memory stays small, and so that processes can share a large part."""

from __future__ import annotations

from bisect import bisect_right
from itertools import accumulate
from typing import TYPE_CHECKING, Any

from patency.steps.archive_parts import cycles_of, samples_of, samples_path

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

# Some 300,000 samples, which keep a process busy for less than a second.
_PIECE_BYTES = 2_000_000
# So many readings are read at a time: 32 MB, and the library holds as much again meanwhile.
_MOST_READINGS = 4_000_000


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
        One mapping for each cycle, and the place of the first in the part.
    """
    number, of = piece
    if of == 1:
        return cycles_of(part, *columns), 0
    many = len(cycles_of(part, "samples"))
    first, after = (many * end // of for end in (number, number + 1))
    return cycles_of(part, *columns, rows=(first, after)), first


def samples_of_cycles(
    part: Path, columns: Sequence[str], sizes: Sequence[int], first: int
) -> Iterator[dict[str, NDArray[Any]]]:
    """Read the samples of neighbouring cycles, some cycles at a time.

    Parameters
    ----------
    part
        Its file of cycles.
    columns
        Which columns.
    sizes
        How many samples each cycle has.
    first
        The place of the first in the part.

    Yields
    ------
    dict
        For each cycle column to its values.
    """
    most = _MOST_READINGS // len(columns)
    begin = 0
    while begin < len(sizes):
        ends = list(accumulate(sizes[begin:]))
        many = max(bisect_right(ends, most), 1)
        held = samples_of(part, columns, (first + begin, first + begin + many))
        for size, end in zip(sizes[begin : begin + many], ends, strict=False):
            yield {name: held[name][end - size : end] for name in columns}
        begin += many
