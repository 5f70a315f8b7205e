"""Samples of the jets: patch, jet and angle, and what stands between them."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from patency.reach.jets.casting import OFFSET_M, RayScene
from patency.reach.jets.inputs import walls_of
from patency.reach.jets.machine_code import compiled

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from numpy.typing import NDArray

    from patency.reach.arms import Arms
    from patency.reach.jets.inputs import JetSampling, Surface
    from patency.reach.jets.kernels import Jets, Walls
    from patency.reach.solids.mesh import Floats, Integers
    from patency.reach.solids.placed import Arranged

_Found = tuple["NDArray[Any]", ...]
_TYPES = (np.int32, np.int16, np.int32, np.int16)  # of patch, jet, angle and for how many angles it stands

FREE = -1
"""Nothing stands in the way."""
_FIRST_LOOK, SECOND_LOOK, _BETWEEN = range(3)
_BESIDE = -2  # in place of a body: there the patch lies beside the jet's cone or looks away
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
    look
        [sample] with which look it was found.
    looks
        [patch] how often each was looked at anew at finer angles.
    """

    patch_of: NDArray[np.int32]
    jet_of: NDArray[np.int16]
    step_of: NDArray[np.int32]
    stands_for: NDArray[np.int16]
    cosine: NDArray[np.float32]
    pressure_pa: NDArray[np.float32]
    blocker: NDArray[np.int32]
    share: NDArray[np.float32]
    look: NDArray[np.int8]
    looks: NDArray[np.int8]

    def columns(self) -> tuple[NDArray[Any], ...]:
        """Return the arrays of which it is made."""
        return tuple(getattr(self, field.name) for field in fields(self))


_COLUMNS = tuple(field.name for field in fields(Samples) if field.name != "looks")


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
        Patch by patch, jet by jet, in the order of the angle; behind them those of second looks, in the same order, and
        those between. Patches that are not asked for count as done.
    """
    asked = np.arange(len(surface.centres)) if patches is None else patches
    found = _cast(surface, _found(surface, water[1], asked, _FIRST_LOOK, water[2]), arranged, scene, water, _FIRST_LOOK)
    found.looks[:] = _BETWEEN
    found.looks[asked] = _FIRST_LOOK
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
    return Samples(**columns, looks=np.minimum.reduce([one.looks for one in parts]))


def with_finer(
    surface: Surface, samples: Samples, arranged: Arranged, scene: RayScene, water: tuple[Arms, Jets, JetSampling]
) -> Samples:
    """Look at finer angles, once more and then between them, for those patches that nothing strikes.

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

    def cast(found: _Found, look: int) -> Samples:
        return _cast(surface, found, arranged, scene, water, look)

    missed = _missed(samples) & (samples.looks < SECOND_LOOK)
    if missed.any():
        found = _found(surface, water[1], np.flatnonzero(missed), SECOND_LOOK, water[2])
        samples = _anew(samples, missed, [cast(found, SECOND_LOOK)], SECOND_LOOK)
    missed = _missed(samples) & (samples.looks < _BETWEEN)
    if missed.any():
        samples = _anew(samples, missed, list(_halved(surface, samples, missed, water[1], cast)), _BETWEEN)
    return samples


def _missed(samples: Samples) -> NDArray[np.bool_]:
    """Return which patches nothing strikes."""
    missed = np.ones(len(samples.looks), dtype=np.bool_)
    missed[samples.patch_of[samples.share > 0]] = False
    return missed


def _anew(samples: Samples, patches: NDArray[np.bool_], more: Sequence[Samples], look: int) -> Samples:
    """Return the samples with those that a look found of some patches, in place of what it replaces of them."""
    replaced = samples.look < look if look == SECOND_LOOK else samples.look == look
    stays = ~(replaced & patches[samples.patch_of])
    columns = {name: [getattr(samples, name)[stays], *(getattr(one, name) for one in more)] for name in _COLUMNS}
    joined = {name: np.concatenate(parts) for name, parts in columns.items()}
    return Samples(**joined, looks=np.where(patches, np.int8(look), samples.looks))


class _Gaps(NamedTuple):
    """Stretches of an arm's turn at whose two ends different things keep a jet off a patch: something can open between.

    Parameters
    ----------
    patch, jet, step
        [gap] patch, jet and the angle at which it begins.
    wide
        [gap] how many angles it is wide.
    before, behind
        [gap] what keeps the jet off at its two ends: number of a body, or ``_BESIDE``.
    """

    patch: Integers
    jet: Integers
    step: Integers
    wide: Integers
    before: Integers
    behind: Integers

    def where(self, kept: NDArray[np.bool_]) -> _Gaps:
        """Return some of them."""
        return _Gaps(*(column[kept] for column in self))


def _halved(
    surface: Surface,
    samples: Samples,
    patches: NDArray[np.bool_],
    jets: Jets,
    cast: Callable[[_Found, int], Samples],
) -> Iterator[Samples]:
    """Look between two angles of the second look, again and again in the middle, where something can open there."""
    steps = jets.nozzle.shape[1]
    missed = patches.copy()
    gaps = _gaps_of(samples, patches, steps)
    while len(gaps.wide):
        half = gaps.wide // 2
        middle = (gaps.step + half) % steps
        met = np.empty(len(middle), dtype=np.bool_)
        compiled("meet_samples")(surface.centres, surface.normals, jets, gaps.patch, gaps.jet, middle, met)
        columns = zip((gaps.patch, gaps.jet, middle, half), _TYPES, strict=True)
        found = cast(tuple(column[met].astype(kind) for column, kind in columns), _BETWEEN)
        yield found
        missed[found.patch_of[found.share > 0]] = False
        there = np.full(len(middle), _BESIDE)
        there[met] = found.blocker
        first = _Gaps(gaps.patch, gaps.jet, gaps.step, half, gaps.before, there)
        second = _Gaps(gaps.patch, gaps.jet, middle, half, there, gaps.behind)
        gaps = _worth_halving(_Gaps(*map(np.concatenate, zip(first, second, strict=True))), missed)


def _worth_halving(gaps: _Gaps, missed: NDArray[np.bool_]) -> _Gaps:
    return gaps.where((gaps.wide > 1) & (gaps.before != gaps.behind) & missed[gaps.patch])


def _gaps_of(samples: Samples, patches: NDArray[np.bool_], steps: int) -> _Gaps:
    """Return the gaps between samples of a second look, and where the jet begins and ends to meet a patch."""
    rows = np.flatnonzero(patches[samples.patch_of] & (samples.look == SECOND_LOOK))
    patch, jet, step, wide, body = (
        column[rows].astype(np.int64)
        for column in (samples.patch_of, samples.jet_of, samples.step_of, samples.stands_for, samples.blocker)
    )
    apart = (np.diff(patch) != 0) | (np.diff(jet) != 0) | (np.diff(step) % steps != wide[:-1])
    first, last = np.append(True, apart)[: len(rows)], np.append(apart, True)[: len(rows)]
    beside = np.full(len(rows), _BESIDE)
    begins = _Gaps(patch, jet, step - wide, wide, beside, body).where(first)
    ends = _Gaps(patch, jet, step, wide, body, beside).where(last)
    between = _Gaps(patch, jet, step, wide, body, np.append(body[1:], _BESIDE)[: len(rows)]).where(~last)
    return _worth_halving(_Gaps(*map(np.concatenate, zip(begins, between, ends, strict=True))), patches)


def _cast(
    surface: Surface,
    found: _Found,
    arranged: Arranged,
    scene: RayScene,
    water: tuple[Arms, Jets, JetSampling],
    look: int,
) -> Samples:
    """Find what stands in the way of new samples."""
    arms, jets, sampling = water
    count = len(found[0])
    cosine, pressure, share = (np.zeros(count, dtype=np.float32) for _ in range(3))
    blocker, looked = np.full(count, FREE, dtype=np.int32), np.full(count, look, dtype=np.int8)
    looks = np.full(len(surface.centres), look, dtype=np.int8)
    patch_of, jet_of, step_of, stands_for = found
    samples = Samples(patch_of, jet_of, step_of, stands_for, cosine, pressure, blocker, share, looked, looks)
    walls = walls_of(arranged.screens)
    for start in range(0, count, _PART):
        part = np.arange(start, min(start + _PART, count))
        flights = flights_of(surface, samples, jets, arms.water_density_kg_m3, part)
        blocker[part] = bodies_in_way(flights, scene, sampling)
        share[part] = shares_through(flights, walls, blocker[part] == FREE)
    return samples


def _found(surface: Surface, jets: Jets, patches: Integers, look: int, sampling: JetSampling) -> _Found:
    room = len(patches) * _SAMPLES_PER_PATCH
    while True:
        columns = tuple(np.empty(room, dtype=kind) for kind in _TYPES)
        count = compiled("find_samples")(
            surface.centres, surface.normals, jets, patches, look, sampling.finer, *columns
        )
        if count <= room:
            return tuple(column[:count].copy() for column in columns)
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
