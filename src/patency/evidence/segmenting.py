"""Which stretches of circulation belong to which wet stage: the programme as prior, the cheapest explanation wins.

Dynamic programming over the stretches: each stage takes one or several neighbours, in the programme's order; what a
stage's stretches cost says how badly they fit what is prescribed. The weights below are choices of method, none of them
a limit: they only say which explanation is the likelier one, and are held to simulated cycles whose truth is known
(tests/demo/test_stage_finding.py, benchmarks/stage_finding.py).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import StageKind

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from patency.catalogue import Stage

# How many stretches are looked at; more are joined over their shortest pauses first: a loose contact makes thousands.
MOST_STRETCHES = 60
# An explanation is doubtful where another one that ends a stage elsewhere costs only this much more.
_CLEARLY = 1.0
_WORST_FIT = 25.0
_TOO_SHORT = 20.0
_DOSE_ASTRAY = 6.0
_LEFT_OUT = 3.0
_SCALE_S = 20.0
_SCALE_K = 10.0


@dataclass(frozen=True, slots=True)
class Burst:
    """One stretch in which water circulated.

    Parameters
    ----------
    first, last
        First and last sample.
    start_s, end_s
        When [s].
    hottest_c
        Highest temperature in it, a few readings left aside [°C]; not-a-number where no thermometer shows one.
    dosed_m3
        Agent to the volume its meter counted from its start to the start of the next [m³].
    """

    first: int
    last: int
    start_s: float
    end_s: float
    hottest_c: float
    dosed_m3: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Assignment:
    """Which stretches belong to which stage.

    Parameters
    ----------
    groups
        For each wet stage the first and the last of its stretches.
    unclear
        Stages of which another explanation, nearly as good, says that they end elsewhere, as positions in the list.
    """

    groups: tuple[tuple[int, int], ...]
    unclear: tuple[int, ...]


def assign(bursts: Sequence[Burst], stages: Sequence[Stage]) -> Assignment | None:
    """Give stretches of circulation to the wet stages of a programme, in their order.

    Parameters
    ----------
    bursts
        The stretches in the order of time.
    stages
        The wet stages in the order of the programme.

    Returns
    -------
    Assignment or None
        None where there are fewer stretches than stages.
    """
    many, wanted = len(bursts), len(stages)
    if wanted == 0 or many < wanted:
        return None
    fits = _fits(bursts, stages)
    left_out = np.array([0.0, *np.cumsum([_LEFT_OUT + (b.end_s - b.start_s) / _SCALE_S for b in bursts])])
    ending, best_first = _forward(fits, left_out)
    after = _backward(fits, left_out)
    whole = ending + after
    last = int(np.argmin(whole[-1]))
    groups = []
    for stage in range(wanted - 1, -1, -1):
        first = int(best_first[stage, last])
        groups.append((first, last))
        if stage:
            last = int(np.argmin(ending[stage - 1, :first] - left_out[1 : first + 1]))
    groups.reverse()
    best = float(whole[-1].min())
    unclear = [
        stage
        for stage, (_, last) in enumerate(groups)
        if np.delete(whole[stage], last).min(initial=np.inf) < best + _CLEARLY
    ]
    return Assignment(tuple(groups), tuple(unclear))


def _forward(fits: NDArray[np.float64], left_out: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """Return the least cost of all up to a stage that ends with a stretch, and the first stretch of that stage."""
    wanted, many, _ = fits.shape
    ending = np.full((wanted, many), np.inf)
    best_first = np.zeros((wanted, many), dtype=np.intp)
    before = left_out[:many].copy()  # cost of everything before each stretch, none of it in a stage
    for stage in range(wanted):
        cost = before[:, None] + fits[stage]
        best_first[stage] = np.argmin(cost, axis=0)
        ending[stage] = cost[best_first[stage], np.arange(many)]
        settled = ending[stage] - left_out[1:]
        before = np.concatenate(([np.inf], np.minimum.accumulate(settled)[:-1])) + left_out[:many]
    return ending, best_first


def _backward(fits: NDArray[np.float64], left_out: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the least cost of all that follows a stage that ends with a stretch."""
    wanted, many, _ = fits.shape
    after = np.full((wanted, many), np.inf)
    rest = left_out[-1] - left_out[1:]
    after[-1] = rest
    for stage in range(wanted - 2, -1, -1):
        starting = np.min(fits[stage + 1] + after[stage + 1][None, :], axis=1)
        later = np.minimum.accumulate((starting + left_out[:many])[::-1])[::-1]
        after[stage] = np.concatenate((later[1:], [np.inf])) - left_out[1:]
    return after


def _fits(bursts: Sequence[Burst], stages: Sequence[Stage]) -> NDArray[np.float64]:
    """Return what it costs that a stage reaches from one stretch to another, shape (stages, stretches, stretches)."""
    many = len(bursts)
    costs = np.full((len(stages), many, many), np.inf)
    for first in range(many):
        ran_s, pauses, hottest = 0.0, 0.0, -np.inf
        dosed: dict[str, float] = {}
        for last in range(first, many):
            burst = bursts[last]
            if last > first:
                pauses += 1.0 + (burst.start_s - bursts[last - 1].end_s) / _SCALE_S
            ran_s += burst.end_s - burst.start_s
            hottest = max(hottest, burst.hottest_c) if not np.isnan(burst.hottest_c) else hottest
            for agent, volume in burst.dosed_m3.items():
                dosed[agent] = dosed.get(agent, 0.0) + volume
            for place, stage in enumerate(stages):
                costs[place, first, last] = pauses + _misfit(stage, ran_s, hottest, dosed)
    return costs


def _misfit(stage: Stage, ran_s: float, hottest_c: float, dosed: Mapping[str, float]) -> float:
    """Return how badly a time, a temperature and doses fit a stage."""
    cost = _TOO_SHORT * max(0.0, 1.0 - ran_s / stage.hold_s) if stage.hold_s else 0.0
    too_long = ran_s - stage.hold_s
    if too_long > 0 and stage.kind is StageKind.FLUSH:  # not heated: nothing makes it longer than prescribed
        cost += min(_WORST_FIT, too_long / _SCALE_S / 3)
    off_k = hottest_c - stage.temperature_c
    if np.isfinite(off_k) and (off_k > 0 or stage.kind is not StageKind.FLUSH):
        cost += min(_WORST_FIT, (off_k / _SCALE_K) ** 2)
    asked = {dose.agent: dose.volume_m3 for dose in stage.doses or ()}
    for agent, volume in dosed.items():
        wanted = asked.get(agent, 0.0)
        cost += _DOSE_ASTRAY * min(1.0, abs(volume - wanted) / wanted) if wanted else _DOSE_ASTRAY * (volume > 0)
    return cost
