"""What the water does along the lumens of many solved networks, scenario by scenario.

Plain Python over arrays, like the other kernels.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.flow.kernels import LAMINAR_TO, TURBULENT_FROM, laminar_constant, rough_factor_and_slope

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Rows = NDArray[np.uint64]

_ONE = np.uint64(1)


class Places(NamedTuple):
    """Where the lumens are read."""

    entry: Rows  # [lumen] the chain that brings its water
    first: Rows  # [lumen] segment at which that chain begins
    before: Rows  # [lumen] and the one at which the lumen does
    own_start: Rows  # [lumen + 1] where the own segments of each lumen begin in
    own: Rows  # its own segments, lumen after lumen
    own_chain: Rows  # and the chain of each


class Sections(NamedTuple):
    """Sizes of the segments, shape (scenarios, segments) each; a single row is that of every scenario."""

    diameter: Floats
    rod: Floats
    length: Floats
    roughness: Floats
    minor_loss: Floats
    coefficient: Floats
    friction: Floats  # factor that the lengths carry in place of other friction


class LumenArrays(NamedTuple):
    """What is read, shape (scenarios, lumens) each."""

    velocity: Floats  # smallest along the lumen, m/s
    reynolds: Floats  # smallest along the lumen
    shear: Floats  # smallest along the lumen, Pa; not-a-number for an opening
    lost: Floats  # pressure lost from the beginning of the chain to the lumen, Pa


def friction(reynolds: float, rod_over_tube: float, roughness: float) -> float:
    """Darcy friction factor by the plain Reynolds number; 0 where nothing flows."""
    equivalent = reynolds * 64.0 / laminar_constant(rod_over_tube) if rod_over_tube > 0.0 else reynolds
    if not equivalent > 0.0:
        return 0.0
    if equivalent <= LAMINAR_TO:
        return 64.0 / equivalent
    power = math.exp(-0.9 * math.log(equivalent)) if equivalent >= TURBULENT_FROM else 0.0  # unused below
    return rough_factor_and_slope(equivalent, power, roughness)[0]


def least(value: float, lowest: float) -> float:
    """Return the smaller of two numbers, of which not-a-number is the smallest."""
    return lowest if value > lowest or math.isnan(lowest) else value


def read_own(
    places: Places,
    sizes: Sections,
    flow: Floats,
    scenario: int,
    viscosity: float,
    density: float,
    found: LumenArrays,
) -> None:
    """Read the own segments of every lumen of one scenario."""
    diameter, rod = sizes.diameter[scenario % sizes.diameter.shape[0]], sizes.rod[scenario % sizes.rod.shape[0]]
    wall = sizes.roughness[scenario % sizes.roughness.shape[0]]
    coefficient = sizes.coefficient[scenario % sizes.coefficient.shape[0]]
    other = sizes.friction[scenario % sizes.friction.shape[0]]
    for k in range(places.entry.size):
        lumen = np.uint64(k)
        slowest, smallest, weakest = np.inf, np.inf, np.inf
        for each in range(places.own_start[lumen], places.own_start[lumen + _ONE]):
            row = places.own[each]
            wide, thick = diameter[row], rod[row]
            gap = wide - thick
            velocity = flow[places.own_chain[each]] / (0.25 * math.pi * gap * (wide + thick))
            reynolds = abs(velocity) * gap / viscosity
            shear = np.nan
            if coefficient[row] == 0.0:
                factor = friction(reynolds, thick / wide, wall[row] / gap)
                shear = factor * density * velocity * velocity / 8.0 * other[row]
            slowest, smallest, weakest = least(velocity, slowest), least(reynolds, smallest), least(shear, weakest)
        found.velocity[scenario, lumen], found.reynolds[scenario, lumen] = slowest, smallest
        found.shear[scenario, lumen] = weakest


def read_before(
    places: Places,
    sizes: Sections,
    flow: Floats,
    scenario: int,
    viscosity: float,
    density: float,
    found: LumenArrays,
) -> None:
    """Sum what is lost before every lumen of one scenario, in the chain that brings its water."""
    diameter, rod = sizes.diameter[scenario % sizes.diameter.shape[0]], sizes.rod[scenario % sizes.rod.shape[0]]
    wall, length = sizes.roughness[scenario % sizes.roughness.shape[0]], sizes.length[scenario % sizes.length.shape[0]]
    coefficient = sizes.coefficient[scenario % sizes.coefficient.shape[0]]
    single = sizes.minor_loss[scenario % sizes.minor_loss.shape[0]]
    for k in range(places.entry.size):
        lumen = np.uint64(k)
        through, heads = flow[places.entry[lumen]], 0.0
        for each in range(places.first[lumen], places.before[lumen]):
            row = np.uint64(each)
            wide, thick = diameter[row], rod[row]
            gap = wide - thick
            velocity = through / (0.25 * math.pi * gap * (wide + thick))
            if coefficient[row] == 0.0:
                factor = friction(abs(velocity) * gap / viscosity, thick / wide, wall[row] / gap)
                losses = factor * length[row] / gap + single[row]
            else:
                losses = 1.0 / (coefficient[row] * coefficient[row])
            heads += losses * velocity * abs(velocity)
        found.lost[scenario, lumen] = 0.5 * density * heads


def read_lumens(
    places: Places,
    sizes: Sections,
    flows: Floats,
    viscosity: float,
    density: float,
    with_lost: bool,  # noqa: FBT001 - whether what is lost before the lumens is asked for
    found: LumenArrays,
) -> None:
    """Read every lumen of every scenario; flows of shape (scenarios, chains)."""
    for scenario in range(flows.shape[0]):
        read_own(places, sizes, flows[scenario], scenario, viscosity, density, found)
        if with_lost:
            read_before(places, sizes, flows[scenario], scenario, viscosity, density, found)
