"""Draw what is not known of a load: every size, loss and friction within its doubt, the same draw in every stage.

What has a tolerance is drawn evenly within it, as nothing more is known. The roughness is drawn evenly in its
logarithm between the site's factor below and above. Between Reynolds 2000 and 4000 the friction is drawn evenly between
laminar and turbulent, for each path by itself. Where in its tube a rod lies is drawn evenly between the middle and the
wall: laminar flow in a narrow gap passes 1 + 1.5 e² times that of the centred rod (handbook limit, from memory, not
verified; wider gaps gain less).
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from patency.flow import machine_code
from patency.flow.compiled_network import Geometry
from patency.flow.machine_code import Kernel
from patency.flow.sampled import draw_kernels
from patency.flow.sampled.draw_kernels import FrictionMoves, Moves, SizeMoves
from patency.flow.uncertainty import Side, Source, changes_within_doubts, least_gaps

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from patency.flow.from_load import LoadNetwork
    from patency.flow.stage_solution import StageSolution
    from patency.flow.uncertainty import Change

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]


_INNER: tuple[Callable[..., Any], ...] = (draw_kernels.apply, draw_kernels.fill_sizes, draw_kernels.fill_stage)


class SampleSizes(NamedTuple):
    """Sizes of some samples in one stage."""

    sizes: Geometry
    """Shape (samples, segments) each; lengths with other friction."""
    friction: Floats
    """Shape (samples, segments): the factor that lengths carry [-]."""
    pump_head_factor: Floats
    """Shape (samples,) [-]."""


class LoadDraws:
    """What is not known of a load, drawn for all samples.

    Parameters
    ----------
    load_network
        The load's network.
    solutions
        Its stages, solved at nominal sizes.
    chance
        Where the random numbers come from.
    samples
        How many samples.
    kernel
        How the numbers are worked out.
    """

    def __init__(
        self,
        load_network: LoadNetwork,
        solutions: Sequence[StageSolution],
        chance: np.random.Generator,
        samples: int,
        kernel: Kernel = Kernel.MACHINE_CODE,
    ) -> None:
        self.samples = samples
        self._kernel = kernel
        self._nominal = [solution.compiled.geometry for solution in solutions]
        self._gaps = least_gaps(self._nominal[0])
        changes = [list(changes_within_doubts(load_network, solution)) for solution in solutions]
        moved = [change for change in changes[0] if change.side is Side.BOTH]
        column: dict[str, int] = {}
        for change in moved:
            column.setdefault(change.what, len(column))
        rough = column.setdefault("roughness", len(column))
        self._size_moves = _size_moves(moved, self._nominal[0], column)
        self._friction_moves = [
            _friction_moves(of_stage, solution, column) for of_stage, solution in zip(changes, solutions, strict=True)
        ]
        # One thing after the other, so that what a thing is drawn to depends on no thing behind it.
        self._numbers = np.array([chance.uniform(-1.0, 1.0, samples) for _ in column]).T.copy()
        self._rougher = load_network.roughness_factor ** self._numbers[:, rough]
        pump = [(column[change.what], change.pump_head_factor - 1.0) for change in moved]
        self._pump_head_factor = np.ones(samples)
        for number, far in pump:
            self._pump_head_factor += self._numbers[:, number] * far if far else 0.0

    def in_stages(self, rows: slice) -> Iterator[SampleSizes]:
        """Make the sizes of some of the samples, stage after stage.

        Parameters
        ----------
        rows
            Which samples.

        Yields
        ------
        SampleSizes
            Of one stage; the next stage writes over it.
        """
        fill_sizes, fill_stage = _kernels(self._kernel)
        numbers, rougher = self._numbers[rows], self._rougher[rows]
        shape = (rougher.size, self._gaps.size)
        drawn = Geometry(*(np.empty(shape) for _ in Geometry._fields))
        friction, loss = np.empty(shape), np.empty(shape)
        fill_sizes(self._size_moves, self._nominal[0], self._gaps, numbers, rougher, drawn)
        for nominal, moves in zip(self._nominal, self._friction_moves, strict=True):
            fill_stage(moves, nominal, numbers, drawn.minor_loss, friction, drawn.length_m, loss)
            yield SampleSizes(drawn._replace(minor_loss=loss), friction, self._pump_head_factor[rows])


def _size_moves(moved: Sequence[Change], nominal: Geometry, column: Mapping[str, int]) -> SizeMoves:
    """List how far each thing drawn moves each segment's sizes."""
    opening = nominal.discharge_coefficient > 0.0

    def of_openings(geometry: Geometry) -> Floats:
        return np.asarray(np.where(opening, geometry.discharge_coefficient, 1.0) ** -2)

    def moves(size: Callable[[Geometry], Floats]) -> Moves:
        far = np.array([size(change.geometry) - size(nominal) for change in moved])
        change_of, segment = np.nonzero(far)
        columns = np.array([column[change.what] for change in moved])
        return Moves(columns[change_of], segment.astype(np.int64), far[change_of, segment])

    return SizeMoves(
        diameter=moves(lambda geometry: geometry.diameter_m),
        rod=moves(lambda geometry: geometry.rod_diameter_m),
        loss=moves(lambda geometry: geometry.minor_loss),
        opening=moves(of_openings),
    )


def _friction_moves(changes: Sequence[Change], solution: StageSolution, column: dict[str, int]) -> FrictionMoves:
    """List what the friction of a stage may be, laminar and turbulent of each path under one name."""
    pairs: dict[str, dict[str, Floats]] = {}
    for change in changes:
        if change.source is Source.REGIME:
            word, _, path = change.what.partition(" ")
            assert change.friction is not None  # noqa: S101 - a regime is nothing else
            pairs.setdefault(f"regime {path}", {})[word] = change.friction
    found = []
    for what, pair in pairs.items():
        number = column.setdefault(what, len(column))
        laminar, turbulent = pair["laminar"], pair["turbulent"]
        touched = np.flatnonzero((laminar != 1.0) | (turbulent != 1.0))
        found += [(number, row, laminar[row], turbulent[row], 0.0) for row in touched]
    for change in changes:
        if change.source is Source.ROD:
            number = column.setdefault(change.what, len(column))
            (row,) = np.flatnonzero(change.friction != 1.0)
            found.append((number, row, 1.0, 1.0, solution.equivalent_reynolds[row]))
    table = np.array(found).reshape(-1, 5)
    return FrictionMoves(
        number=table[:, 0].astype(np.int64),
        segment=table[:, 1].astype(np.int64),
        laminar=table[:, 2].copy(),
        turbulent=table[:, 3].copy(),
        reynolds=table[:, 4].copy(),
        roughness=solution.compiled.chains.roughness,
    )


def _kernels(kernel: Kernel) -> tuple[Callable[..., None], Callable[..., None]]:
    return (draw_kernels.fill_sizes, draw_kernels.fill_stage) if kernel is Kernel.INTERPRETED else _compiled()


@cache
def _compiled() -> tuple[Callable[..., None], Callable[..., None]]:
    stamp = machine_code.stamp(draw_kernels)

    def fill_sizes(moves, nominal, gaps, numbers, rougher, sizes):  # type: ignore[no-untyped-def] # noqa: ANN001, ANN202
        if stamp >= 0:  # enclosed, so that the compiler's cache forgets what was made from other functions
            draw_kernels.fill_sizes(moves, nominal, gaps, numbers, rougher, sizes)

    def fill_stage(moves, nominal, numbers, moved_loss, friction, length, loss):  # type: ignore[no-untyped-def] # noqa: ANN001, ANN202
        if stamp >= 0:
            draw_kernels.fill_stage(moves, nominal, numbers, moved_loss, friction, length, loss)

    first, second = (machine_code.compiled_for_threads(entry, _INNER) for entry in (fill_sizes, fill_stage))
    return first, second
