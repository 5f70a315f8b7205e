"""Rules on times: nothing starts before it can, and nothing is in two places at once."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from patency.plan.checking.finding import Observation

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.plan.checking.case import Case

_SECOND = timedelta(seconds=1)


def starts_when_ready(case: Case) -> Iterator[Observation]:
    """Find loads that start before a set is back and through the work on the soiled side."""
    back = {waiting.set: waiting.back_at for waiting in case.day.waiting}
    for load in case.plan.loads:
        for name in load.sets:
            described = case.department.sets.get(name)
            if described is not None and name in back:
                ready = back[name] + timedelta(seconds=described.soiled_side_s or 0.0)
                if load.starts < ready - _SECOND:
                    sentence = f"it is ready at {ready:%H:%M}, the load starts at {load.starts:%H:%M}"
                    yield Observation(sentence, load.id, name)


def lasts_as_long_as_the_programme(case: Case) -> Iterator[Observation]:
    """Find loads whose end is not their start and the time of the programme."""
    for load in case.plan.loads:
        machine = case.machine(load)
        if machine is not None and load.programme in machine.programmes:
            planned = (load.ends - load.starts).total_seconds()
            takes = machine.programmes[load.programme]
            if abs(planned - takes) > 1.0:
                sentence = f"it lasts {planned / 60:.0f} min, {load.programme} takes {takes / 60:.0f} min"
                yield Observation(sentence, load.id)


def machine_runs_one_load(case: Case) -> Iterator[Observation]:
    """Find machines with two loads at one time."""
    for name in case.department.machines:
        loads = sorted((load for load in case.plan.loads if load.machine == name), key=lambda load: load.starts)
        for first, second in pairwise(loads):
            if second.starts < first.ends - _SECOND:
                yield Observation(f"{name} still runs {first.id} until {first.ends:%H:%M}", second.id)


def carrier_is_back(case: Case) -> Iterator[Observation]:
    """Find carriers that are loaded again before they are back."""
    for name in case.department.carriers:
        loads = sorted((load for load in case.plan.loads if load.carrier == name), key=lambda load: load.starts)
        for first, second in pairwise(loads):
            back = case.free_again(first)
            if second.starts < back - _SECOND:
                yield Observation(f"{name} is back from {first.id} at {back:%H:%M}", second.id)


def within_the_shift(case: Case) -> Iterator[Observation]:
    """Find loads that start before the shift or end after it."""
    for load in case.plan.loads:
        if load.starts < case.day.shift_starts:
            yield Observation(f"it starts at {load.starts:%H:%M}, the shift at {case.day.shift_starts:%H:%M}", load.id)
        if load.ends > case.day.shift_ends:
            yield Observation(f"it ends at {load.ends:%H:%M}, the shift at {case.day.shift_ends:%H:%M}", load.id)


def washed_in_time(case: Case) -> Iterator[Observation]:
    """Find sets washed too late without a word of it among the plan's conflicts."""
    due = {waiting.set: waiting.washed_by for waiting in case.day.waiting if waiting.washed_by is not None}
    for load in case.plan.loads:
        for name in load.sets:
            if name in due and load.ends > due[name] and not any(name in said for said in case.plan.conflicts):
                sentence = (
                    f"it is due at {due[name]:%H:%M}, its load ends at {load.ends:%H:%M}, and the plan does not say so"
                )
                yield Observation(sentence, load.id, name)
