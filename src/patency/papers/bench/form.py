"""The measurement form: what to set up, what to read, room to write it down, on one page."""

from __future__ import annotations

import math
from dataclasses import dataclass
from importlib import resources
from typing import TYPE_CHECKING

from patency.flow import BenchModel
from patency.papers.typesetting import set_pdf, set_pictures

if TYPE_CHECKING:
    from datetime import datetime

    from patency.catalogue import BenchReading, BenchSetup, Department, Measurements

_FILLING_S = 30.0  # a stopwatch pressed by hand is read to half a percent of this
_BUCKETS_L = (0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0)
_SEVERAL = 6  # ports beyond which they are counted instead of named
CAUTIONS = (
    "Follow the machine's instructions on who may run the circulation for a measurement, and how.",
    "Never bypass a door's lock. Water only, no process chemicals; let hot water cool and drain.",
    "Moving arms, jets, wet floor, electricity: protective equipment and local rules apply.",
    "Read each value three times and write down the middle one. A reading that cannot be made stays empty.",
)


@dataclass(frozen=True, slots=True)
class FormSetup:
    """A set-up in words.

    Parameters
    ----------
    letter
        How the readings refer to it.
    name
        Its name.
    ports
        What is open and closed, what stands on it.
    water
        Temperature and pump speed.
    """

    letter: str
    name: str
    ports: str
    water: str


@dataclass(frozen=True, slots=True)
class FormReading:
    """A reading in words.

    Parameters
    ----------
    number
        Its number in the file of the measurements.
    letter
        Of its set-up.
    what
        Instrument and place.
    hint
        What the description lets expect, and for a bucket what to fill.
    blanks
        Units of what is written down.
    """

    number: str
    letter: str
    what: str
    hint: str
    blanks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BenchForm:
    """What stands on the form.

    Parameters
    ----------
    site, carrier, machine
        Where and what is measured.
    instruments
        One line for each instrument.
    setups
        The set-ups, in the order of the readings.
    readings
        The readings.
    cautions
        Lines a person has to have read.
    """

    site: str
    carrier: str
    machine: str
    instruments: tuple[str, ...]
    setups: tuple[FormSetup, ...]
    readings: tuple[FormReading, ...]
    cautions: tuple[str, ...]


def bench_form(department: Department, measurements: Measurements) -> BenchForm:
    """Put measurements into the words of a form.

    Parameters
    ----------
    department
        The department.
    measurements
        What is to be measured.

    Returns
    -------
    BenchForm
        What stands on the form.

    Raises
    ------
    InputError
        If the measurements name something that does not exist.
    """
    model = BenchModel(department, measurements)
    shown = model.predict((), model.shown()[:0]).shown
    letters = {name: _letter(place) for place, name in enumerate(measurements.setups)}
    readings = tuple(
        _reading(place, letters[reading.setup], reading, float(value))
        for place, (reading, value) in enumerate(zip(measurements.readings, shown, strict=True), start=1)
    )
    ports = len(department.carriers[measurements.carrier].ports)
    return BenchForm(
        site=measurements.site,
        carrier=measurements.carrier,
        machine=measurements.machine_kind,
        instruments=_instruments(measurements),
        setups=tuple(
            FormSetup(letters[name], name, _ports(department, setup, ports), _water(setup))
            for name, setup in measurements.setups.items()
        ),
        readings=readings,
        cautions=CAUTIONS,
    )


def _letter(place: int) -> str:
    return chr(ord("A") + place) if place < 26 else f"A{place}"


def _instruments(measurements: Measurements) -> tuple[str, ...]:
    tools = measurements.instruments
    lines = [f"bucket and stopwatch, ± {tools.bucket.uncertainty * 100:g} % ({tools.bucket.source})"]
    if tools.gauge is not None:
        height = "" if tools.gauge.height_m is None else f", {tools.gauge.height_m * 1000:g} mm above the rails"
        lines.append(f"pressure gauge, ± {tools.gauge.uncertainty_pa / 100:g} mbar{height} ({tools.gauge.source})")
    if tools.meter is not None:
        lines.append(f"flow meter, ± {tools.meter.uncertainty * 100:g} % ({tools.meter.source})")
    return tuple(lines)


def _ports(department: Department, setup: BenchSetup, ports: int) -> str:
    if len(setup.open) == ports:
        return "all ports open"
    named = ", ".join(setup.open)
    if len(setup.open) > _SEVERAL:
        named = f"{setup.open[0]} to {setup.open[-1]} ({len(setup.open)} ports)"
    fitted = "".join(f"; on {port}: {department.accessories[part].name}" for port, part in setup.fitted.items())
    return f"open: {named}; all others capped{fitted}"


def _water(setup: BenchSetup) -> str:
    speed = "" if setup.pump_speed == 1.0 else f", pump at {setup.pump_speed * 100:g} %"
    return f"{setup.temperature_c:g} °C{speed}"


def _reading(number: int, letter: str, reading: BenchReading, shown: float) -> FormReading:
    if reading.instrument == "gauge":
        return FormReading(str(number), letter, f"pressure: {reading.at}", f"about {shown / 100:.0f} mbar", ("mbar",))
    litres_a_minute = math.exp(shown) * 6e4
    about = f"about {litres_a_minute:.3g} L/min"
    if reading.instrument == "meter":
        return FormReading(str(number), letter, f"flow meter: {reading.at}", about, ("L/min",))
    fill = min(_BUCKETS_L, key=lambda litres: abs(math.log(litres / (litres_a_minute * _FILLING_S / 60.0))))
    hint = f"{about}: {fill:g} L in {fill / litres_a_minute * 60.0:.0f} s"
    return FormReading(str(number), letter, f"bucket: port {reading.at}", hint, ("L", "s"))


def bench_form_pdf(form: BenchForm, printed: datetime) -> bytes:
    """Set the form as an A4 PDF.

    Parameters
    ----------
    form
        What stands on it.
    printed
        Time written into the file, with its zone.

    Returns
    -------
    bytes
        The PDF.
    """
    return set_pdf(resources.files("patency.papers.bench") / "form.typ", form, printed)


def bench_form_pictures(form: BenchForm, pixels_per_inch: float = 110.0) -> list[bytes]:
    """Set the form as pictures, one a page.

    Parameters
    ----------
    form
        What stands on it.
    pixels_per_inch
        Resolution.

    Returns
    -------
    list[bytes]
        PNG files.
    """
    return set_pictures(resources.files("patency.papers.bench") / "form.typ", form, pixels_per_inch)
