"""Works out every single fault of planned loads: what it does, what no sensor sees of it, and what people look at."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from patency.errors import InputError
from patency.flow import (
    AGAINST_THE_MODEL,
    AGAINST_THE_SAME_LOAD,
    advise_sensors,
    blind_spots_of_load,
    effects_of_faults,
    solve_load,
)
from patency.papers import plot_faults
from patency.steps.kept_baselines import baseline_for
from patency.steps.plan_loads import load_of_plan

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date

    from patency.catalogue import Department
    from patency.evidence import BaselineFile
    from patency.flow import Advice, Alarm, Baseline, BlindSpots, EyeCheck, FaultEffects, Option, SensorAdvice
    from patency.load import Load, Plan

_ASSUMED = {one.name: one for one in (AGAINST_THE_MODEL, AGAINST_THE_SAME_LOAD)}


@dataclass(frozen=True, slots=True)
class LoadFaults:
    """The faults of one load.

    Parameters
    ----------
    load
        The load.
    effects
        What each fault does.
    spots
        What the sensors see of it, and what people look at.
    advice
        What further sensors would show; None where it was not asked for.
    """

    load: Load
    effects: FaultEffects
    spots: BlindSpots
    advice: SensorAdvice | None


def faults_of_plan(
    department: Department,
    plan: Plan,
    alarm: Alarm,
    load_id: str | None = None,
    baselines: Sequence[BaselineFile] = (),
    assumed: str | None = None,
    on_progress: Callable[[str], None] | None = None,
) -> list[LoadFaults]:
    """Work out the faults of every load of a plan.

    Parameters
    ----------
    department
        The department.
    plan
        The plan.
    alarm
        What counts as seen.
    load_id
        The one load that is asked for; None for all.
    baselines
        Every baseline of earlier cycles that is kept.
    assumed
        Name of the comparison to take readings as compared with instead; None for the baselines.
    on_progress
        Called with what is being done.

    Returns
    -------
    list[LoadFaults]
        One for each load, without advice.

    Raises
    ------
    InputError
        If the plan has no such load, or an alarm's share is none.
    """
    for name, share in (("false alarms", alarm.false_alarms), ("least probability", alarm.least_probability)):
        if not 0.0 < share < 1.0:
            raise InputError(name, f"{share:g}", "a share between 0 and 1, such as 0.01")
    loads = plan.loads if load_id is None else (load_of_plan(plan, load_id),)
    found = []
    for load in loads:
        if on_progress is not None:
            on_progress(f"load {load.id}: every single fault")
        found.append(faults_of_one(department, load, plan.day, alarm, baseline_for(load, baselines), assumed))
    return found


def faults_of_one(
    department: Department,
    load: Load,
    day: date,
    alarm: Alarm,
    baseline: Baseline | None = None,
    assumed: str | None = None,
) -> LoadFaults:
    """Work out the faults of one load.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    day
        Day of the decision.
    alarm
        What counts as seen.
    baseline
        Earlier cycles of the same load; None where none are kept.
    assumed
        Name of the comparison to take readings as compared with instead; None for the baseline.

    Returns
    -------
    LoadFaults
        The faults, without advice.
    """
    effects = effects_of_faults(department, load, day)
    instead = None if assumed is None else _ASSUMED[assumed]
    spots = blind_spots_of_load(department, load, solve_load(department, load), effects, alarm, baseline, instead)
    return LoadFaults(load, effects, spots, None)


def with_advice(department: Department, faults: LoadFaults) -> LoadFaults:
    """Add what further sensors would show of a load's faults.

    Parameters
    ----------
    department
        The department.
    faults
        The faults of the load.

    Returns
    -------
    LoadFaults
        The same with advice.
    """
    load = faults.load
    advice = advise_sensors(department, load, solve_load(department, load), faults.spots.alarm)
    return LoadFaults(load, faults.effects, faults.spots, advice)


def fault_pictures(found: list[LoadFaults]) -> dict[str, bytes]:
    """Draw the fault matrix of each load.

    Parameters
    ----------
    found
        The faults of the loads.

    Returns
    -------
    dict[str, bytes]
        File name to SVG source.
    """
    return {f"load-{one.load.id}-faults.svg": plot_faults(one.effects, one.spots).encode() for one in found}


def faults_document(plan: Plan, found: list[LoadFaults]) -> dict[str, Any]:
    """Return the faults of loads as plain values for JSON.

    Parameters
    ----------
    plan
        The plan.
    found
        The faults of its loads.

    Returns
    -------
    dict
        Format ``patency-faults/1``; what is not computed or not judged is null.
    """
    return {
        "format": "patency-faults/1",
        "site": plan.site,
        "day": plan.day.isoformat(),
        "loads": [_load(one) for one in found],
    }


def _load(one: LoadFaults) -> dict[str, Any]:
    effects, spots = one.effects, one.spots
    return {
        "id": one.load.id,
        "false_alarms": spots.alarm.false_alarms,
        "least_probability": spots.alarm.least_probability,
        "compared": spots.comparison,
        "stages": list(effects.stages),
        "sensors": [
            {
                "name": sensor.name,
                "measures": sensor.measured.value,
                "place": sensor.place,
                "shows_as_planned": dict(zip(effects.stages, _plain(effects.planned_shown[:, k]), strict=True)),
            }
            for k, sensor in enumerate(effects.sensors)
        ],
        "faults": [_fault(one, row) for row in range(len(effects.faults))],
        "not_computed": list(effects.not_computed),
        "not_judged": [{"why": why, "lumens": [list(key) for key in keys]} for why, keys in effects.not_judged.items()],
        "eye_checks": [_check(check) for check in spots.checks],
        "least_eye_checks": spots.least_checks,
        "doubt_not_known": one.spots.not_known,
        "seen_by_nobody": [spots.faults[place].name for place in spots.unseen],
        "advice": None if one.advice is None else _advice(one.advice),
    }


def _fault(one: LoadFaults, row: int) -> dict[str, Any]:
    effects, spots = one.effects, one.spots
    fault = effects.faults[row]
    short = effects.falls_short[row]
    return {
        "name": fault.name,
        "kind": fault.kind.value,
        "place": fault.place,
        "lumen": None if fault.lumen is None else list(fault.lumen),
        "beyond_run_out": bool(effects.beyond_run_out[row]),
        "falls_short": [
            {"lumen": list(effects.lumens[k]), "share_of_need": _plain(effects.margin[row])[k]}
            for k in np.flatnonzero(short)
        ],
        "largest_loss_of_another_lumen": loss_of_others(effects, row),
        "sensors_show": {
            sensor.name: dict(zip(effects.stages, _plain(effects.shown[:, row, k]), strict=True))
            for k, sensor in enumerate(effects.sensors)
        },
        "probability_of_alarm": {name: float(values[row]) for name, values in spots.probability.items()},
        "seen": row not in spots.blind,
    }


def loss_of_others(effects: FaultEffects, row: int) -> float:
    """Find the largest share of its flow that a lumen loses which does not hang on what has failed.

    Parameters
    ----------
    effects
        What faults do.
    row
        Place of the fault.

    Returns
    -------
    float
        The share [-]; 0 where no other lumen loses any.
    """
    others = [key != effects.faults[row].lumen for key in effects.lumens]
    return float(effects.largest_loss[row, others].max(initial=0.0))


def _check(check: EyeCheck) -> dict[str, Any]:
    return {
        "when": check.when.value,
        "look": check.look.value,
        "level": check.level,
        "set": check.set,
        "piece": check.piece,
        "places": list(check.places),
    }


def _advice(advice: SensorAdvice) -> dict[str, Any]:
    return {
        "as_built": {name: _choices(one) for name, one in advice.as_built.items()},
        "with_orifices": {name: _choices(one) for name, one in advice.with_orifices.items()},
        "orifice_bores_m": dict(advice.orifice_bores_m),
        "largest_flow_loss": advice.largest_flow_loss,
    }


def _choices(advice: Advice) -> dict[str, Any]:
    def option(one: Option) -> dict[str, Any]:
        return {"sensors": list(one.sensors), "faults_seen": one.seen}

    return {
        "faults": advice.faults,
        "as_fitted": option(advice.as_fitted),
        "best_one": option(advice.best_one),
        "best_two": option(advice.best_two),
        "greedy_two": option(advice.greedy_two),
        "all_pressures": option(advice.all_pressures),
    }


def _plain(values: np.ndarray[Any, np.dtype[np.float64]]) -> list[float | None]:
    return [float(value) if np.isfinite(value) else None for value in values]
