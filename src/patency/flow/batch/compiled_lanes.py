"""The lanes as machine code: compiled on first use, kept in a cache, forgotten when one of their functions changes."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from patency.flow import machine_code
from patency.flow.batch import lane_curves, lane_layout, lane_losses, lane_sizes, lanes, near_one
from patency.flow.machine_code import Kernel

if TYPE_CHECKING:
    from collections.abc import Callable

_INNER: tuple[Callable[..., Any], ...] = (
    near_one.log_near_one,
    near_one.power_near_one,
    near_one.log_further_off,
    near_one.power_further_off,
    lane_sizes.read_columns,
    lane_sizes.read_block,
    lane_sizes.find_active,
    lane_sizes.reduce_orifice,
    lane_sizes.take_gain,
    lane_sizes.reduce_gap,
    lane_sizes.add_linear,
    lane_sizes.raise_to_power,
    lane_sizes.finish_gap,
    lane_sizes.all_near,
    lane_sizes.scale_bore,
    lane_curves.begin_curve,
    lane_curves.add_to_curve,
    lane_curves.add_between_to_curve,
    lane_curves.friction_at_4000,
    lane_curves.add_curve,
    lane_sizes.reduce_block,
    lane_curves.by_curve,
    lane_curves.loss_by_curve,
    lane_losses.begin_chain,
    lane_losses.finish_chain,
    lane_losses.follow_bend,
    lane_losses.take_power,
    lane_losses.take_logarithm,
    lane_losses.all_turbulent,
    lane_losses.add_turbulent,
    lane_losses.room_for,
    lane_losses.bend_of_power,
    lane_losses.add_slower,
    lane_losses.add_alone,
    lane_losses.add_any,
    lane_losses.add_friction,
    lane_losses.loss_by_law,
    lanes.begin_block,
    lanes.add_pump,
    lanes.lose,
    lanes.fold_outlet,
    lanes.moved,
    lanes.move_outlet,
    lanes.all_settled,
    lanes.go_by_curves,
    lanes.go_by_law,
    lanes.fold_links,
    lanes.raise_heads,
    lanes.end_block,
    lanes.solve_block,
    lanes.solve_lanes,
)


def solve_lanes(kernel: Kernel) -> Callable[..., None]:
    """Hand out the solution of blocks of scenarios in the form asked for.

    Parameters
    ----------
    kernel
        Which form.

    Returns
    -------
    Callable
        A function like `patency.flow.batch.lanes.solve_lanes`; in machine code it lets other threads run.
    """
    return lanes.solve_lanes if kernel is Kernel.INTERPRETED else _compiled()


@cache
def _compiled() -> Callable[..., None]:
    stamp = machine_code.stamp(lane_layout, near_one, lane_curves, lane_sizes, lane_losses, lanes)

    def stamped(nominal, ends, sizes, block, differs, flows, heads, states):  # type: ignore[no-untyped-def] # noqa: ANN001, ANN202
        if stamp >= 0:  # enclosed, so that the compiler's cache forgets what was made from other functions
            lanes.solve_lanes(nominal, ends, sizes, block, differs, flows, heads, states)

    return machine_code.compiled_for_threads(stamped, _INNER, makes_arrays=False)
