"""The kernels as machine code. The one place that knows the compiler, and it is imported only on use.

Compiling takes seconds once on a machine; later runs load the result from a cache beside the source.
"""

from __future__ import annotations

import zlib
from enum import Enum
from functools import cache
from types import CodeType
from typing import TYPE_CHECKING, Any

import numpy as np

from patency.flow import kernels, newton_kernels

if TYPE_CHECKING:
    from collections.abc import Callable
    from types import ModuleType

_INNER = (
    kernels.swamee_jain,
    kernels.cubic_between,
    kernels.between_regimes,
    kernels.rough_factor_and_slope,
    kernels.friction_factor_and_slope,
    kernels.chain_losses,
    kernels.bent,
    kernels.pump_curve,
    kernels.pump_head,
    newton_kernels.spread,
    newton_kernels.evaluate,
    newton_kernels.fold,
    newton_kernels.eliminate,
    newton_kernels.change_chords,
    newton_kernels.aim,
    newton_kernels.height_above,
    newton_kernels.begin,
    newton_kernels.step,
    kernels.laminar_constant,
    kernels.run_out,
    newton_kernels.room_of,
    newton_kernels.newton,
)
# Sums may be fused and divisions turned round; their order stays, and not-a-number stays one.
_OPTIONS: dict[str, Any] = {"fastmath": {"contract", "arcp", "nsz"}, "error_model": "numpy"}


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
        A function like `patency.flow.newton_kernels.newton`.
    """
    return newton_kernels.newton if kernel is Kernel.INTERPRETED else _compiled()[0]


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


def compiled_for_threads(
    function: Callable[..., Any], inner: tuple[Callable[..., Any], ...], *, makes_arrays: bool = True
) -> Callable[..., Any]:
    """Compile a function of another module that may call the kernels; other threads run while it does.

    Parameters
    ----------
    function
        The function. The compiler's cache looks at the file it stands in and at what it encloses.
    inner
        The other functions it calls, in the order in which they call each other.
    makes_arrays
        Whether it makes arrays of its own. Where it does not, nothing counts who uses which array: that takes up to
        half the time where small functions are called often.

    Returns
    -------
    Callable
        The same as machine code.
    """
    from numba import njit

    _make_compilable(*_INNER, *inner)
    options = {**_OPTIONS, "nogil": True, "_nrt": makes_arrays}
    return njit(cache=True, **options)(function)  # type: ignore[no-any-return]


def stamp(*modules: ModuleType) -> int:
    """Return a number that changes when a function or a constant of the kernels or of other modules changes.

    Parameters
    ----------
    modules
        The other modules.

    Returns
    -------
    int
        The number, at least 0.
    """
    found: list[tuple[Any, ...]] = []
    for module in (kernels, newton_kernels, *modules):
        for name, value in sorted(vars(module).items()):
            code = getattr(value, "__code__", None)
            if code is not None:
                found.append((name, *_content(code)))
            elif isinstance(value, int | float | tuple | np.generic):
                found.append((name, value))
    return zlib.crc32(repr(found).encode())


def _content(code: CodeType) -> tuple[Any, ...]:
    """List what a function consists of; functions within it likewise, whose own words name a place in memory."""
    constants = tuple(_content(one) if isinstance(one, CodeType) else one for one in code.co_consts)
    return code.co_code, code.co_names, constants


def _make_compilable(*functions: Callable[..., Any]) -> None:
    """Let the compiler use functions where a compiled one calls them; for Python they stay what they are.

    They are put in where they are called: handing over arrays takes longer than what many of them do.

    Several threads may ask for the first time at once, and to the compiler a function made known twice is two.
    """
    from numba.core.compiler_lock import global_compiler_lock

    with global_compiler_lock:
        for function in functions:
            _make_known(function)


@cache
def _make_known(function: Callable[..., Any]) -> None:
    from numba.extending import register_jitable

    register_jitable(**_OPTIONS, forceinline=True)(function)


@cache
def _compiled() -> tuple[Callable[..., Any], Callable[..., Any]]:
    """Compile on first use."""
    from numba import njit

    made_from = stamp()

    def find(chains, tree, ends, start, tolerance_m, flow, head, room):  # type: ignore[no-untyped-def] # noqa: ANN001, ANN202
        if made_from >= 0:  # enclosed, so that the compiler's cache forgets what was made from other functions
            return newton_kernels.newton(chains, tree, ends, start, tolerance_m, flow, head, room)
        return 0, 0.0

    return compiled_for_threads(find, (), makes_arrays=False), njit(cache=True)(kernels.friction_factors)
