"""Load carriers: levels, circuits with their manifold, ports with their places, baskets, coil rack."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Literal

from pydantic import Field, model_validator

from patency.catalogue.connectors import Connector
from patency.catalogue.fields import (
    Angle,
    Bore,
    Coordinate,
    Described,
    Distance,
    Duration,
    Length,
    Loss,
    Mass,
    Name,
    Roughness,
    Size,
)
from patency.catalogue.instruments import BoreSegment, MeshFile
from patency.catalogue.written import OrWord, Plain


class PortKind(StrEnum):
    """What kind of outlet a port is."""

    HOSE = "hose"
    NOZZLE = "nozzle"
    TAPER = "taper"


class Place(Described):
    """A place in the carrier's own axes [m]: x across, y along from the front, z up from the carrier's rails."""

    x_m: Coordinate
    y_m: Coordinate
    z_m: Coordinate


class Level(Described):
    """A level of the carrier."""

    name: Name
    height_m: Coordinate
    """Height of its floor above the rails."""
    arm_above_m: Annotated[float | Literal["none"], OrWord(Plain("length"), "none")] | None = None
    """Height of the lowest swept plane of the spray arm above it; ``none`` states that nothing turns above it, None
    that nobody has stated it."""

    @model_validator(mode="after")
    def _arm_is_above(self) -> Level:
        if isinstance(self.arm_above_m, float) and self.arm_above_m <= self.height_m:
            raise ValueError("the arm above it is not higher than its floor|arm_above higher than height")
        return self


class Circuit(Described):
    """A branch of the manifold: a pipe with ports along it."""

    fed_from: Name
    """``dock``, or the name of the circuit it branches from."""
    branches_at_m: Distance = 0.0
    """Distance along the feeding circuit at which it branches; has to be stated where it branches from one."""
    inlet: list[BoreSegment] | None = None
    """What stands between its feed and its pipe: dock fitting, riser, elbow. An empty list states that nothing does,
    None that nobody has stated it."""
    bore_m: Bore
    """Inner diameter of the pipe that carries the ports."""
    roughness_m: Roughness | None = None

    @model_validator(mode="after")
    def _branches_somewhere(self) -> Circuit:
        if self.fed_from != "dock" and "branches_at_m" not in self.model_fields_set:
            raise ValueError(
                "where it branches is not stated|branches_at: the distance along the circuit it is fed from"
            )
        return self


class PortHose(Described):
    """The hose that belongs to a port."""

    bore_m: Bore
    length_m: Length
    outer_m: Size
    """Outer diameter: the least bend radius is a multiple of it."""
    end: Connector
    """What is at its free end."""

    @model_validator(mode="after")
    def _has_a_wall(self) -> PortHose:
        if self.outer_m <= self.bore_m.nominal:
            raise ValueError("the hose is not wider outside than inside|outer larger than bore")
        return self


UPRIGHT_DEG = 90.0


class Leaning(StrEnum):
    """A side of the carrier toward which a piece can lean, seen by the loader in front of it."""

    BACK = "back"
    FRONT = "front"
    LEFT = "left"
    RIGHT = "right"


class Stand(Described):
    """How a piece that belongs to a port stands there."""

    inclination_deg: Angle
    """Angle of the piece's axis above the horizontal; 90 is upright."""
    support_at_m: Distance
    """Distance from the port, along the piece's axis, at which it rests against its support."""
    leans: Leaning | None = None
    """Toward which side it leans against its support; None where upright or not stated."""

    @model_validator(mode="after")
    def _upright_leans_to_no_side(self) -> Stand:
        if self.leans is not None and self.inclination_deg >= UPRIGHT_DEG:
            raise ValueError(f"leans {self.leans} and stands upright|an inclination below 90 °, or no side")
        return self


class Port(Described):
    """An outlet of a circuit."""

    kind: PortKind
    circuit: Name
    along_m: Distance
    """Distance along the circuit's pipe from its inlet."""
    level: Name
    at: Place
    end: Connector
    """Thread, taper or nipple of the port itself, without its hose."""
    bore_m: Bore
    """Passage of the port's fitting."""
    fitting_length_m: Length
    loss: Loss | None = None
    """Extra loss of the fitting in velocity heads (an elbow, a valve); the site's default where not stated."""
    hose: PortHose | None = None
    clearance_m: Size
    """Free height above the port up to whatever comes next: the swept plane of an arm, the level above."""
    reach_m: Size | None = None
    """Longest piece, measured along its axis, that finds room at this port; None: the clearance decides."""
    stand: Stand

    @property
    def free_end(self) -> Connector:
        """What the first accessory or the piece itself meets: the hose's end, or the port's own."""
        return self.end if self.hose is None else self.hose.end

    @model_validator(mode="after")
    def _hose_where_a_hose_is(self) -> Port:
        if self.kind is PortKind.HOSE and self.hose is None:
            raise ValueError("a hose port without a hose|hose: with bore, length, outer and end")
        if self.kind is not PortKind.HOSE and self.hose is not None:
            raise ValueError(f"a {self.kind} port with a hose|kind: hose, or no hose")
        return self


class WireMesh(Described):
    """Woven or welded wire with square openings."""

    wire_m: Size
    """Thickness of the wire."""
    pitch_m: Size
    """Distance from wire to wire, middle to middle."""

    @model_validator(mode="after")
    def _is_open(self) -> WireMesh:
        if self.wire_m >= self.pitch_m:
            raise ValueError("the wires leave no opening|wire thinner than pitch")
        return self

    @property
    def open_share(self) -> float:
        """Open area as a share of the whole, seen straight on."""
        return (1.0 - self.wire_m / self.pitch_m) ** 2


class FrameRod(Described):
    """A straight round part of the carrier: a pipe of the manifold, a rod that supports."""

    begins: Place
    ends: Place
    width_m: Size
    """Its outer diameter."""


class BasketArea(Described):
    """One place for a basket."""

    level: Name
    at: Place
    """Its front left lower corner."""
    width_m: Size
    depth_m: Size
    clear_height_m: Size
    mesh: WireMesh | None = None
    """What floor and walls of the basket are made of; None where nobody has stated it."""
    wall_height_m: Size | None = None
    """Height of its walls; the clear height where not stated."""


class CoilPlace(Described):
    """One place on the coil rack: a mandrel whose axis runs across the carrier."""

    level: Name
    at: Place
    """The middle of the mandrel's left face."""
    mandrel_diameter_m: Size
    pitch_m: Size
    """Axial room per turn."""
    turns: Annotated[int, Field(ge=1, le=50)]
    """How many turns find room."""
    bars: Annotated[int, Field(ge=3, le=60)] | None = None
    """How many bars the mandrel is made of; None where nobody has stated it."""
    bar_width_m: Size | None = None
    """Thickness of such a bar."""


class Carrier(Described):
    """A load carrier of the department."""

    name: Name
    width_m: Size
    depth_m: Size
    height_m: Size
    mass_limit_kg: Mass | None = None
    """Heaviest load; None when not known."""
    levels: Annotated[dict[Name, Level], Field(min_length=1)]
    circuits: Annotated[dict[Name, Circuit], Field(min_length=1)]
    ports: dict[Name, Port]
    """In the order of the walk when loading: near to far."""
    basket_areas: dict[Name, BasketArea] = {}
    coil_places: dict[Name, CoilPlace] = {}
    frame: dict[Name, FrameRod] | None = None
    """Pipes and rods of the carrier that can stand in a jet's way; None where nobody has stated them."""
    mesh: MeshFile | None = None
    """A shape that replaces its pipes and rods; baskets, pods and drums for coils are drawn all the same."""
    back_after_unload_s: Duration
    """Time from the end of a cycle until the carrier can be loaded again."""
