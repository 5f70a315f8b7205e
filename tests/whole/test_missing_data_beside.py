"""What lies beside a washer's own record, left out datum by datum: baseline, second recorder, sterilizer, its tests.

What was not met must not become met. The one exception is listed with its reason.
"""

from __future__ import annotations

import copy
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import yaml

from patency.catalogue import SteamLimits
from patency.errors import PatencyError
from patency.evidence import CriterionState, judge, read_description, read_record
from patency.steps.second_source import judged_with_logger
from tests.evidence.cycles import (
    ALL_SEEN,
    LIMITS,
    MACHINE,
    PREDICTION,
    PROGRAMME,
    TODAY,
    Cycle,
    alarm_of,
    good_cycle,
)
from tests.evidence.steam_cycles import CHECKS, SteamCycle, good_steam, leaking, steam_limits
from tests.evidence.steam_cycles import LIMITS as STEAM_LIMITS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from patency.evidence import CycleRecord, Evidence, SteamEvidence, WaterAlarm

MET, MISSED = CriterionState.MET, CriterionState.NOT_MET


class Plain(yaml.SafeDumper):
    """Writes every value as it stood, without quotes around days and moments."""


Plain.yaml_implicit_resolvers = {}


def places(inner: object, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    for key in inner if isinstance(inner, dict) else ():
        yield (*path, key)
        yield from places(inner[key], (*path, key))  # type: ignore[index]


def without_each(text: str) -> dict[str, str]:
    """Name every datum of a YAML text with the text without it."""
    whole: Any = yaml.load(text, Loader=yaml.BaseLoader)
    found = {}
    for path in places(whole):
        left = copy.deepcopy(whole)
        inner = left
        for key in path[:-1]:
            inner = inner[key]
        del inner[path[-1]]
        found[".".join(path)] = yaml.dump(left, Dumper=Plain, sort_keys=False)
    return found


def verdict(judging: Callable[[], Evidence | SteamEvidence]) -> CriterionState | None:
    try:
        return judging().verdict
    except PatencyError:
        return None


# --- the baseline


def high(mbar: float) -> Cycle:
    def lift(_: object, values: np.ndarray) -> None:
        values[values > 0] += mbar

    return good_cycle().with_column("P1", lift)


def test_no_datum_of_a_baseline_left_out_lets_a_cycle_pass_that_lies_far_off() -> None:
    known, off = alarm_of(), high(2.0)
    one_cycle_less = [
        replace(
            known,
            readings=known.readings[:row] + known.readings[row + 1 :],
            records=known.records[:row] + known.records[row + 1 :],
        )
        for row in range(len(known.readings))
    ]

    def one_reading_less(place: int) -> WaterAlarm:
        columns = known.columns[:place] + known.columns[place + 1 :]
        return replace(known, columns=columns, readings=tuple(r[:place] + r[place + 1 :] for r in known.readings))

    ways: list[WaterAlarm | None] = [*one_cycle_less, *(one_reading_less(place) for place in range(len(known.columns)))]
    ways += [replace(known, machine=""), replace(known, readings=known.readings[:2]), None]
    record = off.record()

    def judged(alarm: WaterAlarm | None) -> Evidence:
        prediction = replace(PREDICTION, alarm=alarm)
        return judge(record, PROGRAMME, LIMITS, prediction, on=TODAY, eye_check=ALL_SEEN, machine=MACHINE)

    assert judged(known).verdict is MISSED
    assert MET not in {judged(alarm).verdict for alarm in ways}


# --- the second recorder


def every_fourth(cycle: Cycle) -> CycleRecord:
    kept = replace(cycle, rows=[row for row in range(cycle.time.size) if row % 4])
    return read_record(kept.text(), read_description(cycle.description))


def cold() -> Cycle:
    def cool(_: object, values: np.ndarray) -> None:
        np.minimum(values, 84.0, out=values)

    return good_cycle().with_column("T2", cool)


def by_two(machine: Cycle, logger: Cycle) -> Evidence:
    def judging(record: CycleRecord) -> Evidence:
        return judge(record, PROGRAMME, LIMITS, PREDICTION, on=TODAY, eye_check=ALL_SEEN, machine=MACHINE)

    return judged_with_logger(every_fourth(machine), every_fourth(logger), judging)[1]


# Nobody says that there has to be a logger, nor which sensors it has.
ONLY_THE_LOGGER_SHOWED_IT = {"columns.T2"}


@pytest.mark.slow
@pytest.mark.parametrize("machine_is_cold", [True, False])
def test_no_datum_of_a_logger_left_out_lets_a_cycle_pass(machine_is_cold: bool) -> None:
    machine, logger = (cold(), good_cycle()) if machine_is_cold else (good_cycle(), cold())
    assert by_two(machine, logger).verdict is MISSED
    met = set()
    for what, description in without_each(logger.description).items():
        if verdict(lambda description=description: by_two(machine, replace(logger, description=description))) is MET:  # type: ignore[misc]
            met.add(what)
    assert met <= (set() if machine_is_cold else ONLY_THE_LOGGER_SHOWED_IT)


# --- the sterilizer


def bent(column: str, first: int, last: int, change: float) -> SteamCycle:
    def bend(values: np.ndarray) -> None:
        values[first:last] += change

    return good_steam().bent(column, bend)


STEAM_MISSED = {
    "the load is too cold": bent("T1", 0, 1000, -1.0),
    "too little air drawn off": bent("P", 40, 60, 8.0),
    "drying cut short": bent("P", 700, 1000, 8.0),
    "another programme": good_steam().described("programme: wrapped", "programme: other"),
    "a gap": good_steam().without(500, 510),
    "a failed test": replace(good_steam(), checks=CHECKS.replace("passed, at: 2026-05-27", "failed, at: 2026-05-27")),
    "a test of long ago": replace(good_steam(), checks=CHECKS.replace("2026-06-01T06:30", "2026-05-20T06:30")),
    "a test of another machine": replace(good_steam(), checks=CHECKS.replace("machine: Yew", "machine: Elm")),
}  # fmt: skip


def aged_limits() -> dict[str, SteamLimits]:
    before = TODAY - timedelta(days=1)
    stated = {name: getattr(STEAM_LIMITS, name) for name in SteamLimits.model_fields}
    left_out = {f"limits.{name}": steam_limits(**{name: None}) for name in stated}
    aged = {
        f"limits.{name} in date": steam_limits(**{name: replace(limit, valid_until=before)})
        for name, limit in stated.items()
        if limit is not None
    }
    return {**left_out, **aged}


@pytest.mark.slow
@pytest.mark.parametrize("fault", STEAM_MISSED)
def test_no_datum_of_a_sterilizers_cycle_left_out_makes_its_verdict_met(fault: str) -> None:
    cycle = STEAM_MISSED[fault]
    assert cycle.judged().verdict is not MET
    met = {what for what, limits in aged_limits().items() if cycle.judged(limits).verdict is MET}
    for what, description in without_each(cycle.description).items():
        if verdict(replace(cycle, description=description).judged) is MET:
            met.add(what)
    for what, checks in without_each(cycle.checks or "").items():
        if verdict(replace(cycle, checks=checks).judged) is MET:
            met.add(f"checks.{what}")
    assert met == set()


def test_no_datum_of_a_leakage_test_left_out_makes_it_met() -> None:
    leak = leaking(0.5)
    assert leak.leakage().verdict is MISSED
    assert MET not in {leak.leakage(limits).verdict for limits in aged_limits().values()}
    ways = without_each(leak.description).values()
    assert MET not in {verdict(replace(leak, description=one).leakage) for one in ways}
