"""Looks between two angles of an arm, where something can open there."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.reach.jets.machine_code import compiled
from patency.reach.jets.samples import BETWEEN, FOUND_TYPES

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray

    from patency.reach.jets.asked import Asked
    from patency.reach.jets.kernels import Jets
    from patency.reach.jets.samples import Found, Samples
    from patency.reach.solids.mesh import Integers

_BESIDE = -2  # in place of a body: there the patch lies beside the jet's cone or looks away


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


def halved(
    asked: Asked, samples: Samples, jets: Jets, cast: Callable[[Found, int], tuple[Samples, Integers]]
) -> Iterator[Samples]:
    """Look between two angles of the second look, again and again in the middle, where something can open there.

    Parameters
    ----------
    asked
        The patches.
    samples
        What a second look found of them, patch by patch, jet by jet, in the order of the angle.
    jets
        The jets.
    cast
        Makes samples of what is found at a look, and tells which face each meets first.

    Yields
    ------
    Samples
        Those in the middle of all gaps that are left.
    """
    steps = jets.nozzle.shape[1]
    missed = np.ones(len(asked.numbers), dtype=np.bool_)
    gaps = _gaps_of(samples, steps)
    while len(gaps.wide):
        half = gaps.wide // 2
        middle = (gaps.step + half) % steps
        met = np.empty(len(middle), dtype=np.bool_)
        compiled("meet_samples")(asked.centres, asked.normals, jets, gaps.patch, gaps.jet, middle, met)
        columns = zip((gaps.patch, gaps.jet, middle, half), FOUND_TYPES, strict=True)
        found, _ = cast(tuple(column[met].astype(kind) for column, kind in columns), BETWEEN)
        yield found
        missed[found.patch_of[found.share > 0]] = False
        there = np.full(len(middle), _BESIDE)
        there[met] = found.blocker
        first = _Gaps(gaps.patch, gaps.jet, gaps.step, half, gaps.before, there)
        second = _Gaps(gaps.patch, gaps.jet, middle, half, there, gaps.behind)
        gaps = _worth_halving(_Gaps(*map(np.concatenate, zip(first, second, strict=True))), missed)


def _worth_halving(gaps: _Gaps, missed: NDArray[np.bool_]) -> _Gaps:
    return gaps.where((gaps.wide > 1) & (gaps.before != gaps.behind) & missed[gaps.patch])


def _gaps_of(samples: Samples, steps: int) -> _Gaps:
    """Return the gaps between samples of a second look, and where the jet begins and ends to meet a patch."""
    places = (samples.patch_of, samples.jet_of, samples.step_of, samples.stands_for, samples.blocker)
    rows = np.empty((0, len(_Gaps._fields)), dtype=np.int64)
    while True:
        count = compiled("gaps_between")(*places, steps, _BESIDE, rows)
        if count <= len(rows):
            return _Gaps(*rows[:count].T)
        rows = np.empty((count, len(_Gaps._fields)), dtype=np.int64)
