"""Draw what is not known of a load: every size, loss and friction within its doubt, the same draw in every stage.

What has a tolerance is drawn evenly within it, as nothing more is known. The roughness is drawn evenly in its
logarithm between the site's factor below and above. Between Reynolds 2000 and 4000 the friction is drawn evenly between
laminar and turbulent, for each path by itself. Where in its tube a rod lies is drawn evenly between the middle and the
wall: laminar flow in a narrow gap passes 1 + 1.5 e² times that of the centred rod (handbook limit, from memory, not
verified; wider gaps gain less).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.flow.compiled_network import Geometry
from patency.flow.segment_tables import many_friction_factors
from patency.flow.uncertainty import Side, Source, changes_within_doubts, least_gaps

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.flow.from_load import LoadNetwork
    from patency.flow.stage_solution import StageSolution
    from patency.flow.uncertainty import Change

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]

_GAIN = 1.5  # of the square of a rod's eccentricity


class Draws:
    """Random numbers for the samples, one row for each thing that is not known.

    Parameters
    ----------
    chance
        Where they come from.
    samples
        How many samples.
    """

    def __init__(self, chance: np.random.Generator, samples: int) -> None:
        self._chance = chance
        self.samples = samples
        self._drawn: dict[str, Floats] = {}

    def of(self, what: str) -> Floats:
        """Hand out the numbers of one thing, the same each time.

        Parameters
        ----------
        what
            The thing.

        Returns
        -------
        NDArray
            Shape (samples,): evenly between -1 and 1.
        """
        if what not in self._drawn:
            self._drawn[what] = self._chance.uniform(-1.0, 1.0, self.samples)
        return self._drawn[what]


class SizeDoubts:
    """What is not known of a load and is the same in every stage, ready to be drawn.

    Parameters
    ----------
    load_network
        The load's network.
    solution
        One of its stages solved at nominal sizes.
    """

    def __init__(self, load_network: LoadNetwork, solution: StageSolution) -> None:
        self._roughness_factor = load_network.roughness_factor
        changes = changes_within_doubts(load_network, solution)
        self._moved = [change for change in changes if change.side is Side.BOTH]
        nominal = self._nominal = solution.compiled.geometry
        self._opening = nominal.discharge_coefficient > 0.0
        self._diameter = np.array([change.geometry.diameter_m - nominal.diameter_m for change in self._moved])
        self._rod = np.array([change.geometry.rod_diameter_m - nominal.rod_diameter_m for change in self._moved])
        self._loss = np.array([change.geometry.minor_loss - nominal.minor_loss for change in self._moved])
        self._openings = np.array([self._of_openings(change.geometry) for change in self._moved])
        self._openings -= self._of_openings(nominal)
        self._pump = np.array([change.pump_head_factor - 1.0 for change in self._moved])

    def _of_openings(self, geometry: Geometry) -> Floats:
        """Losses 1/C² of openings; 1 for the others."""
        return np.where(self._opening, geometry.discharge_coefficient, 1.0) ** -2

    def draw(self, draws: Draws, rows: slice) -> tuple[Geometry, Floats]:
        """Make the sizes of some of the samples.

        Parameters
        ----------
        draws
            The random numbers.
        rows
            Which samples.

        Returns
        -------
        tuple[Geometry, NDArray]
            Shape (samples, segments) each, of the losses how far they are moved; shape (samples,), the factor on the
            pump's head [-].
        """
        nominal = self._nominal
        far = np.column_stack([draws.of(change.what)[rows] for change in self._moved])
        rod = nominal.rod_diameter_m + far @ self._rod
        least = rod + least_gaps(nominal)
        diameter = np.maximum(nominal.diameter_m + far @ self._diameter, least)
        rougher = self._roughness_factor ** draws.of("roughness")[rows, np.newaxis]
        openings = self._of_openings(nominal) + far @ self._openings
        sizes = Geometry(
            diameter_m=diameter,
            rod_diameter_m=rod,
            length_m=nominal.length_m,
            roughness_m=np.minimum(nominal.roughness_m * rougher, 0.49 * (diameter - rod)),
            minor_loss=far @ self._loss,
            discharge_coefficient=np.where(self._opening, openings**-0.5, 0.0),
        )
        return sizes, 1.0 + far @ self._pump


class FrictionDoubts:
    """What is not known of the friction in one stage, ready to be drawn.

    Parameters
    ----------
    load_network
        The load's network.
    solution
        The stage solved at nominal sizes.
    """

    def __init__(self, load_network: LoadNetwork, solution: StageSolution) -> None:
        self._solution = solution
        changes = list(changes_within_doubts(load_network, solution))
        self._regimes = _pairs([change for change in changes if change.source is Source.REGIME])
        self._rods = [change for change in changes if change.source is Source.ROD]

    def draw(self, draws: Draws, rows: slice, sizes: Geometry) -> tuple[Geometry, Floats]:
        """Put the stage's friction and losses into samples.

        Parameters
        ----------
        draws
            The random numbers.
        rows
            Which samples.
        sizes
            Their sizes.

        Returns
        -------
        tuple[Geometry, NDArray]
            The sizes in this stage, lengths with other friction; the factor they carry [-]; shape (samples, segments).
        """
        compiled = self._solution.compiled
        reynolds, roughness = self._solution.equivalent_reynolds, compiled.chains.roughness
        count = sizes.diameter_m.shape[0]
        friction = np.ones((count, reynolds.size))
        for what, touched, laminar, turbulent in self._regimes:
            share = 0.5 + 0.5 * draws.of(what)[rows, np.newaxis]
            friction[:, touched] *= laminar + share * (turbulent - laminar)
        for change in self._rods:
            row = int(np.flatnonzero(change.friction != 1.0)[0])
            gain = 1.0 + _GAIN * draws.of(change.what)[rows] ** 2
            lying = many_friction_factors(gain * reynolds[row], np.full(count, roughness[row]))
            friction[:, row] *= lying / many_friction_factors(reynolds[[row]], roughness[[row]])[0]
        losses = np.maximum(compiled.geometry.minor_loss + sizes.minor_loss, 0.0)
        return sizes._replace(length_m=sizes.length_m * friction, minor_loss=losses), friction


def _pairs(changes: list[Change]) -> list[tuple[str, Integers, Floats, Floats]]:
    """Put laminar and turbulent friction of each path together, under one name, for the segments they touch."""
    found: dict[str, dict[str, Floats]] = {}
    for change in changes:
        word, _, path = change.what.partition(" ")
        assert change.friction is not None  # noqa: S101 - a regime is nothing else
        found.setdefault(f"regime {path}", {})[word] = change.friction
    pairs = []
    for what, pair in found.items():
        touched = np.flatnonzero((pair["laminar"] != 1.0) | (pair["turbulent"] != 1.0))
        pairs.append((what, touched, pair["laminar"][touched], pair["turbulent"][touched]))
    return pairs
