"""Flights of jets from nozzles to patches, and what they meet on their way."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.reach.jets.casting import OFFSET_M, RayScene
from patency.reach.jets.machine_code import compiled
from patency.reach.jets.samples import FREE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.reach.jets.asked import Asked
    from patency.reach.jets.inputs import JetSampling, Surface
    from patency.reach.jets.kernels import Jets, Walls
    from patency.reach.jets.samples import Samples
    from patency.reach.solids.mesh import Floats, Integers


class Flights(NamedTuple):
    """Flights from nozzles to patches: a jet passes nozzle + s launch − s² rise ẑ for s from 0 to 1.

    Parameters
    ----------
    nozzle
        [sample, 3] where it leaves [m].
    launch
        [sample, 3] velocity on leaving times the time of flight [m].
    rise
        [sample] half of g times the square of the time of flight [m].
    """

    nozzle: Floats
    launch: Floats
    rise: Floats


def flights_of(surface: Surface | Asked, samples: Samples, jets: Jets, density_kg_m3: float, part: Integers) -> Flights:
    """Return the flights of some samples and write down their incidence and pressure.

    Parameters
    ----------
    surface
        The patches.
    samples
        The samples; ``cosine`` and ``pressure_pa`` are filled in for this part.
    jets
        The jets.
    density_kg_m3
        Density of the water [kg/m³].
    part
        Numbers of the samples.

    Returns
    -------
    Flights
        Each ends a little off its patch.
    """
    count = len(part)
    nozzle, launch = np.zeros((2, count, 3))
    rise = np.zeros(count)
    compiled("describe_samples")(
        surface.centres,
        surface.normals,
        OFFSET_M,
        jets,
        density_kg_m3,
        samples.patch_of,
        samples.jet_of,
        samples.step_of,
        part,
        nozzle,
        launch,
        rise,
        samples.cosine,
        samples.pressure_pa,
    )
    return Flights(nozzle, launch, rise)


def joined_flights(parts: Sequence[Flights]) -> Flights:
    """Return several flights in a row.

    Parameters
    ----------
    parts
        The flights, at least one.

    Returns
    -------
    Flights
        All of them in the same order.
    """
    return Flights(*(np.concatenate(columns) for columns in zip(*parts, strict=True)))


def faces_in_way(flights: Flights, scene: RayScene, sampling: JetSampling) -> NDArray[np.int32]:
    """Follow jets back from their patches to their nozzles.

    Parameters
    ----------
    flights
        The flights.
    scene
        Bodies that can stand in the way.
    sampling
        How finely a parabola is followed.

    Returns
    -------
    numpy.ndarray
        [sample] number of the face met first, counted over all bodies; ``FREE`` where none is.
    """
    met = np.full(len(flights.rise), FREE, dtype=np.int32)
    # A chord of a parabola that falls by a rise over its whole way lies at most a quarter of that rise away from it.
    chords = np.maximum(1, np.ceil(np.sqrt(flights.rise / 4 / sampling.longest_sag_m))).astype(np.int64)
    for number in range(int(chords.max(initial=0))):
        which = np.flatnonzero((met == FREE) & (chords > number))
        origins, ways = np.empty((2, len(which), 3), dtype=np.float32)
        compiled("chord_ends")(*flights, chords, number, which, scene.middle_m, origins, ways)
        met[which] = scene.faces_along(origins, ways)
    return met


def shares_through(flights: Flights, walls: Walls, free: NDArray[np.bool_]) -> Floats:
    """Return the share of each jet that comes through wire walls.

    Parameters
    ----------
    flights
        The flights.
    walls
        The walls.
    free
        [sample] whether no body stands in the way.

    Returns
    -------
    numpy.ndarray
        [sample] share from 0 to 1; 0 where a body stands in the way.
    """
    shares = free.astype(np.float64)
    compiled("through_walls")(*flights, np.flatnonzero(free), walls, shares)
    return shares
