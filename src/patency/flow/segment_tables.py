"""Friction and states of flow of any number of segments at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.flow import machine_code
from patency.flow.kernels import LAMINAR_TO, TURBULENT_FROM, Chains
from patency.flow.machine_code import Kernel

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]


def many_friction_factors(reynolds: Floats, roughness: Floats) -> Floats:
    """Work out friction factors of any number of segments.

    Parameters
    ----------
    reynolds
        Laminar-equivalent Reynolds numbers, any shape [-].
    roughness
        Roughness over the hydraulic diameter, the same shape [-].

    Returns
    -------
    NDArray
        Darcy friction factors [-]; not-a-number where nothing flows.
    """
    nothing = np.empty(0)
    chains = Chains(  # to the kernel each is a chain of its own, with a flow of 1
        start=np.arange(reynolds.size + 1),
        reynolds_per_flow=np.ascontiguousarray(reynolds).ravel(),
        reynolds_power=nothing,
        friction=np.ones(reynolds.size),
        roughness=np.ascontiguousarray(roughness).ravel(),
        fixed=nothing,
        usual_flow=nothing,
        usual_slope=nothing,
    )
    found = machine_code.friction_factors(Kernel.MACHINE_CODE)(chains, np.ones(reynolds.size))
    return np.asarray(found.reshape(reynolds.shape))


def unsure_bits(reynolds: Floats, starts: Integers) -> Integers:
    """Tell which segments of each path run at a Reynolds number that leaves laminar or turbulent open.

    Parameters
    ----------
    reynolds
        Shape (..., segments): laminar-equivalent Reynolds numbers, 0 for what does not rub [-].
    starts
        Where the segments of each path begin; none is empty.

    Returns
    -------
    NDArray
        Shape (..., paths): for each path a number whose bits are its segments, the first the lowest.
    """
    if starts.size == 0:
        return np.zeros((*reynolds.shape[:-1], 0), dtype=np.int64)
    place = np.arange(reynolds.shape[-1]) - np.repeat(starts, np.diff((*starts, reynolds.shape[-1])))
    bits = np.where((reynolds > LAMINAR_TO) & (reynolds < TURBULENT_FROM), 1 << np.minimum(place, 62), 0)
    return np.asarray(np.add.reduceat(bits, starts, axis=-1))
