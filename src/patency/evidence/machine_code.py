"""The kernels as machine code. The one place that knows the compiler, and it is imported only on use.

Compiling takes seconds once on a machine; later runs load the result from a cache beside the source.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from patency.evidence import kernels, level_kernels

if TYPE_CHECKING:
    from collections.abc import Callable


@cache
def compiled(name: str) -> Callable[..., Any]:
    """Hand out a kernel as machine code.

    Parameters
    ----------
    name
        Name of the function in `patency.evidence.kernels` or `patency.evidence.level_kernels`.

    Returns
    -------
    Callable
        The same function; sums keep their order and not-a-number stays one.
    """
    from numba import njit

    room = kernels if hasattr(kernels, name) else level_kernels
    return njit(cache=True, nogil=True, error_model="numpy")(getattr(room, name))
