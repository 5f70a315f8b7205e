"""The kernels as machine code. The one place of the room that knows the compiler, imported only on use.

Compiling takes seconds once on a machine; later runs load the result from a cache beside the source.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from patency.reach.jets import kernels, ray_kernels, sample_kernels, window_kernels

if TYPE_CHECKING:
    from collections.abc import Callable

_INNER = (
    kernels.flight,
    window_kernels.window,
    window_kernels.meets,
    window_kernels.stride_of,
    window_kernels.noted_run,
    window_kernels.angles_seen,
    window_kernels.margin,
    window_kernels.margin_turned,
    window_kernels.runs_within,
    window_kernels.runs_at_each,
    window_kernels.facing_within,
    window_kernels.third_side,
    kernels.turns_back,
    kernels.open_share,
    sample_kernels.comes_through,
    sample_kernels.rise_toward,
    sample_kernels.crosses_box,
    sample_kernels.from_box,
    ray_kernels.meets_box,
    sample_kernels.noted,
)

# None of them makes arrays, so nothing has to count who uses which: in two threads that took longer than the rest.
_OPTIONS: dict[str, Any] = {"nogil": True, "error_model": "numpy", "_nrt": False}


@cache
def compiled(name: str) -> Callable[..., Any]:
    """Hand out a kernel as machine code.

    Parameters
    ----------
    name
        Name of a function of ``kernels``, ``ray_kernels``, ``sample_kernels`` or ``window_kernels``.

    Returns
    -------
    Callable
        The same, compiled.
    """
    from numba import njit

    _make_compilable()
    return njit(cache=True, **_OPTIONS)(kernel(name))  # type: ignore[no-any-return]


def cores() -> int:
    """Return how many processor cores there are for kernels to run on at once."""
    from numba import config

    return int(config.NUMBA_DEFAULT_NUM_THREADS)  # type: ignore[attr-defined]


def kernel(name: str) -> Callable[..., Any]:
    """Hand out a kernel as it is written.

    Parameters
    ----------
    name
        Name of a function of ``kernels``, ``ray_kernels``, ``sample_kernels`` or ``window_kernels``.

    Returns
    -------
    Callable
        Plain Python.
    """
    room = next(one for one in (window_kernels, sample_kernels, ray_kernels, kernels) if hasattr(one, name))
    return getattr(room, name)  # type: ignore[no-any-return]


def _make_compilable() -> None:
    """Let the compiler use the inner functions; made known twice, by two threads at once, they would be two to it."""
    from numba.core.compiler_lock import global_compiler_lock

    with global_compiler_lock:
        for function in _INNER:
            _make_known(function)


@cache
def _make_known(function: Callable[..., Any]) -> None:
    from numba.extending import register_jitable

    register_jitable(function)
