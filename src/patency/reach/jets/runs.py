"""Second looks: at which angles one after the other a jet meets a patch, and what stands in its way there."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.reach.jets.machine_code import compiled
from patency.reach.jets.samples import COLUMNS, FOUND_TYPES, FREE, SECOND_LOOK, Samples, joined_samples

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from patency.reach.jets.asked import Asked
    from patency.reach.jets.inputs import JetSampling
    from patency.reach.jets.kernels import Jets
    from patency.reach.jets.samples import Found
    from patency.reach.solids.mesh import Integers

_TRIED = 8  # one of so many angles is tried
_SPARSE = 32  # one of so many is followed at first
_SAME_BODY = 4  # so few angles apart, less than a degree, it is enough that both ends meet the same body
_RUNS_PER_PATCH = 8  # room made at first; more is made where it is not enough


class Runs(NamedTuple):
    """Angles one after the other at which a jet meets a patch.

    Parameters
    ----------
    patch, jet
        [run] patch and jet.
    first
        [run] the first angle.
    apart
        [run] how far they are apart.
    length
        [run] how many they are.
    """

    patch: Integers
    jet: Integers
    first: Integers
    apart: Integers
    length: Integers


class _Between(NamedTuple):
    """Two angles of a run that were followed, with those between that were not.

    Parameters
    ----------
    run
        [pair] number of the run.
    low, high
        [pair] the two, counted over all runs.
    met_low, met_high
        [pair] face that is met there.
    body_low, body_high
        [pair] body to which it belongs.
    """

    run: Integers
    low: Integers
    high: Integers
    met_low: Integers
    met_high: Integers
    body_low: Integers
    body_high: Integers

    def where(self, kept: NDArray[np.bool_]) -> _Between:
        """Return some of them."""
        return _Between(*(column[kept] for column in self))


def runs_of(asked: Asked, jets: Jets, sampling: JetSampling) -> Runs:
    """Find at which angles of a second look jets meet some patches.

    Parameters
    ----------
    asked
        The patches.
    jets
        The jets.
    sampling
        How finely.

    Returns
    -------
    Runs
        Patch by patch, jet by jet, in the order of the angle.
    """
    rows = np.empty((len(asked.numbers) * _RUNS_PER_PATCH, len(Runs._fields)), dtype=np.int64)
    while True:
        columns = (asked.centres, asked.normals, asked.numbers)
        count = compiled("find_runs")(*columns, jets, sampling.finer, _TRIED, rows)
        if count <= len(rows):
            return Runs(*np.ascontiguousarray(rows[:count].T))
        rows = np.empty((count, len(Runs._fields)), dtype=np.int64)


def sparsely_followed(runs: Runs, steps: int, cast: Callable[[Found, int], tuple[Samples, Integers]]) -> Samples:
    """Follow some of the flights, then those in the middle between two until both ends meet the same face.

    What lies between two ways from a patch to one triangle meets that triangle too: it is plane and has no dents. The
    nozzle turns on a circle, not on the straight line between, but over so few angles that this is a quarter of a
    millimetre on the way. So it is left out, and the first of the two stands for it. Less than a degree apart it is
    enough that both ends meet the same body.

    Parameters
    ----------
    runs
        The angles.
    steps
        How many there are in a turn.
    cast
        Makes samples of what is found at a look, and tells which face each meets first.

    Returns
    -------
    Samples
        Those that were followed, in the order of the runs.
    """
    starts = np.cumsum(runs.length) - runs.length
    followed: list[tuple[Integers, Integers, Samples]] = []

    def follow(run: Integers, rows: Integers) -> tuple[Integers, Integers]:
        step = (runs.first[run] + (rows - starts[run]) * runs.apart[run]) % steps
        columns = zip((runs.patch[run], runs.jet[run], step, runs.apart[run]), FOUND_TYPES, strict=True)
        samples, faces = cast(tuple(column.astype(kind) for column, kind in columns), SECOND_LOOK)
        followed.append((run, rows, samples))
        return faces, samples.blocker.astype(np.int64)

    run, rows = _coarse(runs.length, starts)
    met, body = follow(run, rows)
    # Where one run ends and the next begins nothing lies between.
    pairs = _Between(run[:-1], rows[:-1], rows[1:], met[:-1], met[1:], body[:-1], body[1:])
    while True:
        wide = pairs.high - pairs.low
        apart = (pairs.met_low != pairs.met_high) & ((pairs.body_low != pairs.body_high) | (wide > _SAME_BODY))
        pairs = pairs.where((apart | (pairs.met_low == FREE)) & (wide > 1))
        if not len(pairs.run):
            return _in_order(followed, runs.apart)
        middle = (pairs.low + pairs.high) // 2
        met, body = follow(pairs.run, middle)
        first = pairs._replace(high=middle, met_high=met, body_high=body)
        second = pairs._replace(low=middle, met_low=met, body_low=body)
        pairs = _Between(*map(np.concatenate, zip(first, second, strict=True)))


def _coarse(lengths: Integers, starts: Integers) -> tuple[Integers, Integers]:
    """Return the first and the last angle of each run and every so many between: number of the run, of the angle."""
    chosen = (lengths - 1 + _SPARSE - 1) // _SPARSE + 1
    run = np.repeat(np.arange(len(lengths)), chosen)
    number = np.arange(len(run)) - np.repeat(np.cumsum(chosen) - chosen, chosen)
    return run, starts[run] + np.minimum(_SPARSE * number, lengths[run] - 1)


def _in_order(followed: list[tuple[Integers, Integers, Samples]], apart: Integers) -> Samples:
    """Join what was followed; each stands for the angles up to the next that was followed in its run."""
    run, rows = (np.concatenate([one[column] for one in followed]) for column in (0, 1))
    order = np.argsort(rows, kind="stable")
    run, rows = run[order], rows[order]
    joined = joined_samples([samples for _, _, samples in followed])
    columns = {name: getattr(joined, name)[order] for name in COLUMNS}
    within = run[1:] == run[:-1]
    columns["stands_for"][:-1][within] = (np.diff(rows) * apart[run[:-1]])[within]
    return replace(joined, **columns)
