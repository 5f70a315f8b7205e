"""What the jets' computation takes, as arrays: patches of bodies, jets at every angle, wire walls."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.reach.jets.kernels import Jets, Walls

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.reach.arms import Arms
    from patency.reach.solids.mesh import Floats, Integers
    from patency.reach.solids.placed import Arranged, Screen

_GOLDEN = (5**0.5 - 1) / 2


@dataclass(frozen=True, slots=True)
class JetSampling:
    """How finely the jets are sampled.

    Parameters
    ----------
    angle_steps
        Angles of an arm in one turn at which every patch is looked at, at least; more where a jet passes in less than
        three of them.
    finer
        How many times as many angles tell apart what happens between those; a power of two. A patch that nothing
        strikes at the first angles is looked at from 64 times as many, and then between two of them, halved down to
        these, wherever another body stands in the way than before or the jet begins or ends to meet the patch.
    reflection_rays
        Directions in which a patch that is not struck looks around for water that splashes.
    longest_sag_m
        How far the chords along which rays are cast may lie from a jet's parabola [m].
    """

    angle_steps: int = 24
    finer: int = 128
    reflection_rays: int = 48
    longest_sag_m: float = 0.001

    @property
    def all_steps(self) -> int:
        """Angles in one turn, the finer ones included."""
        return self.angle_steps * self.finer


class Surface(NamedTuple):
    """Patches of several bodies in a row, in the carrier's axes.

    Parameters
    ----------
    centres, normals
        [patch, 3] centre [m] and outward unit normal.
    areas_m2
        [patch] area [m²].
    body_of
        [patch] number of the body.
    patch_of
        [patch] number within the body.
    """

    centres: Floats
    normals: Floats
    areas_m2: Floats
    body_of: Integers
    patch_of: Integers


def surface_of(arranged: Arranged, bodies: Sequence[int]) -> Surface:
    """Gather the surface patches of bodies.

    Parameters
    ----------
    arranged
        The load.
    bodies
        Numbers of the bodies.

    Returns
    -------
    Surface
        Their patches in order, openings of lumens left out.
    """
    parts: list[tuple[Floats, Floats, Floats, Integers, Integers]] = []
    for number in bodies:
        mesh = arranged.solids[number].in_carrier
        kept = np.flatnonzero(mesh.is_surface)
        body = np.full(len(kept), number)
        parts.append((mesh.patch_centres[kept], mesh.patch_normals[kept], mesh.patch_areas_m2[kept], body, kept))
    if not parts:
        empty = np.zeros(0)
        return Surface(np.zeros((0, 3)), np.zeros((0, 3)), empty, empty.astype(np.int64), empty.astype(np.int64))
    return Surface(*(np.concatenate(columns) for columns in zip(*parts, strict=True)))


@lru_cache(maxsize=2)  # of megabytes; every move asks for them
def jets_of(arms: Arms, sampling: JetSampling) -> Jets:
    """Put the jets of all arms into arrays, arm by arm.

    Parameters
    ----------
    arms
        The arms.
    sampling
        At how many angles; each jet begins at another share of a step, so that together they look between the steps.

    Returns
    -------
    Jets
        All jets.
    """
    pairs = [(number, arm, jet) for number, arm in enumerate(arms.arms) for jet in arm.jets]
    steps = sampling.all_steps
    begins = np.arange(len(pairs)) * _GOLDEN % 1.0
    angle = 2 * np.pi * (np.arange(steps)[None, :] + begins[:, None]) / steps
    centre = np.array([arm.centre_m for _, arm, _ in pairs], dtype=float).reshape(-1, 1, 3)
    from_axis = np.array([jet.from_axis_m for _, _, jet in pairs], dtype=float)
    direction = np.array([jet.direction for _, _, jet in pairs], dtype=float).reshape(-1, 3)
    x, y, z = direction.T[:, :, None]
    spread = np.array([jet.half_spread_rad for _, _, jet in pairs], dtype=float)
    cosine, sine = np.cos(angle), np.sin(angle)
    out = np.stack([cosine, sine, np.zeros_like(angle)], axis=2)
    toward = np.stack([x * cosine - y * sine, x * sine + y * cosine, np.broadcast_to(z, angle.shape)], axis=2)
    return Jets(
        centre + from_axis[:, None, None] * out,
        toward,
        np.ascontiguousarray(angle[:, 0]),
        direction,
        np.ascontiguousarray(centre[:, 0, :]),
        from_axis,
        np.cos(spread),
        np.sin(spread),
        np.array([jet.outlet_m / 2 for _, _, jet in pairs], dtype=float),
        np.array([jet.speed_m_s for _, _, jet in pairs], dtype=float),
        np.array([jet.flow_m3_s for _, _, jet in pairs], dtype=float),
        np.array([number for number, _, _ in pairs], dtype=np.int64),
        np.array([max(abs(one.from_axis_m) for one in arm.jets) for _, arm, _ in pairs], dtype=float),
        np.array([min(one.speed_m_s for one in arm.jets) for _, arm, _ in pairs], dtype=float),
    )


def walls_of(screens: Sequence[Screen]) -> Walls:
    """Put wire walls into arrays.

    Parameters
    ----------
    screens
        The walls.

    Returns
    -------
    Walls
        With their unit vectors.
    """
    edges = np.array([(one.along_m, one.across_m) for one in screens], dtype=float).reshape(-1, 2, 3)
    length = np.linalg.norm(edges, axis=2)
    along, across = (edges / length[:, :, None]).transpose(1, 0, 2)
    normal = np.cross(along, across)
    at = np.array([one.corner_m for one in screens], dtype=float).reshape(-1, 3)
    corner = np.stack([(at * axis).sum(axis=1) for axis in (normal, along, across)], axis=1)
    covered = np.array([one.wire_m / one.pitch_m for one in screens], dtype=float)
    return Walls(normal, np.ascontiguousarray(along), np.ascontiguousarray(across), corner, length, covered)
