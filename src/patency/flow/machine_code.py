"""The kernels as machine code. The one place that knows the compiler, and it is imported only on use.

Compiling takes seconds once on a machine; later runs load the result from a cache beside the source.
"""

from __future__ import annotations

from enum import Enum
from functools import cache
from typing import TYPE_CHECKING, Any

from patency.flow import kernels

if TYPE_CHECKING:
    from collections.abc import Callable

_INNER = (
    kernels.friction_factor_and_slope,
    kernels.chain_loss,
    kernels.pump_head,
    kernels.spread,
    kernels.evaluate,
    kernels.fold,
    kernels.chord_changes,
    kernels.aim,
    kernels.begin,
    kernels.step,
)


class Kernel(Enum):
    """How the numbers are worked out; both give the same to about the last digit."""

    MACHINE_CODE = "machine code"  # tens of microseconds a solve, after seconds of compiling once on a machine
    INTERPRETED = "interpreted"  # milliseconds a solve, and nothing to wait for


def newton(kernel: Kernel) -> Callable[..., Any]:
    """Hand out Newton's method in the form asked for.

    Parameters
    ----------
    kernel
        Which form.

    Returns
    -------
    Callable
        A function like `patency.flow.kernels.newton`.
    """
    return kernels.newton if kernel is Kernel.INTERPRETED else _compiled()[0]


def friction_factors(kernel: Kernel) -> Callable[..., Any]:
    """Hand out the friction factors of all segments in the form asked for.

    Parameters
    ----------
    kernel
        Which form.

    Returns
    -------
    Callable
        A function like `patency.flow.kernels.friction_factors`.
    """
    return kernels.friction_factors if kernel is Kernel.INTERPRETED else _compiled()[1]


@cache
def _compiled() -> tuple[Callable[..., Any], Callable[..., Any]]:
    """Compile on first use. The inner functions stay plain for Python and become compilable for each other."""
    from numba import njit
    from numba.extending import register_jitable

    for function in _INNER:
        register_jitable(function)
    return njit(cache=True)(kernels.newton), njit(cache=True)(kernels.friction_factors)
