"""Instrument types with the pieces they come apart into, and the lumens through those pieces."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Literal

from pydantic import Field, Tag, model_validator

from patency.catalogue.connectors import Connector
from patency.catalogue.fields import (
    Bore,
    Described,
    Distance,
    Length,
    Loss,
    Mass,
    Name,
    Opening,
    Roughness,
    Size,
)
from patency.catalogue.stated_limits import FlowLimit, PressureLimit, StatedLimit, VelocityLimit
from patency.catalogue.tagged import told_apart_by
from patency.catalogue.written import Plain
from patency.quantities import Limit


class BoreSegment(Described):
    """A stretch of round bore."""

    shape: Literal["bore"]
    bore_m: Bore
    """Inner diameter."""
    length_m: Length
    """Length along the flow."""
    roughness_m: Roughness | None = None
    """Equivalent sand roughness; the site's default where not stated."""
    loss: Loss | None = None
    """Extra loss in velocity heads of this segment (bends, valves), beyond the steps to its neighbours; the site's
    default where a lumen states none."""


class AnnulusSegment(Described):
    """A stretch between a tube and a rod inside it."""

    shape: Literal["annulus"]
    outer_m: Bore
    """Inner diameter of the tube."""
    inner_m: Bore
    """Diameter of the rod."""
    length_m: Length
    """Length along the flow."""
    roughness_m: Roughness | None = None
    """Equivalent sand roughness; the site's default where not stated."""
    loss: Loss | None = None
    """Extra loss in velocity heads of this segment; the site's default where a lumen states none."""

    @model_validator(mode="after")
    def _rod_inside_tube(self) -> AnnulusSegment:
        widest_rod = self.inner_m.nominal + (self.inner_m.plus_minus or 0.0)
        narrowest_tube = self.outer_m.nominal - (self.outer_m.plus_minus or 0.0)
        if widest_rod >= narrowest_tube:
            raise ValueError("the rod can be as wide as the tube|inner smaller than outer with all their tolerance")
        return self


Segment = Annotated[
    Annotated[BoreSegment, Tag("shape: bore")] | Annotated[AnnulusSegment, Tag("shape: annulus")],
    told_apart_by("shape"),
]
"""Any stretch of a lumen."""


class SideHoles(Described):
    """Openings in the wall of a lumen, which a flushing sleeve must not cover."""

    count: Annotated[int, Field(ge=1, le=99)]
    diameter_m: Size
    from_inlet_m: Distance
    """Distance of the nearest hole from the inlet end."""


class Need(Described):
    """What a lumen is stated to need. Nothing stated means nothing is invented here."""

    minimum_pressure: PressureLimit | None = None
    """At the connection."""
    minimum_flow: FlowLimit | None = None
    minimum_velocity: VelocityLimit | None = None
    minimum_shear: PressureLimit | None = None
    """Wall shear stress."""
    maximum_pressure: Annotated[Limit | Literal["none"], StatedLimit("pressure", word="none")] | None = None
    """At the connection; ``none`` states that the instructions state none, None that nobody has looked."""


class FedBy(StrEnum):
    """How water gets into a lumen."""

    CONNECTION = "connection"
    INJECTOR_NOZZLE = "injector nozzle"


class Lumen(Described):
    """A flow path through a piece."""

    segments: Annotated[list[Segment], Field(min_length=1)]
    """In series, in the direction of flow."""
    fed_by: FedBy
    """A connection carries all water through the lumen; an injector nozzle stands inside its open end."""
    inlet: Connector | None = None
    """Connector at the inlet end; None for an open end."""
    outlet: Connector | None = None
    """Connector at the outlet end; None for an open end."""
    direction: Literal["inlet to outlet", "either"] = "inlet to outlet"
    side_holes: list[SideHoles] | None = None
    """An empty list states that it has none, None that nobody has looked."""
    dead_ends_m: list[Size] | None = None
    """Depths of blind branches, which no through-flow rinses; an empty list states that there are none, None that
    nobody has looked."""
    grip_m: Distance | None = None
    """Length of outer wall at the inlet end that a flushing sleeve may cover."""
    strainer_upstream: bool | None = None
    """Whether a strainer has to stand in line before this lumen; None when not known."""
    need: Need = Need()

    @property
    def length_m(self) -> float:
        """Length along the flow [m], nominal."""
        return sum(segment.length_m.nominal for segment in self.segments)

    @model_validator(mode="after")
    def _an_injector_nozzle_needs_an_open_bore(self) -> Lumen:
        if self.fed_by is FedBy.INJECTOR_NOZZLE and self.inlet is not None:
            raise ValueError("an injector nozzle stands in an open end, but the inlet has a connector|no inlet")
        if self.fed_by is FedBy.INJECTOR_NOZZLE and self.segments[0].shape != "bore":
            raise ValueError("an injector nozzle cannot stand in an annulus|a bore as first segment")
        return self

    @model_validator(mode="after")
    def _nothing_beyond_its_end(self) -> Lumen:
        if self.grip_m is not None and self.grip_m > self.length_m:
            raise ValueError(f"the grip is longer than the lumen|at most {self.length_m * 1e3:g} mm")
        if any(holes.from_inlet_m > self.length_m for holes in self.side_holes or ()):
            raise ValueError(
                f"a side hole beyond the end of the lumen|at most {self.length_m * 1e3:g} mm from the inlet"
            )
        return self


class Form(StrEnum):
    """Simple bodies of which a piece is drawn, one after the other along its axis."""

    TUBE = "tube"
    ROD = "rod"
    CONE = "cone"
    BLOCK = "block"
    JAW = "jaw"
    RING_HANDLE = "ring handle"
    COIL = "coil"


class Body(Described):
    """One stretch of a piece's outline, from the proximal to the distal end."""

    form: Form
    length_m: Size
    width_m: Size
    """Outer diameter, or width where it is not round."""
    name: Name | None = None
    """What people call this stretch; the word of its form where not stated."""
    thickness_m: Size | None = None
    """Of a block: its other width. Of a ring handle: thickness of the bar. Of a coil: thickness of the wire."""
    end_width_m: Annotated[float, Plain("length", lowest=0.0)] | None = None
    """Of a cone: its diameter at the distal end; 0 mm for a tip."""
    opening_deg: Opening | None = None
    """Of a jaw: angle between its halves when it is open for washing."""
    turns: Annotated[float, Field(gt=0, le=200)] | None = None
    """Of a coil: its turns."""


class Cup(Described):
    """A hollow that holds water unless it can run out."""

    name: Name
    opens: Literal["proximal", "distal", "side"]
    """Which way the opening looks, in the piece's own axis."""
    width_m: Size
    depth_m: Size


class MeshFile(Described):
    """A file that holds a shape as closed triangles.

    Of a piece: z along its axis, proximal end at zero, flat side along x. Of a carrier: in the carrier's own axes.
    """

    file: Name
    """Its name in the department's folder: STL, PLY or GLB."""
    unit: Literal["mm", "m"]
    """What one unit of length in the file stands for."""


class Part(StrEnum):
    """Movable or removable parts whose state matters in the washer-disinfector."""

    JAWS = "jaws"
    RATCHET = "ratchet"
    TAP = "tap"
    VALVE = "valve"
    SEALS = "seals"
    CAP = "cap"
    LEVER = "lever"
    BLADES = "blades"
    SCREWS = "screws"


class State(StrEnum):
    """State in which such a part has to be for washing."""

    OPEN = "open"
    RELEASED = "released"
    REMOVED = "removed"
    LOOSENED = "loosened"
    HALF_SPREAD = "half spread"


class Placing(StrEnum):
    """Where a piece goes in the load carrier."""

    PORT = "port"
    BASKET = "basket"
    POD = "pod"
    COIL_RACK = "coil rack"
    OPTIC_HOLDER = "optic holder"


class PieceType(Described):
    """One piece of a dismantled instrument."""

    name: Name
    count: Annotated[int, Field(ge=1, le=20)] = 1
    """How many of it one instrument has."""
    placing: Placing
    outline: Annotated[list[Body], Field(min_length=1)]
    """Its drawn shape along its axis, proximal end first."""
    mesh: MeshFile | None = None
    """A shape that replaces the drawn one where jets, clearances and drainage are computed."""
    mass_kg: Mass | None = None
    lumens: dict[Name, Lumen] = {}
    states: dict[Part, State] | None = None
    """Jaws open, taps open, seals removed: what has to be so before loading. Empty states that nothing moves or comes
    off, None that nobody has stated it."""
    cups: list[Cup] | None = None
    """Hollows; an empty list states that there are none, None that nobody has looked."""
    way_up: Literal["distal up", "distal down", "lying", "coiled"]
    """How it stands or lies for washing."""
    sharp: bool = False
    needs_net: bool | None = None
    """Whether jets could lift it out of an open basket; None when not known, and then it goes under a net."""
    least_bend_radius_m: Size | None = None
    """For cables and tubing on the coil rack."""

    @property
    def goes_under_net(self) -> bool:
        """Whether a net has to go over it in a basket: it needs one, or nobody states that it needs none."""
        return self.placing is Placing.BASKET and self.needs_net is not False

    @property
    def length_m(self) -> float:
        """Overall length along the axis [m]."""
        return sum(body.length_m for body in self.outline)

    @property
    def widest_m(self) -> float:
        """Largest outer width [m]."""
        return max(body.width_m for body in self.outline)

    @model_validator(mode="after")
    def _lumens_where_they_can_be_fed(self) -> PieceType:
        if self.placing is Placing.PORT and not self.lumens:
            raise ValueError("placed on a port but has no lumen|a lumen, or another placing")
        if self.lumens and self.placing is not Placing.PORT:
            raise ValueError(f"has lumens but is placed in: {self.placing}|placing: port")
        return self

    @model_validator(mode="after")
    def _coiled_on_the_coil_rack(self) -> PieceType:
        if (self.placing is Placing.COIL_RACK) != (self.way_up == "coiled"):
            raise ValueError(f"placing: {self.placing} with way_up: {self.way_up}|coiled on the coil rack only")
        return self


class InstrumentType(Described):
    """A whole device, of which the department may own many."""

    name: Name
    family: Name
    """The trade's family: trocar sleeve, forceps, optic, cable."""
    pieces: Annotated[dict[Name, PieceType], Field(min_length=1)]
    instructions: Name | None = None
    """Key of its processing instructions; None means there are none at hand."""
