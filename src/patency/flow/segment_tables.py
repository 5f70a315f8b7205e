"""What happens in every segment of many solved networks at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.flow import machine_code
from patency.flow.compiled_network import Geometry
from patency.flow.kernels import LAMINAR_TO, TURBULENT_FROM, Chains
from patency.flow.machine_code import Kernel
from patency.flow.solver import SegmentTable

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.flow.batch import ManyFlows
    from patency.flow.compiled_network import CompiledNetwork

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]


def segment_tables(
    compiled: CompiledNetwork, sizes: Geometry, flows: ManyFlows, rows: Integers | None = None
) -> SegmentTable:
    """Work out velocity, friction, shear and pressure drop of segments in many scenarios.

    Parameters
    ----------
    compiled
        The network, with its water.
    sizes
        Shape (scenarios, segments) each: the sizes it was solved with.
    flows
        The solutions.
    rows
        Which segments; None for every one.

    Returns
    -------
    SegmentTable
        As of one solution, each array of shape (scenarios, segments).
    """
    water = compiled.water
    chain = np.repeat(np.arange(flows.flow_m3_s.shape[1]), np.diff(compiled.segment_start))
    if rows is not None:
        chain, sizes = chain[rows], Geometry(*(values[:, rows] for values in sizes))
    rubs = sizes.discharge_coefficient == 0.0
    width = sizes.diameter_m - sizes.rod_diameter_m
    area = np.pi / 4.0 * (sizes.diameter_m**2 - sizes.rod_diameter_m**2)
    velocity = flows.flow_m3_s[:, chain] / area
    reynolds = np.abs(velocity) * width / water.kinematic_viscosity_m2_s
    factor = many_friction_factors(
        reynolds * laminar_equivalents(sizes.rod_diameter_m / sizes.diameter_m), sizes.roughness_m / width
    )
    factor = np.where(rubs, factor, np.nan)
    rubbing = np.nan_to_num(factor)
    coefficient = np.where(rubs, 1.0, sizes.discharge_coefficient)
    losses = np.where(rubs, rubbing * sizes.length_m / width + sizes.minor_loss, coefficient**-2)
    return SegmentTable(
        velocity_m_s=velocity,
        reynolds=reynolds,
        friction_factor=factor,
        wall_shear_pa=np.where(rubs, rubbing * water.density_kg_m3 * velocity**2 / 8.0, np.nan),
        pressure_drop_pa=losses * water.density_kg_m3 * velocity * np.abs(velocity) / 2.0,
    )


def laminar_equivalents(ratio: Floats) -> Floats:
    """Work out by what the Reynolds number of an annulus is multiplied to be the laminar-equivalent one.

    Parameters
    ----------
    ratio
        Rod over tube, any shape [-]; 0 for a bore.

    Returns
    -------
    NDArray
        The factor [-]; 1 for a bore.
    """
    gains = machine_code.laminar_gains(Kernel.MACHINE_CODE)(np.ascontiguousarray(ratio).ravel())
    return np.asarray(gains.reshape(ratio.shape))


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
