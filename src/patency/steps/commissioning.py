"""Commissions a carrier in a kind of machine by measurement: propose, print the form, fit, watch."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from patency.catalogue import (
    CommissionedFit,
    Instruments,
    Measurements,
    bench_fit_of,
    fit_in_force,
    read_described,
    readings_from_table,
    write_fit,
)
from patency.errors import InputError
from patency.flow import (
    BenchFit,
    BenchModel,
    described_parameters,
    entry_of,
    fit_readings,
    propose_readings,
    reading_ids,
    updated_by,
    watch_ports,
)
from patency.papers import bench_form, bench_form_pdf, plot_comparison
from patency.steps.drift_refusing import CYCLES_BETWEEN_FALSE_ALARMS, refuse_nobody, taken_despite
from patency.steps.files import read_text
from patency.steps.site_reading import read_site

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime
    from pathlib import Path

    from numpy.typing import NDArray

    from patency.catalogue import Department
    from patency.flow import Criterion, Proposal, WatchedPort

_ASSUMED = "assumption; replace it with what the instrument's calibration says"


@dataclass(frozen=True, slots=True)
class FittedBench:
    """A fit and the file that keeps it.

    Parameters
    ----------
    fit
        What was found.
    entry
        The same as it is kept.
    file
        Name of the file beside the department's description.
    text
        What stands in the file.
    plot
        Measured beside predicted, SVG.
    """

    fit: BenchFit
    entry: CommissionedFit
    file: str
    text: str
    plot: str


@dataclass(frozen=True, slots=True)
class WatchedBench:
    """Ports as later readings show them.

    Parameters
    ----------
    ports
        Each port in each set-up.
    left_out
        Which readings did not count and why, in words; empty where all did.
    """

    ports: tuple[WatchedPort, ...]
    left_out: str


def usual_instruments(department: Department, machine_kind: str, *, meter: bool) -> Instruments:
    """Say what is usually at hand on the bench, as far as the department does not say better.

    Parameters
    ----------
    department
        The department.
    machine_kind
        Key of the kind of machine; its sensors of pressure and flow at their places are taken at their word.
    meter
        Whether there is a flow meter, though the machine has none.

    Returns
    -------
    Instruments
        Bucket and gauge, and a meter where there is one; uncertainties nobody states are assumptions and say so. The
        machine is named where there is but one of the kind.
    """
    kind = department.machine_kinds.get(machine_kind)
    sensors = {} if kind is None else kind.sensors
    pressure = next((key for key, one in sensors.items() if one.quantity == "pressure" and one.uncertainty), None)
    flow = any(sensor.quantity == "flow" for sensor in sensors.values())
    gauge = {"uncertainty": "5 mbar", "source": _ASSUMED}
    if pressure is not None:
        stated = f"{sensors[pressure].uncertainty} {sensors[pressure].unit}"
        gauge = {"uncertainty": stated, "source": "the machine's own sensor"}
        machines = [name for name, machine in department.machines.items() if machine.kind == machine_kind]
        if len(machines) == 1:
            gauge |= {"machine": machines[0], "sensor": pressure}
    tools: dict[str, Any] = {"bucket": {"uncertainty": "2 %", "source": _ASSUMED}, "gauge": gauge}
    if meter or flow:
        tools["meter"] = {"uncertainty": "2 %", "source": _ASSUMED}
    return Instruments.model_validate(tools)


def propose_bench(
    folder: Path,
    carrier: str,
    machine_kind: str,
    gauges: Sequence[str],
    *,
    meter: bool,
    count: int,
    criterion: Criterion,
    temperature_c: float,
) -> Proposal:
    """Propose what to measure.

    Parameters
    ----------
    folder
        Holds the department's YAML files.
    carrier
        Key of the carrier.
    machine_kind
        Key of the kind of machine.
    gauges
        Where the pressure can be read.
    meter
        Whether there is a flow meter, though the machine has none.
    count
        How many readings.
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
    InputErrors
        With every fault of the description.
    InputError
        If something named does not exist.
    """
    department = read_site(folder).department
    tools = usual_instruments(department, machine_kind, meter=meter)
    return propose_readings(department, carrier, machine_kind, tools, gauges, count, criterion, temperature_c)


def read_measurements(path: Path, table: Path | None = None) -> Measurements:
    """Read measurements, their readings from a table where one is given.

    Parameters
    ----------
    path
        YAML of format ``patency-measurements/1``.
    table
        CSV with the readings; None where they stand in the YAML.

    Returns
    -------
    Measurements
        Set-ups and readings.

    Raises
    ------
    InputErrors
        With every fault of the file.
    """
    measurements = read_described(Measurements, read_text(path), str(path))
    return measurements if table is None else readings_from_table(measurements, read_text(table), str(table))


def print_bench_form(folder: Path, path: Path, printed: datetime) -> bytes:
    """Set the form of some measurements.

    Parameters
    ----------
    folder
        Holds the department's YAML files.
    path
        The measurements.
    printed
        When, with its zone.

    Returns
    -------
    bytes
        PDF, A4.

    Raises
    ------
    InputErrors
        With every fault of either.
    """
    measurements = read_measurements(path)
    return bench_form_pdf(bench_form(_department_of(measurements, folder, path), measurements), printed)


def fit_bench(
    folder: Path, path: Path, table: Path | None, by: str, fitted_on: date, despite_drift: str | None = None
) -> FittedBench:
    """Fit pump and resistances to what was measured.

    Parameters
    ----------
    folder
        Holds the department's YAML files.
    path
        The measurements.
    table
        CSV with the readings; None where they stand in the measurements.
    by
        Who answers for the fit.
    fitted_on
        The day.
    despite_drift
        Why readings shall be taken though those of a port drift; None where nobody says.

    Returns
    -------
    FittedBench
        The fit, which starts from the last one to bench readings, and its file; nothing is written.

    Raises
    ------
    InputError
        If nobody answers for the fit, nothing was read, an earlier fit was made from some of these readings, or those
        of a port drift and nobody says why they shall be taken.
    InputErrors
        With every fault of a file.
    """
    refuse_nobody(by)
    measurements = read_measurements(path, table)
    department = _department_of(measurements, folder, path)
    model = BenchModel(department, measurements)
    used = _used_before(department, measurements)
    if used:
        said = f"{len(used)} of {len(measurements.readings)} are of those that {_fits(used)} made from"
        raise InputError("readings", said, "readings made since")
    known = bench_fit_of(department, measurements.carrier, measurements.machine_kind)
    described = described_parameters(list(model.benches.values()), department.limits.flow, model.sensors)
    before = updated_by(described, known)
    fit = fit_readings(model, before)
    dated = BenchModel(department, _without(measurements, [one.on is None for one in measurements.readings]))
    ports = watch_ports(dated, before, CYCLES_BETWEEN_FALSE_ALARMS)
    drifts = [f"{one.setup}, port {one.port} {one.drifts}" for one in ports if one.drifts]
    remark = taken_despite(drifts, despite_drift, "readings without it")
    sizes = model.noise()[np.isfinite(model.shown())]
    return as_kept(entry_of(department, measurements, fit, by, fitted_on, remark), fit, sizes)


def as_kept(entry: CommissionedFit, fit: BenchFit, deviations: Sequence[float] | NDArray[np.float64]) -> FittedBench:
    """Put a fit into the form in which it is kept and shown.

    Parameters
    ----------
    entry
        The fit's entry.
    fit
        The fit.
    deviations
        Standard deviation of each reading that was made: of the logarithm of a flow, of a pressure [Pa].

    Returns
    -------
    FittedBench
        The fit, its file and its plot; nothing is written.
    """
    shares = [
        float(one / abs(read.predicted)) if read.reading.instrument == "gauge" else float(one)
        for read, one in zip(fit.readings, deviations, strict=True)
    ]
    name = f"{entry.carrier} in {entry.machine_kind}, fit {entry.number}"
    file = f"commissioned-{_slug(entry.carrier)}-{_slug(entry.machine_kind)}-{entry.number}.yaml"
    return FittedBench(fit, entry, file, write_fit(name, entry), plot_comparison(fit, shares))


def watch_bench(folder: Path, path: Path, table: Path | None, readings_between_false_alarms: float) -> WatchedBench:
    """Look whether a port clogs; readings that fits were made from are left out, for they say nothing new.

    Parameters
    ----------
    folder
        Holds the department's YAML files.
    path
        The measurements.
    table
        CSV with the readings of many days; None where they stand in the measurements.
    readings_between_false_alarms
        Mean number of readings of a port until it is flagged though nothing happened.

    Returns
    -------
    WatchedBench
        The ports, and what was left out.

    Raises
    ------
    InputError
        If nothing was commissioned yet, no bucket was read since, or a reading has no day.
    InputErrors
        With every fault of a file.
    """
    measurements = read_measurements(path, table)
    department = _department_of(measurements, folder, path)
    known = fit_in_force(department, measurements.carrier, measurements.machine_kind)
    if known is None:
        where = f"{measurements.carrier} in {measurements.machine_kind}"
        raise InputError(where, "nothing was commissioned yet", "a fit, as `patency commission fit` writes it")
    used = _used_before(department, measurements)
    model = BenchModel(department, _without(measurements, [k in used for k in range(len(measurements.readings))]))
    described = described_parameters(list(model.benches.values()), department.limits.flow, model.sensors)
    ports = watch_ports(model, updated_by(described, known), readings_between_false_alarms)
    left_out = f"{len(used)} of {len(model.readings)} readings, that {_fits(used)} made from" if used else ""
    if not ports:
        raise InputError(
            "readings", f"left out: {left_out}" if used else "none of a bucket", "bucket readings made since"
        )
    return WatchedBench(ports, left_out)


def _department_of(measurements: Measurements, folder: Path, path: Path) -> Department:
    department = read_site(folder).department
    if measurements.site != department.site:
        raise InputError(f"{path}: site", f"measurements of {measurements.site!r}", f"of {department.site!r}")
    return department


def _without(measurements: Measurements, places: Sequence[bool]) -> Measurements:
    """Empty some readings."""
    empty = {"volume_m3": None, "time_s": None, "pressure_pa": None, "flow_m3_s": None}
    left = [
        one.model_copy(update=empty) if out else one for one, out in zip(measurements.readings, places, strict=True)
    ]
    return measurements.model_copy(update={"readings": left})


def _used_before(department: Department, measurements: Measurements) -> dict[int, int]:
    """Find readings that fits were made from, place to fit: counted again they would feign knowledge nobody has."""
    fits = {
        used: fit.number
        for fit in department.commissioned.values()
        if (fit.carrier, fit.machine_kind) == (measurements.carrier, measurements.machine_kind)
        for used in fit.readings
    }
    return {place: fits[one] for place, one in enumerate(reading_ids(measurements)) if one in fits}


def _fits(used: dict[int, int]) -> str:
    numbers = [str(number) for number in sorted(set(used.values()))]
    return f"fit {numbers[0]} was" if len(numbers) == 1 else f"fits {' and '.join(numbers)} were"


def _slug(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "it"
