"""What free jets strike: water that leaves an open port at which nothing stands, in one place all the time.

How far such a jet opens on its way is not stated, so it counts as wide as the passage it leaves: the least it strikes.
Every thread of it flies the same parabola from its own point of the outlet.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.quantities import STANDARD_GRAVITY_M_S2
from patency.reach.jets.casting import OFFSET_M
from patency.reach.jets.flights import Flights, faces_in_way, shares_through
from patency.reach.jets.inputs import walls_of
from patency.reach.jets.kernels import GRAZING
from patency.reach.jets.samples import FREE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.reach.arms import FreeJet
    from patency.reach.jets.casting import RayScene
    from patency.reach.jets.inputs import JetSampling, Surface
    from patency.reach.solids.mesh import Floats, Integers
    from patency.reach.solids.placed import Arranged


class SteadyHits(NamedTuple):
    """What free jets strike of a surface.

    Parameters
    ----------
    struck
        [patch] whether one strikes it.
    pressure_pa
        [patch] strongest impact pressure [Pa]; 0 where none strikes.
    least_incidence_deg, largest_incidence_deg
        [patch] range of the angle to the patch's normal [°]; not a number where none strikes.
    force_n
        [jet, patch, 3] force with which each pushes each patch [N].
    ports
        Ports whose jets strike some of it.
    """

    struck: NDArray[np.bool_]
    pressure_pa: Floats
    least_incidence_deg: Floats
    largest_incidence_deg: Floats
    force_n: Floats
    ports: tuple[str, ...]


class _Threads(NamedTuple):
    """Threads of a jet that end on patches: number of the patch, flight, arrival velocity [m/s], cosine."""

    patches: Integers
    flights: Flights
    speed: Floats
    cosine: Floats


def steady_hits(
    surface: Surface,
    jets: tuple[FreeJet, ...],
    arranged: Arranged,
    scene: RayScene,
    density_kg_m3: float,
    sampling: JetSampling,
) -> SteadyHits:
    """Find the patches that free jets strike.

    Parameters
    ----------
    surface
        The patches.
    jets
        The jets.
    arranged
        The load, for its wire walls.
    scene
        All its bodies.
    density_kg_m3
        Density of the water [kg/m³].
    sampling
        How finely a parabola is followed.

    Returns
    -------
    SteadyHits
        Patches that lie in a jet and look toward it with nothing in the way; the force is the normal momentum of the
        water that arrives, ρ v₀ v cos²θ for each area, the pressure that of stagnation, ρ v²/2 cos²θ, through wire the
        share of it that comes through.
    """
    struck = np.zeros(len(surface.areas_m2), dtype=np.bool_)
    pressure, force = np.zeros(len(struck)), np.zeros((len(jets), len(struck), 3))
    least, largest = np.full((2, len(struck)), np.nan)
    ports: list[str] = []
    if not jets:
        return SteadyHits(struck, pressure, least, largest, force, ())
    walls = walls_of(arranged.screens)
    for number, jet in enumerate(jets):
        threads = _threads(surface, jet)
        free = faces_in_way(threads.flights, scene, sampling) == FREE
        share = shares_through(threads.flights, walls, free)
        rows = threads.patches
        pushes = density_kg_m3 * jet.speed_m_s * threads.speed * threads.cosine**2 * share * surface.areas_m2[rows]
        force[number, rows] = -pushes[:, None] * surface.normals[rows]
        stagnation = density_kg_m3 / 2 * threads.speed**2 * threads.cosine**2
        pressure[rows] = np.maximum(pressure[rows], stagnation * share)
        hit, angle = rows[share > 0], np.degrees(np.arccos(np.minimum(threads.cosine[share > 0], 1.0)))
        struck[hit] = True
        least[hit], largest[hit] = np.fmin(least[hit], angle), np.fmax(largest[hit], angle)
        if (share > 0).any():
            ports.append(jet.port)
    return SteadyHits(struck, pressure, least, largest, force, tuple(ports))


def lies_in_a_jet(surface: Surface, jets: tuple[FreeJet, ...]) -> bool:
    """Tell whether a free jet could strike some of a surface if nothing stood in its way.

    Parameters
    ----------
    surface
        The patches.
    jets
        The jets.

    Returns
    -------
    bool
        Whether a patch lies in one and looks toward it.
    """
    return any(len(_threads(surface, jet).patches) for jet in jets)


def _threads(surface: Surface, jet: FreeJet) -> _Threads:
    """Follow to each patch the thread that ends there: p = o + v t u − g t²/2 ẑ with o in the plane of the outlet.

    Along u that is a quadratic in t; its smaller root is the direct way.
    """
    u, up = np.array(jet.direction), np.array([0.0, 0.0, 1.0])
    outlet = np.array(jet.at_m) + OFFSET_M * u
    ways = surface.centres + OFFSET_M * surface.normals - outlet
    along, speed = ways @ u, jet.speed_m_s
    inside = speed**2 - 2 * STANDARD_GRAVITY_M_S2 * u[2] * along
    time = np.where((along > 0) & (inside >= 0), 2 * along / (speed + np.sqrt(np.maximum(inside, 0.0))), np.nan)
    fall = STANDARD_GRAVITY_M_S2 * time**2 / 2
    aside = ways - (speed * time)[:, None] * u + fall[:, None] * up
    arrives = speed * u - STANDARD_GRAVITY_M_S2 * time[:, None] * up
    fast = np.linalg.norm(arrives, axis=1)
    cosine = -(arrives * surface.normals).sum(axis=1) / fast
    rows = np.flatnonzero((np.linalg.norm(aside, axis=1) <= jet.bore_m / 2) & (cosine > GRAZING))
    flights = Flights(outlet + aside[rows], (speed * time[rows])[:, None] * u, fall[rows])
    return _Threads(rows, flights, fast[rows], cosine[rows])
