"""What the jets strike of every piece of a load, and what changes when one piece is moved."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from patency.reach.jets.after import Mover, samples_after
from patency.reach.jets.casting import OFFSET_M, RayScene
from patency.reach.jets.free_jets import lies_in_a_jet, steady_hits
from patency.reach.jets.inputs import JetSampling, Surface, jets_of, surface_of, walls_of
from patency.reach.jets.looking import Obstacles, samples_of
from patency.reach.jets.machine_code import compiled, cores
from patency.reach.jets.struck import DIRECTLY, NOT_STRUCK, PieceStrikes, Turns, Wetting, among
from patency.reach.solids.placed import Cover

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Mapping, Sequence

    from numpy.typing import NDArray

    from patency.reach.arms import Arms
    from patency.reach.jets.kernels import Jets
    from patency.reach.jets.samples import Samples
    from patency.reach.solids.mesh import Floats, Integers
    from patency.reach.solids.placed import Arranged, PieceKey, Pose

J = TypeVar("J")
_Part = tuple["PieceKey", int]  # a piece and which part of its patches
T = TypeVar("T")
_PART_OF_LOAD = 600
_PART_OF_MOVER = 500  # so that all cores look from a piece that moves
_GROUPS = 16  # of parts of pieces that stay, worked on together
_PARTS_OF_STEP = 4  # of a step of the arm: how finely forces and moments are told apart
_LOOK_AROUND_M = 2.0  # farther than any wall of a chamber


@dataclass(frozen=True, eq=False)
class Strikes:
    """What the jets strike of every piece of a load.

    Parameters
    ----------
    arranged
        The load as solids.
    arms
        The arms and free jets.
    sampling
        How finely it was computed.
    pieces
        Each piece that could be drawn.
    scene
        All bodies.
    """

    arranged: Arranged
    arms: Arms
    sampling: JetSampling
    pieces: Mapping[PieceKey, PieceStrikes]
    scene: RayScene

    @property
    def struck_share(self) -> float:
        """Share of the surface of all pieces that jets strike directly."""
        areas = [one.surface.areas_m2.sum() for one in self.pieces.values()]
        shares = [sum(one.share(each) for each in DIRECTLY) for one in self.pieces.values()]
        return float(np.dot(areas, shares) / sum(areas))

    def without_samples(self) -> Strikes:
        """Return the same without samples, which are nearly all of its memory.

        Returns
        -------
        Strikes
            No piece can be moved in it.
        """
        return replace(self, pieces={key: one.without_samples() for key, one in self.pieces.items()})


def strikes_of_load(arranged: Arranged, arms: Arms, sampling: JetSampling | None = None) -> Strikes:
    """Compute what the jets of turning arms strike of every piece of a load.

    From the nozzle of every jet at every sampled angle of its arm the flight to every patch is followed, a parabola
    without air drag; a patch is struck where it lies in the jet's cone, looks toward the jet, and no body stands in
    the way. Wire walls let the share of their open area through, seen at the jet's slant.

    Parameters
    ----------
    arranged
        The load as solids.
    arms
        The arms.
    sampling
        How finely; the default where left out.

    Returns
    -------
    Strikes
        Of every piece that could be drawn. Arms cast no shadow here: they
        turn by themselves, so that none hides a patch for good.
    """
    sampling = sampling or JetSampling()
    scene = RayScene(_bodies(arranged))
    surfaces = {key: surface_of(arranged, [number]) for key, number in arranged.number_of.items()}
    water = (arms, jets_of(arms, sampling), sampling)
    samples = _samples_of_all(surfaces, Obstacles(scene, walls_of(arranged.screens)), water, _PART_OF_LOAD)
    return _summed(Strikes(arranged, arms, sampling, {}, scene), surfaces, samples)


def strikes_after_move(strikes: Strikes, piece: PieceKey, pose: Pose) -> Strikes:
    """Compute what the jets strike after one piece was moved; only what it shadows or shadowed is computed anew.

    Parameters
    ----------
    strikes
        What they strike before.
    piece
        The piece that moves.
    pose
        Where it goes; what it was connected to stays.

    Returns
    -------
    Strikes
        The same as of the whole load with the piece there. Which patches splashes reach is computed anew only of pieces
        of which other patches are struck than before.

    Raises
    ------
    KeyError
        When there is no such piece, or it could not be drawn.
    ValueError
        When samples are no longer kept.
    """
    if any(one.told is not None for one in strikes.pieces.values()):
        raise ValueError("no piece can be moved where samples are no longer kept")
    arranged = strikes.arranged.with_pose(piece, pose)
    number = arranged.number_of[piece]
    after = replace(strikes, arranged=arranged, scene=strikes.scene.with_bodies(_bodies(arranged)))
    surfaces = {piece: surface_of(arranged, [number])}
    others = {key: one.surface for key, one in strikes.pieces.items() if key != piece}
    surfaces |= {key: one for key, one in others.items() if lies_in_a_jet(one, strikes.arms.free)}
    water = (strikes.arms, jets_of(strikes.arms, strikes.sampling), strikes.sampling)
    mover = Mover(number, arranged.solids[number], after.scene.of_body(number))

    obstacles = Obstacles(after.scene, walls_of(arranged.screens))
    anew = _parts(surfaces[piece], _PART_OF_MOVER)
    kept = [(key, part) for key in others for part in range(len(strikes.pieces[key].samples))]

    def of_mover(part: int) -> dict[_Part, Samples]:
        return {(piece, part): samples_of(surfaces[piece], obstacles, water, np.array(anew[part]))}

    def of_others(some: Sequence[_Part]) -> dict[_Part, Samples]:
        known = [(others[key], strikes.pieces[key].samples[part]) for key, part in some]
        found = zip(some, samples_after(known, mover, obstacles, water), strict=True)
        return {part: samples for part, samples in found if samples is not None}

    jobs: list[Callable[[], dict[_Part, Samples]]] = [partial(of_mover, part) for part in range(len(anew))]
    jobs += [partial(of_others, kept[first::_GROUPS]) for first in range(_GROUPS)]
    changed = {part: one for found in _each(jobs, lambda job: job()).values() for part, one in found.items()}
    surfaces |= {key: others[key] for key, _ in changed if key != piece}
    samples = {piece: tuple(changed[piece, part] for part in range(len(anew)))}
    for key in surfaces.keys() - samples:
        samples[key] = tuple(changed.get((key, part), one) for part, one in enumerate(strikes.pieces[key].samples))
    return _summed(after, surfaces, samples, stay=others)


def splashed_anew(strikes: Strikes) -> Strikes:
    """Tell anew of every piece which patches splashes reach, after several moves.

    Parameters
    ----------
    strikes
        What the jets strike, computed move by move.

    Returns
    -------
    Strikes
        The same as of the whole load.
    """
    struck = _struck_patches(strikes)
    pieces = {key: replace(one, wetting=one.wetting.copy()) for key, one in strikes.pieces.items()}
    whole = replace(strikes, pieces=pieces)
    _each(pieces, lambda key: _tell_splashes(whole, pieces[key], struck))
    return whole


def struck_of_one(strikes: Strikes, arranged: Arranged, piece: PieceKey) -> float:
    """Compute only which share of one piece the jets strike, in a load that is arranged otherwise.

    Parameters
    ----------
    strikes
        Arms and sampling.
    arranged
        The load.
    piece
        The piece.

    Returns
    -------
    float
        Share of its surface struck directly, what a flushing sleeve rinses left out of both.

    Raises
    ------
    KeyError
        When there is no such piece, or it could not be drawn.
    """
    surface = surface_of(arranged, [arranged.number_of[piece]])
    water = (strikes.arms, jets_of(strikes.arms, strikes.sampling), strikes.sampling)
    there = replace(strikes, arranged=arranged, scene=strikes.scene.with_bodies(_bodies(arranged)))
    obstacles = Obstacles(there.scene, walls_of(arranged.screens))
    samples = _samples_of_all({piece: surface}, obstacles, water, _PART_OF_MOVER)
    return _of_piece(there, piece, surface, samples[piece], _turns(there)).struck_share


def _samples_of_all(
    surfaces: Mapping[PieceKey, Surface], obstacles: Obstacles, water: tuple[Arms, Jets, JetSampling], most: int
) -> dict[PieceKey, tuple[Samples, ...]]:
    parts = {key: _parts(surface, most) for key, surface in surfaces.items()}
    jobs = [(key, part) for key, several in parts.items() for part in several]
    found = _each(jobs, lambda job: samples_of(surfaces[job[0]], obstacles, water, np.array(job[1])))
    return {key: tuple(found[key, part] for part in several) for key, several in parts.items()}


def _parts(surface: Surface, most: int) -> list[range]:
    """Return the patches of a surface in parts of at most so many."""
    count = len(surface.areas_m2)
    return [range(first, min(first + most, count)) for first in range(0, count, most)]


def _bodies(arranged: Arranged) -> list[tuple[Floats, Integers]]:
    return [(one.in_carrier.vertices, one.in_carrier.faces) for one in arranged.solids]


def _summed(
    strikes: Strikes,
    surfaces: Mapping[PieceKey, Surface],
    samples: Mapping[PieceKey, tuple[Samples, ...]],
    stay: Collection[PieceKey] = (),
) -> Strikes:
    """Sum the samples of some pieces up, then tell apart what splashes reach of them.

    Pieces that stay keep what splashes reach of them as long as the same patches are struck as before.
    """
    turns = _turns(strikes)
    before, pieces = strikes.pieces, dict(strikes.pieces)
    pieces |= _each(surfaces, lambda key: _of_piece(strikes, key, surfaces[key], samples[key], turns))
    whole = replace(strikes, pieces=pieces)
    struck = _struck_patches(whole)

    def splash(key: PieceKey) -> None:
        one, dry = pieces[key], among(pieces[key].wetting, NOT_STRUCK)
        if key in stay and (dry == among(before[key].wetting, NOT_STRUCK)).all():
            one.wetting[dry] = before[key].wetting[dry]
        else:
            _tell_splashes(whole, one, struck)

    _each(surfaces, splash)
    return whole


def _each(jobs: Collection[J], do: Callable[[J], T]) -> dict[J, T]:
    """Do every job, on as many threads as there are cores; none hangs on another."""
    with ThreadPoolExecutor(cores()) as pool:
        return dict(zip(jobs, pool.map(do, jobs), strict=True))


def _of_piece(
    strikes: Strikes, key: PieceKey, surface: Surface, parts: tuple[Samples, ...], turns: Turns
) -> PieceStrikes:
    count = len(surface.areas_m2)
    pressure, steepest, hits = np.zeros((3, count))
    flattest, arms = np.full(count, np.inf), np.zeros(count, dtype=np.int64)
    best = np.zeros((count, len(turns.arm_of_jet)), dtype=np.float32)
    rpm = np.array([arm.rotation_rpm for arm in strikes.arms.arms])[turns.arm_of_jet]
    sums = (pressure, steepest, flattest, hits, arms, best)
    for part in parts:
        numbers = (part.patch_of, part.jet_of, part.blocker)
        compiled("sum_samples")(*numbers, part.cosine, part.pressure_pa, part.share, turns.arm_of_jet, rpm, *sums)
    struck = pressure > 0
    least, largest = (np.where(struck, np.degrees(np.arccos(np.minimum(c, 1.0))), np.nan) for c in (steepest, flattest))
    water = (strikes.arms.water_density_kg_m3, strikes.sampling)
    steady = steady_hits(surface, strikes.arms.free, strikes.arranged, strikes.scene, *water)
    unstruck = np.where(steady.struck, Wetting.INJECTED, Wetting.SHELTERED)
    wetting = np.where(struck, Wetting.STRUCK, unstruck).astype(np.int8)
    _tell_covered(strikes.arranged, key, surface, wetting)
    pressure = np.maximum(pressure, steady.pressure_pa)
    least, largest = np.fmin(least, steady.least_incidence_deg), np.fmax(largest, steady.largest_incidence_deg)
    found = (surface, wetting, hits, pressure, least, largest, arms, steady)
    return PieceStrikes(*found, strikes.arranged.number_of[key], strikes.arranged.solids, parts, turns)


def _turns(strikes: Strikes) -> Turns:
    sampling = strikes.sampling
    parts = sampling.angle_steps * min(sampling.finer, _PARTS_OF_STEP)
    return Turns(jets_of(strikes.arms, sampling).arm, len(strikes.arms.arms), sampling.all_steps, parts)


def _tell_covered(arranged: Arranged, key: PieceKey, surface: Surface, wetting: NDArray[np.int8]) -> None:
    """Mark what lies under a flushing sleeve: no jet gets there, and what flows there is another thing."""
    for one in arranged.covers_of.get(key, ()):
        own = (surface.centres - one.pose.shift_m) @ one.pose.turn
        low, high = one.mesh.bounds_m
        within = (own[:, 2] > low[2]) & (own[:, 2] < high[2]) & (np.hypot(own[:, 0], own[:, 1]) < high[0])
        wetting[within] = Wetting.RINSED if one.cover is Cover.OPEN else Wetting.COVERED


def _struck_patches(strikes: Strikes) -> dict[int, NDArray[np.bool_]]:
    """Return for each body which patches of its mesh are struck; parts that are not pieces count as not struck."""
    struck = {}
    for number, solid in enumerate(strikes.arranged.solids):
        struck[number] = np.zeros(len(solid.mesh.zone_of), dtype=np.bool_)
    for key, one in strikes.pieces.items():
        number = strikes.arranged.number_of[key]
        struck[number][one.surface.patch_of] = among(one.wetting, DIRECTLY)
    return struck


def _tell_splashes(strikes: Strikes, one: PieceStrikes, struck: Mapping[int, NDArray[np.bool_]]) -> None:
    """Let patches that are not struck look around: what sees a struck patch or a wall can be splashed."""
    dry = np.flatnonzero(among(one.wetting, NOT_STRUCK))
    count = strikes.sampling.reflection_rays
    origins, ways = np.empty((2, len(dry) * count, 3), dtype=np.float32)
    around = (_directions(count), _LOOK_AROUND_M, OFFSET_M, strikes.scene.middle_m)
    compiled("look_around")(one.surface.centres, one.surface.normals, dry, *around, origins, ways)
    faces = strikes.scene.faces_along(origins, ways)
    wet = faces < 0  # nothing but the walls of the chamber
    met = np.flatnonzero(faces >= 0)
    bodies, within = strikes.scene.body_of_face[faces[met]], strikes.scene.face_within_body(faces[met])
    for body in np.unique(bodies):
        rows = bodies == body
        patches = strikes.arranged.solids[body].mesh.patch_of[within[rows]]
        wet[met[rows]] = struck[int(body)][patches]
    splashed = wet.reshape(len(dry), count).any(axis=1)
    one.wetting[dry] = np.where(splashed, Wetting.REFLECTED, Wetting.SHELTERED)


def _directions(count: int) -> Floats:
    """Return directions spread evenly over a sphere (a Fibonacci lattice)."""
    number = np.arange(count) + 0.5
    height = 1.0 - 2.0 * number / count
    turn = np.pi * (1.0 + 5**0.5) * number
    out = np.sqrt(1.0 - height**2)
    return np.stack([out * np.cos(turn), out * np.sin(turn), height], axis=1)
