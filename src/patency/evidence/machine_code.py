"""The kernels as machine code. The one place that knows the compiler, and it is imported only on use.

Compiling takes seconds once on a machine; later runs load the result from a cache beside the source.
"""

from __future__ import annotations

import inspect
import zlib
from functools import cache
from typing import TYPE_CHECKING, Any

from patency.evidence import kernels, level_kernels, measure_kernels

if TYPE_CHECKING:
    from collections.abc import Callable

# What one of the kernels calls.
_INNER = (
    kernels.credit,
    kernels.held_within,
    kernels.lasting,
    kernels.longest_hole,
    kernels.longest_step,
    kernels.window_highest,
    level_kernels.ends_of_readings,
    level_kernels.in_band,
    level_kernels.lowest_and_highest,
    measure_kernels.condition,
    measure_kernels.numbers,
)
# Sums keep their order and not-a-number stays one.
_OPTIONS: dict[str, Any] = {"nogil": True, "error_model": "numpy"}


@cache
def compiled(name: str) -> Callable[..., Any]:
    """Hand out a kernel as machine code.

    Parameters
    ----------
    name
        Name of the function in one of the modules of kernels.

    Returns
    -------
    Callable
        The same function.
    """
    from numba import njit

    if name == measure_kernels.numbers.__name__:
        return njit(cache=True, **_OPTIONS)(_calling_others())  # type: ignore[no-any-return]
    room = kernels if hasattr(kernels, name) else level_kernels
    return njit(cache=True, **_OPTIONS)(getattr(room, name))  # type: ignore[no-any-return]


def _calling_others() -> Callable[..., Any]:
    """Let the compiler use the kernels that others call; made known twice, by two threads, they would be two to it."""
    from numba.core.compiler_lock import global_compiler_lock

    with global_compiler_lock:
        for function in _INNER:
            _make_known(function)
    rooms = (kernels, level_kernels, measure_kernels)
    made_from = zlib.crc32("".join([inspect.getsource(room) for room in rooms]).encode())

    def numbers(asked, spans, values, axis, masks, counts):  # type: ignore[no-untyped-def] # noqa: ANN001, ANN202
        if made_from >= 0:  # enclosed, so that the compiler's cache forgets what was made from other functions
            return measure_kernels.numbers(asked, spans, values, axis, masks, counts)
        return values

    return numbers


@cache
def _make_known(function: Callable[..., Any]) -> None:
    from numba.extending import register_jitable

    register_jitable(**_OPTIONS)(function)
