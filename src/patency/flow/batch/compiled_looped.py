"""The solution of networks with loops as machine code that lets other threads run."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from patency.flow import machine_code
from patency.flow.batch import looped_kernels
from patency.flow.machine_code import Kernel

if TYPE_CHECKING:
    from collections.abc import Callable

_INNER: tuple[Callable[..., Any], ...] = (
    looped_kernels.row_of,
    looped_kernels.reduce_one,
    looped_kernels.ends_of,
    looped_kernels.tolerance_of,
    looped_kernels.solve_looped,
)


def solve_looped(kernel: Kernel) -> Callable[..., None]:
    """Hand out the solution of scenarios one after the other in the form asked for.

    Parameters
    ----------
    kernel
        Which form.

    Returns
    -------
    Callable
        A function like `patency.flow.batch.looped_kernels.solve_looped`; in machine code it lets other threads run.
    """
    return looped_kernels.solve_looped if kernel is Kernel.INTERPRETED else _compiled()


@cache
def _compiled() -> Callable[..., None]:
    stamp = machine_code.stamp(looped_kernels)

    def stamped(start, tree, ends, sizes, gravity, begin, most, flows, heads, states):  # type: ignore[no-untyped-def] # noqa: ANN001, ANN202
        if stamp >= 0:  # enclosed, so that the compiler's cache forgets what was made from other functions
            looped_kernels.solve_looped(start, tree, ends, sizes, gravity, begin, most, flows, heads, states)

    return machine_code.compiled_for_threads(stamped, _INNER)
