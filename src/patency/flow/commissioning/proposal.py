"""What to measure on the bench: set-ups a person can make, the readings that teach most, and what each one teaches."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import BenchReading, BenchSetup, Measurements, fit_in_force
from patency.errors import InputError, PhysicsError
from patency.flow.commissioning.bench import CIRCULATION, PUMP, STANDS_ALONE, draw_bench, mates
from patency.flow.commissioning.design import choose, covariance_after
from patency.flow.commissioning.fitting import without_single_ports
from patency.flow.commissioning.model import BenchModel
from patency.flow.commissioning.parameters import described_parameters, updated_by
from patency.flow.commissioning.telling_apart import cannot_tell_apart
from patency.flow.solver import solve_compiled
from patency.flow.tolerances import NORMAL_95

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import NDArray

    from patency.catalogue import Carrier, Department, Instruments, MachineKind
    from patency.flow.commissioning.design import Criterion
    from patency.flow.commissioning.parameters import Factors
    from patency.flow.commissioning.telling_apart import Confounded

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Lesson:
    """What one reading teaches, after those before it.

    Parameters
    ----------
    name
        Of the parameter whose doubt it lessens most.
    before, after
        Half widths of that factor's 95 % interval, as a share [-].
    """

    name: str
    before: float
    after: float


@dataclass(frozen=True, slots=True)
class Proposal:
    """What to measure.

    Parameters
    ----------
    measurements
        Set-ups and readings, the readings yet empty.
    lessons
        One for each reading, in its order.
    learned
        Each factor that holds for a kind of part: its name and the half width of its 95 % interval as a share, before
        all readings and after them.
    confounded
        What even all of these readings could not tell apart.
    """

    measurements: Measurements
    lessons: tuple[Lesson, ...]
    learned: tuple[Lesson, ...]
    confounded: tuple[Confounded, ...]


def possible_setups(
    department: Department, carrier_key: str, machine_kind: str, temperature_c: float
) -> dict[str, BenchSetup]:
    """List the set-ups worth making.

    Parameters
    ----------
    department
        The department.
    carrier_key
        Key of the carrier.
    machine_kind
        Key of the kind of machine.
    temperature_c
        Temperature of the water on the bench [°C].

    Returns
    -------
    dict[str, BenchSetup]
        All ports open; the ports of each circuit; one port of each kind and circuit alone; one port with each accessory
        that passes water. Those that drive the pump beyond its curve are left out.

    Raises
    ------
    InputError
        If there is no such carrier or kind of machine, the carrier has no port, or the water is not liquid.
    """
    if carrier_key not in department.carriers:
        raise InputError("carrier", f"no carrier {carrier_key!r}", ", ".join(department.carriers))
    if not 0.0 <= temperature_c <= 100.0:
        raise InputError("temperature", f"{temperature_c:g} °C", "liquid water, 0 to 100 °C")
    carrier = department.carriers[carrier_key]
    if not carrier.ports:
        raise InputError(f"carrier {carrier_key}", "it has no port", "a carrier with ports")
    wanted: dict[str, tuple[list[str], dict[str, str]]] = {"all ports open": (list(carrier.ports), {})}
    for circuit in carrier.circuits:
        ports = [name for name, port in carrier.ports.items() if port.circuit == circuit]
        if 1 < len(ports) < len(carrier.ports):
            wanted[f"only {circuit}"] = (ports, {})
    for name in _first_of_each(carrier):
        wanted[f"only {name}"] = ([name], {})
    for key, part in department.accessories.items():
        if isinstance(part, STANDS_ALONE):
            port = next((name for name, port in carrier.ports.items() if mates(port, part)), None)
            if port is not None:
                wanted[f"only {port}, with {part.name}"] = ([port], {port: key})
    return {
        name: setup
        for name, (ports, fitted) in wanted.items()
        if _runs(department, carrier_key, machine_kind, setup := _setup(ports, fitted, temperature_c))
    }


def _setup(ports: list[str], fitted: dict[str, str], temperature_c: float) -> BenchSetup:
    written = {"open": ports, "fitted": fitted, "temperature": f"{temperature_c:g} °C"}
    return BenchSetup.model_validate(written)


def _first_of_each(carrier: Carrier) -> list[str]:
    """One port of each kind, bore and circuit."""
    seen: dict[object, str] = {}
    for name, port in carrier.ports.items():
        seen.setdefault((port.kind, port.bore_m, port.circuit), name)
    return list(seen.values())


def _runs(department: Department, carrier_key: str, machine_kind: str, setup: BenchSetup) -> bool:
    try:
        solve_compiled(draw_bench(department, carrier_key, machine_kind, setup).compiled)
    except PhysicsError:
        return False
    return True


def _possible_readings(
    setups: dict[str, BenchSetup], instruments: Instruments, gauges: Sequence[str], tap_m: float | None
) -> list[BenchReading]:
    readings = []
    for name, setup in setups.items():
        for place in gauges if instruments.gauge is not None else ():
            gauge = BenchReading(setup=name, instrument="gauge", at=place)
            readings.append(gauge.model_copy(update={"height_m": tap_m}) if place == CIRCULATION else gauge)
        if instruments.meter is not None:
            readings.append(BenchReading(setup=name, instrument="meter", at=PUMP))
        readings += [BenchReading(setup=name, instrument="bucket", at=port) for port in setup.open]
    return readings


def _tap_m(machine: MachineKind) -> float | None:
    """Height of the machine's own circulation sensor; None where it has none or nobody states it."""
    taps = [
        sensor.height_m
        for sensor in machine.sensors.values()
        if (sensor.quantity, sensor.place) == ("pressure", CIRCULATION)
    ]
    return taps[0] if taps else None


def everything_to_read(
    department: Department,
    carrier_key: str,
    machine_kind: str,
    instruments: Instruments,
    gauges: Sequence[str],
    temperature_c: float,
) -> Measurements:
    """List everything that could be read.

    Parameters
    ----------
    department
        The department.
    carrier_key
        Key of the carrier.
    machine_kind
        Key of the kind of machine.
    instruments
        What is at hand.
    gauges
        Where the pressure can be read.
    temperature_c
        Temperature of the water on the bench [°C].

    Returns
    -------
    Measurements
        All set-ups that let water run, with every reading that can be made in them.

    Raises
    ------
    InputError
        If something named does not exist, or no set-up lets water run.
    """
    setups = possible_setups(department, carrier_key, machine_kind, temperature_c)
    if not setups:
        raise InputError(f"carrier {carrier_key}", "every set-up drives the pump beyond its curve", "a longer curve")
    return Measurements(
        format="patency-measurements/1",
        site=department.site,
        carrier=carrier_key,
        machine_kind=machine_kind,
        instruments=instruments,
        setups=setups,
        readings=_possible_readings(setups, instruments, gauges, _tap_m(department.machine_kinds[machine_kind])),
    )


def propose_readings(
    department: Department,
    carrier_key: str,
    machine_kind: str,
    instruments: Instruments,
    gauges: Sequence[str],
    count: int,
    criterion: Criterion,
    temperature_c: float,
) -> Proposal:
    """Propose the readings that teach most about pump and resistances.

    Parameters
    ----------
    department
        The department, with its tolerances and any earlier fit.
    carrier_key
        Key of the carrier.
    machine_kind
        Key of the kind of machine.
    instruments
        What is at hand, and how uncertain it is.
    gauges
        Where the pressure can be read: ``circulation``, ``dock``, circuits.
    count
        How many readings to propose.
    criterion
        What they shall be best at.
    temperature_c
        Temperature of the water on the bench [°C].

    Returns
    -------
    Proposal
        Set-ups, readings, and what they teach.

    Raises
    ------
    InputError
        If something named does not exist, or no set-up lets water run.
    """
    every = everything_to_read(department, carrier_key, machine_kind, instruments, gauges, temperature_c)
    model = BenchModel(department, every)
    known = fit_in_force(department, carrier_key, machine_kind)
    described = described_parameters(list(model.benches.values()), department.limits.flow, model.sensors)
    before = updated_by(described, known)
    rows = model.predict(before.names, before.mean).jacobian / model.noise()[:, None]
    chosen = choose(rows, before.covariance, count, before.of_interest, criterion)
    readings = [every.readings[row] for row in chosen]
    used = {reading.setup for reading in readings}
    return Proposal(
        measurements=every.model_copy(
            update={
                "readings": readings,
                "setups": {name: setup for name, setup in every.setups.items() if name in used},
            }
        ),
        lessons=tuple(_lessons(rows[chosen], before)),
        learned=_learned(before, covariance_after(before.covariance, rows[chosen])),
        confounded=cannot_tell_apart(
            *without_single_ports(rows[chosen], before), [before.names[k] for k in before.of_interest]
        ),
    )


def share(variance: float) -> float:
    """Turn the variance of a factor's logarithm into the upper half width of its 95 % interval.

    Parameters
    ----------
    variance
        Variance [-].

    Returns
    -------
    float
        Share of the factor [-].
    """
    return math.expm1(NORMAL_95 * math.sqrt(max(variance, 0.0)))


def _lessons(rows: Floats, before: Factors) -> list[Lesson]:
    """Follow the readings one after the other; each teaches most where it lessens a doubt by the largest share."""
    lessons, known = [], before.covariance
    for row in rows:
        after = covariance_after(known, row[None, :])
        best = min(before.of_interest, key=lambda k: after[k, k] / known[k, k])
        lessons.append(Lesson(before.names[best], share(known[best, best]), share(after[best, best])))
        known = after
    return lessons


def _learned(before: Factors, after: Floats) -> tuple[Lesson, ...]:
    return tuple(
        Lesson(before.names[k], share(before.covariance[k, k]), share(after[k, k])) for k in before.of_interest
    )
