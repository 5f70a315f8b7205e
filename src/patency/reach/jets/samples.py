"""Samples of the jets: patch, jet and angle, and what stands between them."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.reach.jets.casting import OFFSET_M, RayScene
from patency.reach.jets.inputs import walls_of
from patency.reach.jets.kernels import LEVELS
from patency.reach.jets.machine_code import compiled

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.reach.arms import Arms
    from patency.reach.jets.inputs import JetSampling, Surface
    from patency.reach.jets.kernels import Jets, Walls
    from patency.reach.solids.mesh import Floats, Integers
    from patency.reach.solids.placed import Arranged

_Found = tuple["NDArray[np.int32]", "NDArray[np.int16]", "NDArray[np.int16]", "NDArray[np.int16]"]

FREE = -1
"""Nothing stands in the way."""
_SAMPLES_PER_PATCH = 100  # room made at first; more is made where it is not enough
_PART = 1 << 15  # samples worked on at a time: they stay in the processor's cache


@dataclass(frozen=True, eq=False)
class Samples:
    """Everything in which a patch lies in a jet's cone and looks toward it.

    Parameters
    ----------
    patch_of, jet_of, step_of
        [sample] patch of the surface, jet, angle of its arm.
    stands_for
        [sample] how many angles it stands for.
    cosine
        [sample] cosine of the incidence: 1 straight on.
    pressure_pa
        [sample] impact pressure where nothing stands in the way [Pa].
    blocker
        [sample] number of the body that stands in the way; ``FREE`` where none does.
    share
        [sample] share of the jet that comes through wire walls; 0 where a body stands in the way.
    level
        [patch] how often each was looked at anew at finer angles.
    """

    patch_of: NDArray[np.int32]
    jet_of: NDArray[np.int16]
    step_of: NDArray[np.int16]
    stands_for: NDArray[np.int16]
    cosine: NDArray[np.float32]
    pressure_pa: NDArray[np.float32]
    blocker: NDArray[np.int32]
    share: NDArray[np.float32]
    level: NDArray[np.int8]


_COLUMNS = tuple(field.name for field in fields(Samples) if field.name != "level")


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


def samples_of(
    surface: Surface,
    arranged: Arranged,
    scene: RayScene,
    water: tuple[Arms, Jets, JetSampling],
    patches: Integers | None = None,
) -> Samples:
    """Find all samples of a surface and what stands in their way.

    Parameters
    ----------
    surface
        The patches.
    arranged
        The load, for its wire walls.
    scene
        All its bodies.
    water
        The arms, their jets, and how finely.
    patches
        Numbers of the patches that are asked for; all of them where left out.

    Returns
    -------
    Samples
        Patch by patch, jet by jet, in the order of the angle; behind them those at finer angles, in the same order.
        Patches that are not asked for count as done.
    """
    asked = np.arange(len(surface.centres)) if patches is None else patches
    found = _cast(surface, _found(surface, water[1], asked, 0, water[2]), arranged, scene, water)
    found.level[:] = LEVELS
    found.level[asked] = 0
    return with_finer(surface, found, arranged, scene, water)


def samples_joined(parts: Sequence[Samples]) -> Samples:
    """Put the samples of parts of one surface together.

    Parameters
    ----------
    parts
        At least one; each of other patches of the surface.

    Returns
    -------
    Samples
        All of them, part by part.
    """
    columns = {name: np.concatenate([getattr(one, name) for one in parts]) for name in _COLUMNS}
    return Samples(**columns, level=np.minimum.reduce([one.level for one in parts]))


def with_finer(
    surface: Surface, samples: Samples, arranged: Arranged, scene: RayScene, water: tuple[Arms, Jets, JetSampling]
) -> Samples:
    """Look at finer angles, again and again, for those patches that nothing strikes.

    Parameters
    ----------
    surface
        The patches.
    samples
        What is known of them.
    arranged
        The load, for its wire walls.
    scene
        All its bodies.
    water
        The arms, their jets, and how finely.

    Returns
    -------
    Samples
        The samples with those at finer angles behind them; the same where there are none.
    """
    for level in range(1, LEVELS):
        struck = np.zeros(len(surface.centres), dtype=np.bool_)
        struck[samples.patch_of[samples.share > 0]] = True
        missed = np.flatnonzero(~struck & (samples.level < level))
        if not len(missed):
            continue
        more = _cast(surface, _found(surface, water[1], missed, level, water[2]), arranged, scene, water)
        reached = samples.level.copy()
        reached[missed] = level
        columns = {name: np.concatenate([getattr(samples, name), getattr(more, name)]) for name in _COLUMNS}
        samples = Samples(**columns, level=reached)
    return samples


def _cast(
    surface: Surface,
    found: _Found,
    arranged: Arranged,
    scene: RayScene,
    water: tuple[Arms, Jets, JetSampling],
) -> Samples:
    """Find what stands in the way of new samples."""
    arms, jets, sampling = water
    count = len(found[0])
    cosine, pressure, share = (np.zeros(count, dtype=np.float32) for _ in range(3))
    blocker = np.full(count, FREE, dtype=np.int32)
    samples = Samples(*found, cosine, pressure, blocker, share, np.zeros(len(surface.centres), dtype=np.int8))
    walls = walls_of(arranged.screens)
    for start in range(0, count, _PART):
        part = np.arange(start, min(start + _PART, count))
        flights = flights_of(surface, samples, jets, arms.water_density_kg_m3, part)
        blocker[part] = bodies_in_way(flights, scene, sampling)
        share[part] = shares_through(flights, walls, blocker[part] == FREE)
    return samples


def _found(surface: Surface, jets: Jets, patches: Integers, level: int, sampling: JetSampling) -> _Found:
    room = len(patches) * _SAMPLES_PER_PATCH
    while True:
        patch_of = np.empty(room, dtype=np.int32)
        jet_of, step_of, stands_for = (np.empty(room, dtype=np.int16) for _ in range(3))
        shape = (surface.centres, surface.normals, jets, patches, level, sampling.finer)
        count = compiled("find_samples")(*shape, patch_of, jet_of, step_of, stands_for)
        if count <= room:
            return patch_of[:count].copy(), jet_of[:count].copy(), step_of[:count].copy(), stands_for[:count].copy()
        room = count


def flights_of(surface: Surface, samples: Samples, jets: Jets, density_kg_m3: float, part: Integers) -> Flights:
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
    rise, cosine, pressure = np.zeros((3, count))
    compiled("describe_samples")(
        surface.centres + OFFSET_M * surface.normals,
        surface.normals,
        jets,
        density_kg_m3,
        samples.patch_of[part],
        samples.jet_of[part],
        samples.step_of[part],
        nozzle,
        launch,
        rise,
        cosine,
        pressure,
    )
    samples.cosine[part], samples.pressure_pa[part] = cosine, pressure
    return Flights(nozzle, launch, rise)


def bodies_in_way(flights: Flights, scene: RayScene, sampling: JetSampling) -> NDArray[np.int32]:
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
        [sample] number of the body met first, ``FREE`` where none is.
    """
    blocker = np.full(len(flights.rise), FREE, dtype=np.int32)
    # A chord of a parabola that falls by a rise over its whole way lies at most a quarter of that rise away from it.
    chords = np.maximum(1, np.ceil(np.sqrt(flights.rise / 4 / sampling.longest_sag_m))).astype(np.int64)
    for number in range(int(chords.max(initial=0))):
        which = np.flatnonzero((blocker == FREE) & (chords > number))
        origins, ways = np.empty((2, len(which), 3), dtype=np.float32)
        compiled("chord_ends")(*flights, chords, number, which, scene.middle_m, origins, ways)
        blocker[which] = scene.bodies_along(origins, ways)
    return blocker


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
