"""Washer-disinfectors: how a kind of machine drives water, and the machines of that kind."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import Field, model_validator

from patency.catalogue.carriers import Place
from patency.catalogue.fields import (
    Bore,
    CalendarDay,
    Coordinate,
    Described,
    Direction,
    Distance,
    Duration,
    Elevation,
    Flow,
    Name,
    Opening,
    Pressure,
    Rotation,
    Size,
    Source,
)
from patency.catalogue.instruments import BoreSegment
from patency.quantities import UNITS

_BALANCED = 0.01  # of the moment if all nozzles pointed level across, one way: what friction and make may outweigh


class PumpPoint(Described):
    """One point of the circulation pump's curve."""

    flow_m3_s: Flow
    head_m: Distance


class Pump(Described):
    """The circulation pump at its rated speed."""

    points: Annotated[list[PumpPoint], Field(min_length=3)]
    """Rising flow, falling head, the first at zero flow; the last is the run-out."""
    relative_speed: Annotated[float, Field(gt=0, le=1.5)]
    """Speed at which it runs in this kind of machine over the one its curve was taken at."""
    sump_level_m: Coordinate
    """Water level in the sump above the carrier's rails (usually negative)."""
    source: Source

    @model_validator(mode="after")
    def _falls(self) -> Pump:
        pairs = zip(self.points, self.points[1:], strict=False)
        if self.points[0].flow_m3_s != 0.0 or any(b.flow_m3_s <= a.flow_m3_s or b.head_m >= a.head_m for a, b in pairs):
            raise ValueError("the curve does not fall|points from zero flow, flow rising and head falling")
        return self


class ArmJet(Described):
    """Equal nozzles of a spray arm."""

    count: Annotated[int, Field(ge=1, le=200)]
    outlet_m: Bore
    discharge_coefficient: Annotated[float, Field(gt=0, le=1)]


class ArmNozzle(Described):
    """Where one nozzle of a spray arm sits and which way it points."""

    from_axis_m: Coordinate
    """Distance from the arm's axis along the arm; negative on its other half."""
    elevation_deg: Elevation
    """Angle of its jet above the horizontal; negative where it points down."""
    turned_deg: Direction
    """Angle of its jet seen from above: 0 points along the arm in the direction in which distances grow, 90 across it,
    counter-clockwise."""
    spread_deg: Opening
    """Whole angle of the cone that the jet fills."""


class SprayArm(Described):
    """A turning arm, as hydraulics and sweep see it."""

    fed_from: Literal["machine", "dock"]
    """Before the dock, or on the carrier behind it."""
    height_m: Coordinate
    """Height of its jets above the carrier's rails."""
    swept_thickness_m: Size
    """Height of the volume it sweeps, centred on its height."""
    radius_m: Size
    centre_x_m: Coordinate
    centre_y_m: Coordinate
    feed: list[BoreSegment] | None = None
    """From its branch to the arm; an empty list states that nothing stands between, None that nobody has stated it."""
    jets: ArmJet
    nozzles: list[ArmNozzle] | None = None
    """Each nozzle's place and direction; None where nobody has stated them, and then nobody knows what they strike."""
    rotation_rpm: Rotation | None = None
    """Usual speed of its turning."""
    rotation_at_pa: Pressure | None = None
    """Pressure at the circulation at which it does, above the surroundings at the level of the sump's water; None when
    not known."""
    turns: Literal["clockwise", "counter-clockwise"] | None = None
    """Which way it turns, seen from above; None where its nozzles tell or nobody has stated it."""

    @property
    def turning_sense(self) -> int | None:
        """1 where it turns counter-clockwise, seen from above, -1 where clockwise; None where that is not known.

        What is stated holds. Else its jets drive it: it turns against the moment about its axis of what leaves its
        nozzles, unless they nearly balance each other. L. Euler 1754, on J. A. Segner's wheel of 1750.
        """
        if self.turns is not None:
            return 1 if self.turns == "counter-clockwise" else -1
        nozzles = [] if self.nozzles is None else self.nozzles
        across = [one.from_axis_m * _across(one) for one in nozzles]
        if abs(sum(across)) <= _BALANCED * sum(abs(one.from_axis_m) for one in nozzles):
            return None
        return -1 if sum(across) > 0.0 else 1

    @model_validator(mode="after")
    def _as_many_nozzles_as_jets(self) -> SprayArm:
        if self.nozzles is not None and len(self.nozzles) != self.jets.count:
            raise ValueError(f"{len(self.nozzles)} nozzles, but the count is {self.jets.count}|as many as jets: count")
        if any(abs(nozzle.from_axis_m) > self.radius_m for nozzle in self.nozzles or ()):
            raise ValueError(f"a nozzle beyond the end of the arm|at most {self.radius_m * 1e3:g} mm from the axis")
        return self


def _across(nozzle: ArmNozzle) -> float:
    """Return the part of a jet's direction that points across the arm, the way it turns counter-clockwise."""
    return math.cos(math.radians(nozzle.elevation_deg)) * math.sin(math.radians(nozzle.turned_deg))


class Sensor(Described):
    """A sensor whose record the verdict relies on."""

    quantity: Literal["temperature", "pressure", "rotation", "conductivity", "dosed volume", "flow"]
    place: Name
    """``circulation`` for the pressure at the machine's node, ``dock``, a circuit's name, ``chamber``, an arm."""
    unit: Name
    uncertainty: Annotated[float, Field(ge=0)] | None = None
    """Expanded (k = 2) uncertainty in its unit; None when not known."""
    height_m: Coordinate | None = None
    """Of a pressure: height of its tap above the carrier's rails; None when not known."""
    note: Name | None = None

    @model_validator(mode="after")
    def _height_of_a_pressure(self) -> Sensor:
        if self.height_m is not None and self.quantity != "pressure":
            raise ValueError(f"height of a sensor of {self.quantity}|the height of a pressure alone")
        return self

    @model_validator(mode="after")
    def _unit_of_its_quantity(self) -> Sensor:
        dimension = "volume" if self.quantity == "dosed volume" else self.quantity
        if self.unit not in UNITS[dimension]:
            raise ValueError(f"{self.unit!r} is no unit of {self.quantity}|one of {', '.join(UNITS[dimension])}")
        return self


class MachineKind(Described):
    """A kind of washer-disinfector: all machines of a kind drive water the same way."""

    name: Name
    pump: Pump
    discharge: Annotated[list[BoreSegment], Field(min_length=1)]
    """From the pump to the machine's node, where arms and dock branch: filter, pipe."""
    dock: Annotated[list[BoreSegment], Field(min_length=1)]
    """From the machine's node to the carrier."""
    arms: dict[Name, SprayArm]
    sensors: dict[Name, Sensor]
    chamber_width_m: Size
    chamber_depth_m: Size
    chamber_height_m: Size
    chamber_at: Place | None = None
    """Its front left lower corner in the axes of the carrier in it; None where nobody has stated it."""


class SensorOffset(Described):
    """What one machine's sensor was found to show too much when it was compared, such as at commissioning."""

    value: float
    """What it shows too much, in its unit; negative where it shows too little."""
    found_on: CalendarDay
    source: Source


class Machine(Described):
    """One machine."""

    kind: Name
    """Key of its kind."""
    docks: list[Name]
    """Carriers that dock in it."""
    programmes: dict[Name, Duration]
    """Programmes it offers, with the whole time of each."""
    sensor_offsets: dict[Name, SensorOffset] = {}
    """Offsets found of its pressure sensors, by the sensor's key in the kind; one left out was never compared."""
    note: Name | None = None
