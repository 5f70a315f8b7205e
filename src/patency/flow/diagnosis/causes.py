"""Everything one cycle's readings may come from, one cause at a time, those that come in degrees as a row of steps."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from patency.errors import InputError
from patency.flow.faults.fault import FaultKind, NetworkChange
from patency.flow.faults.narrowing import segment_at
from patency.flow.network import Orifice

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from patency.flow.diagnosis.rates import Rates
    from patency.flow.faults.fault import FaultCase
    from patency.flow.faults.listing import FaultList
    from patency.flow.faults.sensing import SensorPoint

AS_PLANNED = "as planned"
PUMP_WORN = "pump worn or slow"
SIEVE_CLOGGED = "machine's sieve clogged"
STEPS = 24
# A kind of fault that is one step of a cause in degrees; the row of steps stands in its place.
_IN_DEGREES = {FaultKind.PUMP_AT_90, FaultKind.PUMP_AT_80, FaultKind.SIEVE_CLOGGED}
_SIEVE_STEP = 4.0  # the factor on the sieve's loss that the fault list means


def pump_speeds(steps: int) -> list[float]:
    """Return the speeds of a pump that is worn, over its own [-]."""
    return _middles(0.975, 0.745, steps)


def foam_speeds(steps: int) -> list[float]:
    """Return the speeds whose head is that of a pump that draws foam or vapour, over its own [-]."""
    return _middles(0.98, 0.6, steps)


def sieve_factors(steps: int) -> list[float]:
    """Return the losses of a clogged sieve over its own [-]."""
    return [float(np.exp(log)) for log in _middles(np.log(1.5), np.log(24.0), steps)]


def offsets(steps: int) -> list[float]:
    """Return the offsets of a sensor that is off, over its stated uncertainty [-]."""
    return _middles(1.0, 13.0, steps)


def _middles(low: float, high: float, steps: int) -> list[float]:
    """Divide a range into equal steps and take the middle of each."""
    return [low + (high - low) * (step + 0.5) / steps for step in range(steps)]


@dataclass(frozen=True, slots=True)
class Cause:
    """One thing that readings may come from, at one step where it comes in degrees.

    Parameters
    ----------
    name
        What it is; the same for all its steps.
    probability
        Of this step in one cycle [-].
    change
        What it does to the network.
    stage
        The one stage in which it does; empty for all.
    sensor
        The sensor that is off; empty for none.
    offset
        By how much that one shows too much [Pa or m³/s].
    arm
        The arm that stands because of it; empty for none.
    step
        Which step, in order; 0 where it does not come in degrees.
    """

    name: str
    probability: float
    change: NetworkChange = field(default_factory=NetworkChange)
    stage: str = ""
    sensor: str = ""
    offset: float = 0.0
    arm: str = ""
    step: int = 0


def causes_of(
    fault_list: FaultList, stages: Sequence[str], sensors: Sequence[SensorPoint], rates: Rates, steps: int
) -> tuple[Cause, ...]:
    """List every single cause.

    Parameters
    ----------
    fault_list
        The faults of the load.
    stages
        Its wet stages.
    sensors
        The sensors that were read.
    rates
        How often each happens.
    steps
        How many steps what comes in degrees has.

    Returns
    -------
    tuple[Cause, ...]
        As planned first, then each fault of the load, then what comes in degrees.

    Raises
    ------
    InputError
        If the rate of a kind of fault that the load can have is left out: that makes no fault impossible.
    """
    found = [Cause(AS_PLANNED, 1.0)]
    for case in fault_list.cases:
        kind = case.fault.kind
        if kind not in _IN_DEGREES:
            if kind not in rates.faults:
                raise InputError("rates", f"none of {kind.value!r}", "its probability in one cycle, at each place")
            arm = case.fault.place if kind in {FaultKind.ARM_STUCK, FaultKind.ARM_LOST} else ""
            found.append(Cause(case.fault.name, rates.faults[kind], case.change, arm=arm))
    found += _steps(PUMP_WORN, rates.pump_worn, [NetworkChange(pump_speed=speed) for speed in pump_speeds(steps)])
    sieves = [case for case in fault_list.cases if case.fault.kind is FaultKind.SIEVE_CLOGGED]
    for case in sieves:
        changes = [_clogged(fault_list, case, factor) for factor in sieve_factors(steps)]
        found += _steps(SIEVE_CLOGGED, rates.sieve_clogged, changes)
    for stage in stages:
        changes = [NetworkChange(pump_speed=speed) for speed in foam_speeds(steps)]
        found += _steps(f"foam or cavitation in {stage}", rates.foam, changes, stage)
    for sensor in sensors:
        found += _offsets(sensor, rates.sensor_offset, steps)
    return tuple(found)


def _steps(name: str, probability: float, changes: Sequence[NetworkChange], stage: str = "") -> Iterator[Cause]:
    for step, change in enumerate(changes):
        yield Cause(name, probability / len(changes), change, stage, step=step)


def _offsets(sensor: SensorPoint, probability: float, steps: int) -> Iterator[Cause]:
    expanded = 2.0 * (sensor.deviation or 0.0)
    for word, sign in (("high", 1.0), ("low", -1.0)):
        for step, factor in enumerate(offsets(steps)):
            yield Cause(
                f"sensor {sensor.name} reads {word}",
                probability / (2 * steps),
                sensor=sensor.name,
                offset=sign * factor * expanded,
                step=step,
            )


def _clogged(fault_list: FaultList, case: FaultCase, factor: float) -> NetworkChange:
    """Clog the sieve more or less than the fault list does."""
    segments = {}
    for place, segment in case.change.segments.items():
        clean = segment_at(fault_list.network, place)
        assert not isinstance(segment, Orifice)  # noqa: S101 - a sieve is drawn as a bore
        assert not isinstance(clean, Orifice)  # noqa: S101 - same
        sieve = (segment.minor_loss - clean.minor_loss) / (_SIEVE_STEP - 1.0)
        segments[place] = replace(clean, minor_loss=clean.minor_loss + (factor - 1.0) * sieve)
    return NetworkChange(segments=segments)
