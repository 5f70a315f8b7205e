"""The samples of a part of an archive read some cycles at a time, so that memory stays small."""

from __future__ import annotations

from bisect import bisect_right
from itertools import accumulate
from typing import TYPE_CHECKING, Any

from patency.steps.archive_parts import samples_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

# So many readings are read at a time: 32 MB, and the library holds as much again meanwhile.
_MOST_READINGS = 4_000_000


def samples_of_cycles(part: Path, columns: Sequence[str], sizes: Sequence[int]) -> Iterator[dict[str, NDArray[Any]]]:
    """Read the samples of the cycles of a part, some cycles at a time.

    Parameters
    ----------
    part
        Its file of cycles.
    columns
        Which columns.
    sizes
        How many samples each cycle has.

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
        held = samples_of(part, columns, (begin, begin + many))
        for size, end in zip(sizes[begin : begin + many], ends, strict=False):
            yield {name: held[name][end - size : end] for name in columns}
        begin += many
