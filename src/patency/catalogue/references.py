"""Names that name nothing, and descriptions that contradict each other."""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING

from patency.catalogue.carrier_references import carrier_findings
from patency.catalogue.carrier_sweeps import sweep_findings
from patency.catalogue.chambers import chamber_findings
from patency.catalogue.connectors import Connector
from patency.catalogue.faults import unnamed
from patency.catalogue.fits import fit_findings
from patency.catalogue.nodes import Finding
from patency.catalogue.parts import parts

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from patency.catalogue.department import Department
    from patency.catalogue.nodes import Path

    NamesAt = Callable[..., set[str]]


def broken_references(department: Department, names: NamesAt) -> list[Finding]:
    """Find every name that names nothing, and what contradicts another description.

    Parameters
    ----------
    department
        The department, or as much of it as could be read.
    names
        Gives the names that stand at a path of the files, also of entries that could not be read.

    Returns
    -------
    list[Finding]
        All of them; none for a sound department.
    """
    checks = (_connectors, _instructions, _machines, _sensors, _sets, _reference_loads, _day, fit_findings)
    carriers = (carrier_findings(key, carrier, names) for key, carrier in department.carriers.items())
    named = (check(department, names) for check in checks)
    return list(chain(*named, chamber_findings(department), sweep_findings(department), *carriers))


def _connectors(department: Department, names: NamesAt) -> Iterator[Finding]:
    families = names("connector_families")
    for path, connector in parts(department, Connector):
        yield from unnamed((*path, "family"), connector.family, families, "a connector family")


def _instructions(department: Department, names: NamesAt) -> Iterator[Finding]:
    for key, instrument in department.instruments.items():
        if instrument.instructions is not None:
            path = ("instruments", key, "instructions")
            yield from unnamed(path, instrument.instructions, names("instructions"), "processing instructions")


def _machines(department: Department, names: NamesAt) -> Iterator[Finding]:
    for key, machine in department.machines.items():
        path: Path = ("machines", key)
        yield from unnamed((*path, "kind"), machine.kind, names("machine_kinds"), "a kind of machine")
        for place, carrier in enumerate(machine.docks):
            yield from unnamed((*path, "docks", place), carrier, names("carriers"), "a carrier")
        kind = department.machine_kinds.get(machine.kind)
        sensors = kind.sensors if kind else {}
        for name in machine.sensor_offsets if kind else ():
            others = {sensor for sensor, told in sensors.items() if told.quantity != "pressure"}
            pressures = names("machine_kinds", machine.kind, "sensors") - others
            yield from unnamed((*path, "sensor_offsets", name), name, pressures, "a pressure sensor of its kind")
        for name, whole_time_s in machine.programmes.items():
            here = (*path, "programmes", name)
            yield from unnamed(here, name, names("programmes"), "a programme")
            programme = department.programmes.get(name)
            holds_s = sum(stage.hold_s for stage in programme.stages) if programme else 0.0
            if whole_time_s < holds_s:
                what = f"the whole time is {whole_time_s / 60:g} min, shorter than its stages hold"
                yield Finding(here, what, f"at least {holds_s / 60:g} min")


def _sensors(department: Department, names: NamesAt) -> Iterator[Finding]:
    """Where the physics needs to know the place of a sensor, it has to be a place of the machine or its carriers."""
    circuits = {circuit for carrier in names("carriers") for circuit in names("carriers", carrier, "circuits")}
    hydraulic = {"circulation", "dock", *circuits}
    for kind_key, kind in department.machine_kinds.items():
        arms = names("machine_kinds", kind_key, "arms")
        allowed = {"rotation": arms, "pressure": hydraulic, "flow": hydraulic}
        for key, sensor in kind.sensors.items():
            if sensor.quantity in allowed:
                expected = "an arm" if sensor.quantity == "rotation" else "circulation, dock or a circuit"
                path = ("machine_kinds", kind_key, "sensors", key, "place")
                yield from unnamed(path, sensor.place, allowed[sensor.quantity], expected)


def _sets(department: Department, names: NamesAt) -> Iterator[Finding]:
    for key, each in department.sets.items():
        for instrument in each.contents:
            path = ("sets", key, "contents", instrument)
            yield from unnamed(path, instrument, names("instruments"), "an instrument")


def _reference_loads(department: Department, names: NamesAt) -> Iterator[Finding]:
    for key, load in department.reference_loads.items():
        path: Path = ("reference_loads", key)
        yield from unnamed((*path, "carrier"), load.carrier, names("carriers"), "a carrier")
        yield from unnamed((*path, "programme"), load.programme, names("programmes"), "a programme")
        for place, lumen in enumerate(load.lumens):
            here = (*path, "lumens", place)
            yield from unnamed((*here, "instrument"), lumen.instrument, names("instruments"), "an instrument")
            instrument = department.instruments.get(lumen.instrument)
            if instrument is not None:
                pieces = ("instruments", lumen.instrument, "pieces")
                yield from unnamed((*here, "piece"), lumen.piece, names(*pieces), f"a piece of {lumen.instrument}")
                if lumen.piece in instrument.pieces:
                    lumens = names(*pieces, lumen.piece, "lumens")
                    yield from unnamed((*here, "lumen"), lumen.lumen, lumens, f"a lumen of {lumen.piece}")


def _day(department: Department, names: NamesAt) -> Iterator[Finding]:
    if department.day is None:
        return
    day, seen = department.day, set()
    if day.shift_starts.date() != day.date:
        yield Finding(("day", "shift_starts"), f"{day.shift_starts} is another day", f"a time on {day.date}")
    for place, waiting in enumerate(day.waiting):
        path = ("day", "waiting", place, "set")
        yield from unnamed(path, waiting.set, names("sets"), "a set")
        if waiting.set in seen:
            yield Finding(path, f"{waiting.set!r} waits a second time", "every set once")
        seen.add(waiting.set)
