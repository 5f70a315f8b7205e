"""What a pressure sensor showed in a stage, at its own tap and at the sump's level, and what it should have shown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.evidence.criteria import limit_fault, shown
from patency.evidence.machine_code import compiled
from patency.evidence.process import part_of
from patency.evidence.surroundings import Surroundings, surroundings_of
from patency.evidence.tap_readings import TapReading
from patency.evidence.units import to_inside
from patency.quantities import STANDARD_GRAVITY_M_S2, Interval, water_density_kg_m3

if TYPE_CHECKING:
    from patency.evidence.case import Case
    from patency.evidence.found_stages import StageSpan
    from patency.evidence.record import Trace


@dataclass(frozen=True, slots=True)
class ExpectedReading:
    """What a sensor showed in a stage beside what it should have shown.

    Parameters
    ----------
    value_pa
        Median reading in the steady part of the stage [Pa].
    expected_pa
        What the sensor should show for this load [Pa].
    gauge_pa
        The pressure predicted above the surroundings at the level of the sump's water, nominally [Pa].
    uncertainty_pa
        Of the sensor, and of the pressure of the surroundings where it counts [Pa]; None where not known.
    told
        What was taken into account, in words.
    assumed
        What had to be assumed because it is not stated, in words; empty where nothing had.
    """

    value_pa: float
    expected_pa: Interval
    gauge_pa: float
    uncertainty_pa: float | None
    told: str
    assumed: str


def tap_reading(case: Case, span: StageSpan, trace: Trace) -> TapReading | str:
    """Read a pressure sensor off the steady part of a stage.

    A tap above the sump's water shows less by the column of water in between, a sensor that was found to show too much
    shows that much more, an absolute one the surroundings too. The velocity head of the water stays counted in; an
    offset found while water circulates holds it.

    Parameters
    ----------
    case
        The case.
    span
        The stage.
    trace
        The pressure sensor.

    Returns
    -------
    TapReading or str
        The reading, or why there is none.
    """
    asked = (trace.name, span.position)
    if asked not in case.taps:
        case.taps[asked] = _read_tap(case, span, trace)
    return case.taps[asked]


def _read_tap(case: Case, span: StageSpan, trace: Trace) -> TapReading | str:
    if case.prediction is None or span.called not in case.prediction.stages:
        return "no pressure was predicted for this stage of this load"
    unsteady = case.limits.unsteady_share
    fault = limit_fault(unsteady, "1", case.on)
    if unsteady is None or fault is not None:
        return f"unsteady share of a stage: {fault}"
    around = Surroundings(0.0, 0.0, "") if trace.gauge else surroundings_of(case.record, span.first, span.last)
    if isinstance(around, str):
        return f"the sensor measures absolute pressure and {around}"
    readings = part_of(case, trace, span, (unsteady.value, 1 - unsteady.value))
    if not readings.size:
        return "the sensor shows no value in the steady part of the stage"
    shift_pa, at_tap, assumed = case.once(("tap", trace.name, span.position), lambda: _at_its_tap(case, span, trace))
    told = [*at_tap, around.told] if around.told else at_tap
    doubts = (trace.uncertainty, around.uncertainty_pa)
    return TapReading(
        value_pa=compiled("quantile")(readings, 0.5),
        more_pa=around.pressure_pa + shift_pa,
        uncertainty_pa=None if None in doubts else sum(doubt for doubt in doubts if doubt is not None),
        told="; ".join(told),
        assumed="; ".join(assumed),
    )


def expected_reading(case: Case, span: StageSpan, trace: Trace) -> ExpectedReading | str:
    """Carry the prediction for a stage to the tap of a sensor of the circulation.

    Parameters
    ----------
    case
        The case.
    span
        The stage.
    trace
        The pressure sensor.

    Returns
    -------
    ExpectedReading or str
        Reading and expectation, or why there is none.
    """
    predicted = case.prediction.stages.get(span.called) if case.prediction else None
    read = tap_reading(case, span, trace)
    if predicted is None or isinstance(read, str):
        return str(read)
    gauge, more = predicted.pressure_pa, read.more_pa
    return ExpectedReading(
        value_pa=read.value_pa,
        expected_pa=Interval(gauge.low + more, gauge.nominal + more, gauge.high + more),
        gauge_pa=gauge.nominal,
        uncertainty_pa=read.uncertainty_pa,
        told=read.told,
        assumed=read.assumed,
    )


def _at_its_tap(case: Case, span: StageSpan, trace: Trace) -> tuple[float, list[str], list[str]]:
    """Return what the sensor shows more than the pressure at the sump's level, what was counted, what was assumed."""
    machine, prediction = case.machine, case.prediction
    key = case.sensors.get(trace.beside or trace.name)
    sensor = machine.sensors[key] if machine and key else None
    shift_pa, told, assumed = 0.0, [], []
    level_m = prediction.sump_level_m if prediction else None
    if sensor is None or sensor.height_m is None or level_m is None:
        assumed.append("the height of its tap is not stated: taken as at the level of the sump's water")
    else:
        above_m = sensor.height_m - level_m
        shift_pa -= water_density_kg_m3(span.stage.temperature_c) * STANDARD_GRAVITY_M_S2 * above_m
        told.append(f"its tap lies {above_m * 1e3:.0f} mm above the sump's water")
    name = case.record.description.machine
    offset = machine.offsets.get(name or "", {}).get(key or "") if machine else None
    if trace.beside is not None and trace.calibrated is not None:
        told.append(f"taken at the tap of {trace.beside}, what it shows too much counted in its uncertainty")
    elif trace.beside is not None or sensor is None or offset is None or offset.found_on > case.on:
        assumed.append("what this sensor shows too much was never found: taken as nothing")
    else:
        offset_pa = offset.value * to_inside("pressure", sensor.unit)[0]
        shift_pa += offset_pa
        told.append(f"its offset of {shown(offset_pa, 'Pa')} was found on {offset.found_on} ({offset.source})")
    return shift_pa, told, assumed
