"""Put random numbers into the sizes of many samples, sample by sample.

Plain Python over arrays, like the other kernels. What a number moves is few segments of many, so moves are listed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from patency.flow.kept_open import MOST_ROUGHNESS
from patency.flow.kernels import friction_factor_and_slope
from patency.flow.uncertainty import ECCENTRIC_GAIN

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from patency.flow.compiled_network import Geometry

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]


class Moves(NamedTuple):
    """By how much numbers between -1 and 1 move one size of segments at 1."""

    number: Integers  # [move] column of the numbers
    segment: Integers  # [move]
    far: Floats  # [move]


class SizeMoves(NamedTuple):
    """All moves of sizes."""

    diameter: Moves
    rod: Moves
    loss: Moves
    opening: Moves  # of the loss 1/C² of an opening


class FrictionMoves(NamedTuple):
    """What the friction of one stage may be in place of the nominal."""

    number: Integers  # [move] column of the numbers
    segment: Integers  # [move]
    laminar: Floats  # [move] factor on the friction at -1; unused where a rod lies
    turbulent: Floats  # [move] and at 1
    reynolds: Floats  # [move] of an annulus whose rod may lie; 0 for laminar or turbulent
    roughness: Floats  # [segment]


def apply(moves: Moves, numbers: Floats, sizes: Floats) -> None:
    """Move one size of one sample."""
    for k in range(moves.number.size):
        sizes[moves.segment[k]] += numbers[moves.number[k]] * moves.far[k]


def fill_sizes(
    moves: SizeMoves,
    nominal: Geometry,
    gaps: Floats,
    numbers: Floats,
    rougher: Floats,
    sizes: Geometry,
) -> None:
    """Fill the sizes of samples that are the same in every stage; of the losses how far they are moved."""
    for sample in range(numbers.shape[0]):
        drawn = numbers[sample]
        diameter, rod, loss = sizes.diameter_m[sample], sizes.rod_diameter_m[sample], sizes.minor_loss[sample]
        wall, coefficient = sizes.roughness_m[sample], sizes.discharge_coefficient[sample]
        diameter[:], rod[:], loss[:] = nominal.diameter_m, nominal.rod_diameter_m, 0.0
        for segment in range(coefficient.size):
            one = nominal.discharge_coefficient[segment]
            coefficient[segment] = 1.0 / (one * one) if one > 0.0 else 1.0
        apply(moves.diameter, drawn, diameter)
        apply(moves.rod, drawn, rod)
        apply(moves.loss, drawn, loss)
        apply(moves.opening, drawn, coefficient)
        for segment in range(coefficient.size):
            diameter[segment] = max(diameter[segment], rod[segment] + gaps[segment])
            most = MOST_ROUGHNESS * (diameter[segment] - rod[segment])
            wall[segment] = min(nominal.roughness_m[segment] * rougher[sample], most)
            opening = nominal.discharge_coefficient[segment] > 0.0
            coefficient[segment] = coefficient[segment] ** -0.5 if opening else 0.0


def fill_stage(
    moves: FrictionMoves,
    nominal: Geometry,
    numbers: Floats,
    moved_loss: Floats,
    friction: Floats,
    length: Floats,
    loss: Floats,
) -> None:
    """Fill what differs from stage to stage: friction, the lengths that carry it, and losses."""
    for sample in range(numbers.shape[0]):
        drawn, other = numbers[sample], friction[sample]
        other[:] = 1.0
        for k in range(moves.number.size):
            segment, number, reynolds = moves.segment[k], drawn[moves.number[k]], moves.reynolds[k]
            if reynolds > 0.0:
                rough = moves.roughness[segment]
                lying, _ = friction_factor_and_slope((1.0 + ECCENTRIC_GAIN * number * number) * reynolds, rough)
                other[segment] *= lying / friction_factor_and_slope(reynolds, rough)[0]
            else:
                share = 0.5 + 0.5 * number
                other[segment] *= moves.laminar[k] + share * (moves.turbulent[k] - moves.laminar[k])
        for segment in range(other.size):
            length[sample, segment] = nominal.length_m[segment] * other[segment]
            loss[sample, segment] = max(nominal.minor_loss[segment] + moved_loss[sample, segment], 0.0)
