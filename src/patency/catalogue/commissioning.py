"""Commissioning by measurement: what is measured on the bench, and what was fitted to it for this department."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from patency.catalogue.fields import (
    CalendarDay,
    Coordinate,
    Described,
    Duration,
    Flow,
    Name,
    Source,
    Temperature,
    Volume,
)
from patency.catalogue.written import Plain

Pressure = Annotated[float, Plain("pressure")]
Share = Annotated[float, Plain("share", above=0.0, highest=1.0)]
Number = Annotated[int, Field(ge=1)]
Sha256 = Annotated[str, Field(pattern="^[0-9a-f]{64}$")]


class ShareInstrument(Described):
    """An instrument whose uncertainty goes with what it shows: bucket and stopwatch, flow meter."""

    uncertainty: Share
    """Expanded (k = 2) uncertainty of one reading as a share of it."""
    source: Source


class PressureInstrument(Described):
    """A pressure gauge."""

    uncertainty_pa: Annotated[float, Plain("pressure", above=0.0)]
    """Expanded (k = 2) uncertainty of one reading."""
    height_m: Coordinate | None = None
    """Height of the gauge above the carrier's rails; None: it is reckoned at the level of the sump's water."""
    machine: Name | None = None
    sensor: Name | None = None
    """Where the gauge is a machine's own sensor: which of which machine; its error is then one in all its readings."""
    source: Source

    @model_validator(mode="after")
    def _sensor_of_a_machine(self) -> PressureInstrument:
        if (self.machine is None) != (self.sensor is None):
            raise ValueError("one of machine and sensor alone|both or neither")
        return self


class Instruments(Described):
    """What is measured with."""

    bucket: ShareInstrument
    gauge: PressureInstrument | None = None
    meter: ShareInstrument | None = None


class BenchSetup(Described):
    """How the carrier stands in the machine while something is measured; all ports not named are closed."""

    open: Annotated[list[Name], Field(min_length=1)]
    """Ports that are open, with their own hose where they have one."""
    fitted: dict[Name, Name] = {}
    """Open port to the accessory that stands on it."""
    temperature_c: Temperature
    pump_speed: Annotated[float, Field(gt=0, le=1.5)] = 1.0


class BenchReading(Described):
    """One reading: what is to be read, and what was."""

    setup: Name
    instrument: Literal["bucket", "gauge", "meter"]
    at: Name
    """The port of a bucket; ``circulation``, ``dock`` or a circuit of a gauge; ``pump`` of the meter."""
    volume_m3: Volume | None = None
    """Of a bucket: what ran in."""
    time_s: Duration | None = None
    """Of a bucket: in which time."""
    pressure_pa: Pressure | None = None
    """Of a gauge."""
    height_m: Coordinate | None = None
    """Of a gauge: height of this tap above the carrier's rails; None: that of the gauge."""
    flow_m3_s: Flow | None = None
    """Of the meter."""
    on: CalendarDay | None = None
    """Day of the reading."""

    @property
    def value(self) -> float | None:
        """Flow [m³/s] or gauge pressure [Pa]; None where nothing was read."""
        if self.instrument == "gauge":
            return self.pressure_pa
        if self.instrument == "meter":
            return self.flow_m3_s
        return None if self.volume_m3 is None or self.time_s is None else self.volume_m3 / self.time_s

    @model_validator(mode="after")
    def _read_with_its_instrument(self) -> BenchReading:
        values = {"volume": self.volume_m3, "time": self.time_s, "pressure": self.pressure_pa, "flow": self.flow_m3_s}
        belongs = {"bucket": {"volume", "time"}, "gauge": {"pressure"}, "meter": {"flow"}}[self.instrument]
        given = {name for name, value in values.items() if value is not None}
        if given - belongs:
            raise ValueError(f"{min(given - belongs)} of a {self.instrument}|{' and '.join(sorted(belongs))}")
        if given and given != belongs:
            raise ValueError(f"{given.pop()} alone|{' and '.join(sorted(belongs))}")
        if any(values[name] == 0.0 for name in given - {"pressure"}):
            raise ValueError("a reading of zero|more than zero, or the reading left empty")
        return self


class Measurements(Described):
    """What is to be measured on the bench, or was."""

    format: Literal["patency-measurements/1"]
    site: Name
    carrier: Name
    machine_kind: Name
    instruments: Instruments
    setups: Annotated[dict[Name, BenchSetup], Field(min_length=1)]
    readings: Annotated[list[BenchReading], Field(min_length=1)]


class FittedFactor(Described):
    """By which factor something differs from its description."""

    factor: Annotated[float, Field(gt=0)]
    """Times the pump's head or flow; times the resistance of a part: its local losses and its friction."""
    low: Annotated[float, Field(gt=0)]
    high: Annotated[float, Field(gt=0)]
    """Ends of the 95 % interval."""

    @model_validator(mode="after")
    def _in_order(self) -> FittedFactor:
        if not self.low <= self.factor <= self.high:
            raise ValueError(f"{self.low:g}, {self.factor:g}, {self.high:g} out of order|low, factor, high in order")
        return self


class FittedCycles(Described):
    """The kept cycles a fit was made from."""

    machine: Name
    """In which they ran."""
    on_top_of: Annotated[int, Field(ge=0)]
    """Number of the fit to bench readings that it starts from; 0 where it starts from the description."""
    records: Annotated[list[Sha256], Field(min_length=1)]
    """SHA-256 of each cycle's record."""


class CommissionedFit(Described):
    """What was fitted to measurements of one carrier in one kind of machine; the latest of its number is in force."""

    carrier: Name
    machine_kind: Name
    number: Number
    """1 for the first fit of this carrier in this kind of machine, one more for each that follows."""
    id: Sha256
    """SHA-256 of everything else in this entry."""
    fitted_on: CalendarDay
    by: Name
    source: Source
    """Which readings, of which days."""
    readings: list[Sha256]
    """SHA-256 of each reading on the bench it was fitted to, so that none is taken for a new one later."""
    cycles: FittedCycles | None = None
    """What it was fitted to where that are kept cycles; None where it was fitted to readings on the bench."""
    pump_head_share: Annotated[float, Field(ge=0)]
    """Half width of the 95 % interval of the pump's head as a share, the widest over the flows measured at."""
    factors: Annotated[dict[Name, FittedFactor], Field(min_length=1)]
    covariance: list[list[float]]
    """Of the natural logarithms of the factors, in their order."""

    @model_validator(mode="after")
    def _made_from_something(self) -> CommissionedFit:
        if bool(self.readings) == (self.cycles is not None):
            raise ValueError("readings and cycles, or neither|readings on the bench or cycles")
        return self

    @model_validator(mode="after")
    def _covariance_of_its_factors(self) -> CommissionedFit:
        if [len(row) for row in self.covariance] != [len(self.factors)] * len(self.factors):
            raise ValueError(f"not {len(self.factors)} rows of {len(self.factors)} numbers|one row for each factor")
        return self
