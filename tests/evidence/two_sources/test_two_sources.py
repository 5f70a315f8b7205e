"""Two recorders of one cycle, against the simulated truth: clocks, the worse value, and disagreement."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from patency.evidence import (
    AGREEMENT,
    Alignment,
    CriterionState,
    CycleRecord,
    FindingKind,
    align,
    join,
    worse_of,
)
from tests.evidence.cycles import good_cycle
from tests.evidence.two_sources.two_recorders import two_recorders


def aligned(seed: int, offset_s: float, drift: float, step_s: int = 2) -> tuple[Alignment, float]:
    machine, logger, truth_s = two_recorders(seed, offset_s=offset_s, drift=drift, step_s=step_s)
    found = align(machine, logger)
    assert isinstance(found, Alignment)
    return found, truth_s


def test_offset_and_drift_of_the_clock_are_found_within_their_uncertainty() -> None:
    chance = np.random.default_rng(31)
    offsets = drifts = 0
    for seed in range(20):
        drift = float(chance.uniform(-3e-4, 3e-4))
        found, truth_s = aligned(seed, float(chance.uniform(-200, 200)), drift)
        offsets += abs(found.offset_s - truth_s) <= found.offset_u_s
        drifts += abs(found.drift - drift) <= found.drift_u
        assert abs(found.offset_s - truth_s) < 0.5
        assert found.drift_u < 2e-4
    assert offsets >= 18
    assert drifts >= 18


@pytest.mark.parametrize(("offset_s", "step_s"), [(0.0, 1), (900.0, 5), (-40.0, 3)])
def test_a_logger_that_starts_late_or_early_or_writes_seldom_is_aligned(offset_s: float, step_s: int) -> None:
    found, truth_s = aligned(40, offset_s, 0.0, step_s)
    assert abs(found.offset_s - truth_s) <= max(found.offset_u_s, 0.5)
    times = np.array([0.0, 1000.0])
    assert found.first_time(times) == pytest.approx(times + truth_s, abs=found.uncertainty_s(1000.0))


def test_two_recorders_that_agree_say_so_and_their_clocks_are_told() -> None:
    machine, logger, _ = two_recorders(50, offset_s=30.0, drift=1e-4)
    joined = join(machine, logger)
    assert {one.state for one in joined.criteria} == {CriterionState.MET}
    assert len(joined.criteria) == 3
    noticed = [one for one in joined.record.findings if one.kind is FindingKind.SECOND_SOURCE]
    assert logger.sha256 in noticed[0].message


@pytest.mark.parametrize("column", ["T1", "T2"])
def test_a_sensor_that_reads_otherwise_in_both_is_a_finding(column: str) -> None:
    machine, logger, _ = two_recorders(50, offset_s=30.0, drift=1e-4, reads_high={column: 2.0})
    missed = [one for one in join(machine, logger).criteria if one.state is CriterionState.NOT_MET]
    assert [one.sensor for one in missed] == [column]
    assert missed[0].value == pytest.approx(2.0, abs=0.5)
    assert missed[0].name.startswith(AGREEMENT)


def test_the_loggers_readings_stand_beside_the_machines_at_their_time() -> None:
    machine, logger, _ = two_recorders(51, offset_s=60.0, drift=0.0)
    joined = join(machine, logger)
    beside = joined.record.traces["logger: T2"]
    shown = ~np.isnan(beside.values)
    assert np.median(np.abs(beside.values[shown] - machine.traces["T2"].values[shown])) < 0.3
    assert np.isnan(beside.values[machine.time_s < 58.0]).all()  # the logger was not on yet
    assert joined.record.traces["logger: P1"].beside == "P1"  # at the same place: judged at the tap of the machine's
    assert joined.by_the_other is None  # a washer has no pressure of the chamber


def test_a_pressure_of_the_logger_that_the_machine_does_not_measure_is_left_aside() -> None:
    machine, logger, _ = two_recorders(51, offset_s=60.0, drift=0.0)
    for other in (replace(logger.traces["P1"], place="dock"), replace(logger.traces["P1"], gauge=False)):
        joined = join(machine, replace(logger, traces={**logger.traces, "P1": other}))
        assert "logger: P1" not in joined.record.traces


def test_the_pressure_a_logger_shows_in_the_chamber_stands_in_for_the_machines() -> None:
    machine, logger, _ = two_recorders(51, offset_s=60.0, drift=0.0)
    both = [
        replace(one, traces={**one.traces, "P1": replace(one.traces["P1"], place="chamber")})
        for one in (machine, logger)
    ]
    joined = join(*both)
    assert joined.by_the_other is not None
    assert [one.name for one in joined.by_the_other.of("pressure", "chamber")] == ["logger: P1"]
    assert [one.name for one in joined.record.of("pressure", "chamber")] == ["P1", "logger: P1"]


def test_a_gap_of_the_logger_stays_a_gap() -> None:
    machine, logger, _ = two_recorders(52, offset_s=10.0, drift=0.0)
    values = logger.traces["T2"].values.copy()
    values[500:540] = np.nan
    gone = replace(logger, traces={**logger.traces, "T2": replace(logger.traces["T2"], values=values)})
    beside = join(machine, gone).record.traces["logger: T2"].values
    assert np.isnan(beside[(machine.time_s > 1014.0) & (machine.time_s < 1084.0)]).all()


def test_a_sensor_of_unknown_uncertainty_leaves_agreement_open() -> None:
    machine, logger, _ = two_recorders(53, offset_s=10.0, drift=0.0, reads_high={"T2": 5.0})
    unsure = replace(logger.traces["T2"], uncertainty=None)
    joined = join(machine, replace(logger, traces={**logger.traces, "T2": unsure}))
    states = {one.sensor: one.state for one in joined.criteria}
    assert states["T2"] is CriterionState.NOT_EVALUATED


def constant(record: CycleRecord) -> CycleRecord:
    traces = {name: replace(one, values=np.full_like(one.values, 20.0)) for name, one in record.traces.items()}
    return replace(record, traces=traces)


def test_records_of_which_nothing_tells_the_time_are_not_aligned() -> None:
    machine, logger, _ = two_recorders(54, offset_s=0.0, drift=0.0)
    other = good_cycle().record()
    elsewhere = {name: replace(one, place="drain") for name, one in logger.traces.items()}
    cases = {
        "no sensor of both": replace(logger, traces=elsewhere),
        "no common signal changes": constant(logger),
        "do not follow the same course": other,
    }
    for says, second in cases.items():
        found = align(machine, second)
        assert isinstance(found, str)
        assert says in found
        joined = join(machine, second)
        assert joined.record.traces == machine.traces
        assert [one.state for one in joined.criteria] == [CriterionState.NOT_EVALUATED]


def silent(record: CycleRecord, *names: str) -> CycleRecord:
    gone = {name: replace(record.traces[name], values=np.full(record.time_s.size, np.nan)) for name in names}
    return replace(record, traces={**record.traces, **gone})


def test_a_sensor_fallen_silent_aligns_nothing_and_stops_nothing() -> None:
    machine, logger, _ = two_recorders(56, offset_s=20.0, drift=0.0)
    for one, other in ((silent(machine, "T1"), logger), (machine, silent(logger, "T1"))):
        found = align(one, other)
        assert not isinstance(found, str)
        assert found.offset_s == pytest.approx(20.0, abs=2.0)
    assert isinstance(align(silent(machine, "T1", "T2", "P1"), logger), str)


def test_signals_that_repeat_themselves_are_not_aligned() -> None:
    machine, _, _ = two_recorders(55, offset_s=0.0, drift=0.0)
    waves = np.asarray(50.0 + 30.0 * np.sign(np.sin(2 * np.pi * machine.time_s / 300.0)), dtype=np.float64)
    same = replace(machine, traces={"T1": replace(machine.traces["T1"], values=waves)})
    part = waves[:1200]
    axis = replace(
        machine.axis,
        kept=machine.axis.kept[:1200],
        elapsed_s=machine.axis.elapsed_s[:1200],
        spacing=machine.axis.spacing[:1199],
    )
    short = replace(same, axis=axis, traces={"T1": replace(machine.traces["T1"], values=part)})
    assert align(same, short) == "the common signals fit at more than one place in time"


def test_of_each_criterion_the_worse_counts_and_none_is_lost() -> None:
    good = good_cycle().judged().criteria
    worse = tuple(replace(one, state=CriterionState.NOT_MET, margin=-1.0) for one in good[:3])
    for merged in (worse_of(good, (*worse, *good[3:])), worse_of((*worse, *good[3:]), good)):
        assert merged[:3] == worse
        assert merged[3:] == good[3:]
    assert set(worse_of(good, good[4:])) == set(good)
