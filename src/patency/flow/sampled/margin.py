"""The robust margin of a load: how likely each lumen falls short, and of what."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.errors import InputError
from patency.flow.faults.margins import limits_of_lumens
from patency.flow.gaps import left_open_of_lumens
from patency.flow.needs import NOT_KNOWN_OVER_A_NOZZLE, Measure
from patency.flow.sampled.draws import LoadDraws
from patency.flow.sampled.sample_numbers import read_samples
from patency.flow.solved_load import solve_load
from patency.flow.tolerances import NORMAL_95

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from numpy.typing import NDArray

    from patency.catalogue import Department
    from patency.flow.lumen_paths import LumenKey, LumenPath
    from patency.load import Load

    Floats = NDArray[np.float64]

_ENDS = (0.025, 0.5, 0.975)


@dataclass(frozen=True, slots=True)
class Spread:
    """Where a number lies in the samples.

    Parameters
    ----------
    low, median, high
        What 2.5 %, half and 97.5 % of the samples do not exceed.
    """

    low: float
    median: float
    high: float


@dataclass(frozen=True, slots=True)
class LumenMargin:
    """How likely one lumen falls short.

    Parameters
    ----------
    key
        Set, piece and lumen.
    stage
        The wet stage in which the lower end of its shear is lowest; of its flow, where shear is not known.
    flow_m3_s
        Flow in that stage [m³/s].
    shear_pa
        Wall shear stress there [Pa]; None over a nozzle.
    short_share
        Share of samples in which it falls short of anything in any wet stage [-]; None where it is held against
        nothing.
    short_at_most
        Upper end of the 95 % interval of that probability, by the number of samples (E. B. Wilson, 1927) [-]; None
        with it.
    by_measure
        Share of samples that fall short of each measure the lumen is held against [-].
    limiting
        The measure that falls short most often; where none does, the one that comes nearest. None where there is none.
    margin
        The least share of its limit that 97.5 % of the samples reach [-], of the limiting measure; None with it.
    not_known
        Measures it is held against that nobody can compute: over a nozzle neither mean velocity nor shear.
    left_open
        What leaves open whether it is fed, however few samples fall short: what is not stated or out of date, in words.
    """

    key: LumenKey
    stage: str
    flow_m3_s: Spread
    shear_pa: Spread | None
    short_share: float | None
    short_at_most: float | None
    by_measure: Mapping[Measure, float]
    limiting: Measure | None
    margin: float | None
    not_known: tuple[Measure, ...]
    left_open: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LoadMargin:
    """The robust margin of a load.

    Parameters
    ----------
    samples
        How many samples.
    lumens
        Every connected lumen, the weakest first.
    """

    samples: int
    lumens: tuple[LumenMargin, ...]


def sampled_margin(
    department: Department,
    load: Load,
    day: date,
    chance: np.random.Generator,
    samples: int = 10_000,
    *,
    threads: int | None = None,
) -> LoadMargin:
    """Draw everything that is not known of a load within its doubt, many times, and count how often lumens fall short.

    Every sample is one load with its own bores, rods, openings, losses, roughness, pump, rod positions and friction
    between laminar and turbulent, solved in every wet stage. The interval that ``fed`` judges by stays the one of first
    order, which needs no chance; this says how likely it is that a lumen which passes or misses there really does.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    day
        Day on which reference loads have to be in date.
    chance
        Where the random numbers come from; the same seed gives the same answer.
    samples
        How many samples.
    threads
        How many threads work; None leaves it to the machine's number of cores. The answer does not depend on it.

    Returns
    -------
    LoadMargin
        Every connected lumen.

    Raises
    ------
    InputError
        If there are fewer than 100 samples, or the load names something the department does not have.
    PhysicsError
        If the pump is driven beyond its run-out at nominal sizes.
    """
    if samples < 100:
        raise InputError("samples", f"{samples}", "100 or more")
    solved = solve_load(department, load)
    keys = list(solved.network.lumens)
    limits = limits_of_lumens(department, load, keys, day)
    draws = LoadDraws(solved.network, list(solved.stages.values()), chance, samples)
    found = read_samples(solved, limits, draws, threads)
    names = list(solved.stages)
    left_open = left_open_of_lumens(department, load, solved.network, day)
    lumens = [
        _lumen_margin(
            key,
            {name: found.flow_m3_s[stage, :, row] for stage, name in enumerate(names)},
            {name: found.shear_pa[stage, :, row] for stage, name in enumerate(names)},
            {measure: ratio[:, row] for measure, ratio in found.ratio.items() if np.isfinite(limits[measure][row])},
            solved.network.lumens[key],
            left_open[key],
        )
        for row, key in enumerate(keys)
    ]
    return LoadMargin(samples, tuple(sorted(lumens, key=_weakest_first)))


def _lumen_margin(
    key: LumenKey,
    flow: dict[str, Floats],
    shear: dict[str, Floats],
    ratios: dict[Measure, Floats],
    path: LumenPath,
    left_open: tuple[str, ...],
) -> LumenMargin:
    """Put one lumen's samples together."""
    over_nozzle = path.jet is not None
    not_known = tuple(m for m in ratios if over_nozzle and m in NOT_KNOWN_OVER_A_NOZZLE)
    known = {measure: values for measure, values in ratios.items() if measure not in not_known}
    lowest = {name: _end(values) for name, values in (flow if over_nozzle else shear).items()}
    stage = min(lowest, key=lambda name: lowest[name])
    by_measure = {measure: float((values < 1.0).mean()) for measure, values in known.items()}
    low = {measure: _end(values) for measure, values in known.items()}
    limiting = max(known, key=lambda measure: (by_measure[measure], -low[measure]), default=None)
    short = None if not known else float(np.any([values < 1.0 for values in known.values()], axis=0).mean())
    return LumenMargin(
        key=key,
        stage=stage,
        flow_m3_s=_spread(flow[stage]),
        shear_pa=None if over_nozzle else _spread(shear[stage]),
        short_share=short,
        short_at_most=None if short is None else _wilson_upper(short, flow[stage].size),
        by_measure=by_measure,
        limiting=limiting,
        margin=None if limiting is None else low[limiting],
        not_known=not_known,
        left_open=left_open,
    )


def _end(values: Floats) -> float:
    """Find what 97.5 % of the samples reach; what has no solution counts as nothing."""
    return float(np.quantile(np.nan_to_num(values, nan=0.0), _ENDS[0]))


def _spread(values: Floats) -> Spread:
    """What has no solution counts as nothing."""
    return Spread(*(float(end) for end in np.quantile(np.nan_to_num(values, nan=0.0), _ENDS)))


def _wilson_upper(share: float, count: int) -> float:
    square = NORMAL_95**2 / count
    root = math.sqrt(share * (1.0 - share) * square + square**2 / 4.0)
    return (share + square / 2.0 + root) / (1.0 + square)


def _weakest_first(lumen: LumenMargin) -> tuple[bool, float, float]:
    """What is held against nothing comes last."""
    if lumen.short_share is None or lumen.margin is None:
        return True, 0.0, 0.0
    return False, -lumen.short_share, lumen.margin
