"""The kernels as machine code. The one place of the room that knows the compiler, imported only on use.

Compiling takes seconds once on a machine; later runs load the result from a cache beside the source.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from patency.reach.jets import kernels

if TYPE_CHECKING:
    from collections.abc import Callable

_INNER = (kernels.flight, kernels.may_rise_to, kernels.turns_back, kernels.open_share)


@cache
def compiled(name: str) -> Callable[..., Any]:
    """Hand out a kernel as machine code.

    Parameters
    ----------
    name
        Name of a function of ``kernels``.

    Returns
    -------
    Callable
        The same, compiled.
    """
    from numba import njit

    _make_compilable()
    return njit(cache=True, nogil=True, error_model="numpy")(getattr(kernels, name))


@cache
def _make_compilable() -> None:
    from numba.extending import register_jitable

    for function in _INNER:
        register_jitable(function)
