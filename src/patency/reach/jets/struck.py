"""What the jets strike of one piece, patch by patch and zone by zone."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import IntEnum
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.reach.jets.machine_code import compiled

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.reach.jets.free_jets import SteadyHits
    from patency.reach.jets.inputs import Surface
    from patency.reach.jets.samples import Samples
    from patency.reach.solids.mesh import Floats, Integers
    from patency.reach.solids.placed import PlacedSolid

_WORDS_LOOKED_AT = 6


class Wetting(IntEnum):
    """How water gets to a patch. Only the first and the last are struck; none of them says that it is clean."""

    STRUCK = 0
    """At least one jet of an arm strikes it directly, straight or through a wire wall."""
    RINSED = 1
    """It lies under a flushing sleeve that is open at its end: what runs out along the piece flows over it."""
    REFLECTED = 2
    """No jet strikes it; water that splashes off struck surfaces or walls of the chamber can get there."""
    SHELTERED = 3
    """No jet strikes it, and it sees nothing that is struck."""
    COVERED = 4
    """It lies under a flushing sleeve that is closed at its end."""
    INJECTED = 5
    """No jet of an arm strikes it; the free jet of an open port does, all the time."""


DIRECTLY = (Wetting.STRUCK, Wetting.INJECTED)
"""What counts as struck directly."""
NOT_STRUCK = (Wetting.SHELTERED, Wetting.REFLECTED)
"""What no jet strikes, and no flushing sleeve covers."""


def among(wetting: NDArray[np.int8], pair: tuple[Wetting, Wetting]) -> NDArray[np.bool_]:
    """Return which patches are of one of two classes.

    Parameters
    ----------
    wetting
        [patch] how water gets there, as ``Wetting``.
    pair
        The classes.

    Returns
    -------
    NDArray[np.bool_]
        [patch] whether it is of one of them.
    """
    of_them: NDArray[np.bool_] = (wetting == pair[0]) | (wetting == pair[1])
    return of_them


@dataclass(frozen=True, slots=True)
class ZoneStrikes:
    """What is struck of one zone of a piece.

    Parameters
    ----------
    name
        The zone in the piece's own words: ``inner jaw, left``.
    area_m2
        Its area [m²].
    struck_share
        Share of its area that jets strike directly.
    shadowed_by
        What stands most in the way of jets to the patches that are not struck, most first; ``itself`` for other parts
        of the same piece; empty where every patch is struck or no jet points there.
    """

    name: str
    area_m2: float
    struck_share: float
    shadowed_by: tuple[str, ...]


class Turns(NamedTuple):
    """How finely forces are told apart by the angles of the arms.

    Parameters
    ----------
    arm_of_jet
        [jet] number of its arm.
    arms
        How many arms there are.
    steps
        Angles in one turn.
    parts
        Parts of a turn in which forces are told apart.
    """

    arm_of_jet: Integers
    arms: int
    steps: int
    parts: int


class Told(NamedTuple):
    """What was told of a piece while there were samples.

    Parameters
    ----------
    zones
        Its zones.
    wrench
        Force and moment of the jets.
    """

    zones: tuple[ZoneStrikes, ...]
    wrench: Floats


@dataclass(frozen=True, eq=False)
class PieceStrikes:
    """What the jets strike of one piece, patch by patch.

    Parameters
    ----------
    surface
        Its patches; ``surface.patch_of`` is the number of each within the piece's mesh.
    wetting
        [patch] how water gets there, as ``Wetting``.
    hits_per_min
        [patch] how often jets of arms pass over it directly [1/min]; through a wire wall as the share that comes
        through.
    pressure_pa
        [patch] strongest impact pressure of a jet [Pa]; 0 where none strikes.
    least_incidence_deg, largest_incidence_deg
        [patch] range of the angle between such a jet and the patch's normal [°]; not a number where none strikes.
    arms
        [patch] which arms strike it: bit n for arm n.
    steady
        What free jets strike of it.
    body
        Number of its body.
    solids
        All bodies of the load, for their words; empty where all is told.
    samples
        Part by part of its patches, so that a move costs little; empty also where nothing can be moved any more.
    turns
        How finely forces are told apart.
    told
        What was told of it while there were samples.
    """

    surface: Surface
    wetting: NDArray[np.int8]
    hits_per_min: Floats
    pressure_pa: Floats
    least_incidence_deg: Floats
    largest_incidence_deg: Floats
    arms: NDArray[np.int64]
    steady: SteadyHits
    body: int
    solids: tuple[PlacedSolid, ...]
    samples: tuple[Samples, ...]
    turns: Turns
    told: Told | None = None

    @cached_property
    def struck_share(self) -> float:
        """Share of its surface that jets strike directly, what a flushing sleeve rinses left out of both parts."""
        rest = 1.0 - self.share(Wetting.RINSED)
        return sum(self.share(each) for each in DIRECTLY) / rest if rest > 0 else 0.0

    @cached_property
    def zones(self) -> tuple[ZoneStrikes, ...]:
        """Its zones in the order of its mesh, told when somebody asks: a move changes many that nobody looks at."""
        if self.told is not None:
            return self.told.zones
        solid, wetting, areas_m2 = self.solids[self.body], self.wetting, self.surface.areas_m2
        zone_of = solid.zone_of_patch[self.surface.patch_of]
        counts = np.zeros((len(solid.zone_names), len(self.solids)), dtype=np.int64)
        missed = among(wetting, NOT_STRUCK)
        for part in self.samples:
            compiled("count_in_way")(part.patch_of, part.stands_for, part.blocker, missed, zone_of, counts)
        areas, direct = np.bincount(zone_of, areas_m2, len(counts)), among(wetting, DIRECTLY)
        struck = np.bincount(zone_of[direct], areas_m2[direct], len(counts))
        return tuple(
            ZoneStrikes(solid.zone_names[zone], float(areas[zone]), float(struck[zone] / areas[zone]), self._by(count))
            for zone, count in enumerate(counts)
            if areas[zone] > 0
        )

    def _by(self, counts: NDArray[np.int64]) -> tuple[str, ...]:
        """Return the words of what stands most in the way, by the counts of each body."""
        stand = np.flatnonzero(counts)
        order = stand[np.argsort(-counts[stand], kind="stable")][:_WORDS_LOOKED_AT]
        words = ["itself" if body == self.body else self.solids[body].words_and_place for body in order]
        return tuple(dict.fromkeys(words))[:2]

    @cached_property
    def wrench(self) -> Floats:
        """[arm, part of a turn, 6] force of the jets of each arm [N] and its moment about the origin [N m]."""
        if self.told is not None:
            return self.told.wrench
        wrench = np.zeros((self.turns.arms, self.turns.parts, 6))
        surroundings = (self.turns.arm_of_jet, self.surface.areas_m2, self.surface.centres, self.surface.normals)
        for part in self.samples:
            numbers = (part.patch_of, part.jet_of, part.step_of, part.stands_for, part.blocker)
            rest = (*surroundings, self.turns.steps, wrench)
            compiled("sum_forces")(*numbers, part.pressure_pa, part.share, *rest)
        return wrench

    @property
    def push_n(self) -> float:
        """Largest force with which jets can push it, each arm at its worst angle, with all free jets [N]."""
        # Arms turn by themselves, so each counts at its own worst angle.
        turning, steady = np.linalg.norm(self.wrench[:, :, :3], axis=2), self.steady.force_n.sum(axis=1)
        return float(turning.max(axis=1, initial=0.0).sum() + np.linalg.norm(steady, axis=1).sum())

    @property
    def lift_n(self) -> float:
        """Largest force with which they can lift it [N]."""
        steady = np.maximum(self.steady.force_n.sum(axis=1)[:, 2], 0.0)
        return float(self.wrench[:, :, 2].max(axis=1, initial=0.0).sum() + steady.sum())

    def without_samples(self) -> PieceStrikes:
        """Return the same without samples, which are nearly all of its memory.

        Returns
        -------
        PieceStrikes
            To be read only.
        """
        return replace(self, solids=(), samples=(), told=Told(self.zones, self.wrench))

    def share(self, wetting: Wetting) -> float:
        """Return the share of the piece's surface in one class.

        Parameters
        ----------
        wetting
            The class.

        Returns
        -------
        float
            Area of its patches over that of all patches.
        """
        areas = self.surface.areas_m2
        return float(areas[self.wetting == wetting].sum() / areas.sum())
