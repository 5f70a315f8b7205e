"""What a network of water paths is: pump, links, outlets and the segments they are made of.

Plain frozen values in SI units with the names of the network file. Nothing is checked when a value is
made; reading a file and compiling a network check everything.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated, Literal

from pydantic import AfterValidator, ConfigDict, Discriminator, Field, Tag
from pydantic_core import PydanticCustomError

from patency.errors import InputError
from patency.quantities import STANDARD_GRAVITY_M_S2, water_density_kg_m3, water_kinematic_viscosity_m2_s

SUMP = "SUMP"

Finite = Annotated[float, Field(strict=True, allow_inf_nan=False)]
NotNegative = Annotated[Finite, Field(ge=0)]
Positive = Annotated[Finite, Field(gt=0)]
Name = Annotated[str, Field(strict=True, min_length=1)]

_STRICT = ConfigDict(extra="forbid")


def _refused(key: str, what: str, expected: str) -> PydanticCustomError:
    return PydanticCustomError("refused", "{what}", {"key": key, "what": what, "expected": expected})


@dataclass(frozen=True, slots=True, kw_only=True)
class Bore:
    """A round passage.

    Parameters
    ----------
    diameter_m
        Inner diameter [m].
    length_m
        Length [m].
    roughness_m
        Equivalent sand-grain roughness of the wall [m]; less than half the diameter.
    minor_loss
        Sum of the single losses in and before the segment, times v²/2g of the segment [-].
    shape
        Which kind of segment this is, as the network file says it.
    """

    __pydantic_config__ = _STRICT
    shape: Literal["bore"] = "bore"
    diameter_m: Positive
    length_m: Positive
    roughness_m: NotNegative
    minor_loss: NotNegative


@dataclass(frozen=True, slots=True, kw_only=True)
class Annulus:
    """The gap between a tube and a rod that lies in its middle.

    Parameters
    ----------
    outer_diameter_m
        Inner diameter of the tube [m].
    inner_diameter_m
        Diameter of the rod [m].
    length_m
        Length [m].
    roughness_m
        Equivalent sand-grain roughness of both walls [m]; less than half the gap's hydraulic diameter.
    minor_loss
        Sum of the single losses in and before the segment, times v²/2g of the segment [-].
    shape
        Which kind of segment this is, as the network file says it.
    """

    __pydantic_config__ = _STRICT
    shape: Literal["annulus"] = "annulus"
    outer_diameter_m: Positive
    inner_diameter_m: Positive
    length_m: Positive
    roughness_m: NotNegative
    minor_loss: NotNegative


@dataclass(frozen=True, slots=True, kw_only=True)
class Orifice:
    """An opening in a wall, which costs the head of the jet that leaves it and no exit loss on top.

    Parameters
    ----------
    diameter_m
        Diameter of the opening [m].
    discharge_coefficient
        Flow over that of an ideal jet [-].
    shape
        Which kind of segment this is, as the network file says it.
    """

    __pydantic_config__ = _STRICT
    shape: Literal["orifice"] = "orifice"
    diameter_m: Positive
    discharge_coefficient: Positive


def _roughness_fits(segment: Bore | Annulus, hydraulic_diameter_m: float) -> None:
    if segment.roughness_m >= hydraulic_diameter_m / 2:
        raise _refused(
            "roughness_m",
            f"{segment.roughness_m:g}",
            f"less than half the hydraulic diameter, which is {hydraulic_diameter_m:g}",
        )


def _bore_fits(bore: Bore) -> Bore:
    """Let a bore pass whose wall is not rougher than the bore is wide."""
    _roughness_fits(bore, bore.diameter_m)
    return bore


def _annulus_fits(annulus: Annulus) -> Annulus:
    """Let an annulus pass whose rod is thinner than its tube."""
    if annulus.inner_diameter_m >= annulus.outer_diameter_m:
        raise _refused(
            "inner_diameter_m",
            f"{annulus.inner_diameter_m:g}",
            f"less than outer_diameter_m, which is {annulus.outer_diameter_m:g}",
        )
    _roughness_fits(annulus, annulus.outer_diameter_m - annulus.inner_diameter_m)
    return annulus


Segment = Bore | Annulus | Orifice
CheckedSegment = Annotated[
    Annotated[Bore, AfterValidator(_bore_fits)] | Annotated[Annulus, AfterValidator(_annulus_fits)] | Orifice,
    Field(discriminator="shape"),
]
Segments = Annotated[tuple[CheckedSegment, ...], Field(min_length=1)]


@dataclass(frozen=True, slots=True, kw_only=True)
class PumpLaw:
    """A pump whose head falls from shut-off with a power of the flow: w² H0 - c w^(2-n) Q^n.

    Parameters
    ----------
    shutoff_head_m
        Head without flow at relative speed 1 [m].
    coefficient
        The coefficient c, for Q in m³/s; 0 is a source of constant head.
    exponent
        The exponent n [-].
    relative_speed
        Speed over the speed the curve was measured at [-].
    sump_level_m
        Height of the water the pump draws from, in the frame of the outlets' elevations [m].
    """

    __pydantic_config__ = _STRICT
    shutoff_head_m: Positive
    coefficient: NotNegative
    exponent: Annotated[Finite, Field(ge=1)]
    relative_speed: Positive = 1.0
    sump_level_m: Finite = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PumpPoints:
    """A pump whose head is read from measured points, with straight lines between them.

    Parameters
    ----------
    points
        Pairs of flow [m³/s] and head [m], from zero flow on, flow rising, head falling; the last is the run-out.
    relative_speed
        Speed over the speed the points were measured at [-]; flow scales with it, head with its square.
    sump_level_m
        Height of the water the pump draws from, in the frame of the outlets' elevations [m].
    """

    __pydantic_config__ = _STRICT
    points: Annotated[tuple[tuple[NotNegative, Finite], ...], Field(min_length=2)]
    relative_speed: Positive = 1.0
    sump_level_m: Finite = 0.0


def _points_fall(pump: PumpPoints) -> PumpPoints:
    """Let a pump pass whose points start at zero flow and give one falling line."""
    if pump.points[0][0] != 0 or pump.points[0][1] <= 0:
        raise _refused("points[0]", f"{list(pump.points[0])}", "zero flow and a head above 0")
    for place, ((flow, head), (next_flow, next_head)) in enumerate(pairwise(pump.points), start=1):
        if next_flow <= flow or next_head >= head:
            raise _refused(f"points[{place}]", f"{[next_flow, next_head]}", f"more flow, less head than {[flow, head]}")
    return pump


def _pump_kind(pump: object) -> str:
    """Which of the two descriptions of a pump this is: the one with points, or else the law."""
    return "points" if isinstance(pump, PumpPoints) or (isinstance(pump, dict) and "points" in pump) else "law"


Pump = PumpLaw | PumpPoints
CheckedPump = Annotated[
    Annotated[PumpLaw, Tag("law")] | Annotated[PumpPoints, AfterValidator(_points_fall), Tag("points")],
    Discriminator(_pump_kind),
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Water:
    """The water that runs.

    Parameters
    ----------
    temperature_c
        Temperature [°C]; density and viscosity follow from it unless they are given.
    density_kg_m3
        Density [kg/m³], where it is known better.
    kinematic_viscosity_m2_s
        Kinematic viscosity [m²/s], where it is known better.
    """

    __pydantic_config__ = _STRICT
    temperature_c: Finite
    density_kg_m3: Positive | None = None
    kinematic_viscosity_m2_s: Positive | None = None


def _water_is_liquid(water: Water) -> Water:
    """Let water pass whose missing properties can be computed at its temperature."""
    try:
        if water.density_kg_m3 is None:
            water_density_kg_m3(water.temperature_c)
        if water.kinematic_viscosity_m2_s is None:
            water_kinematic_viscosity_m2_s(water.temperature_c)
    except InputError as error:
        raise _refused("temperature_c", error.what, error.expected) from error
    return water


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """A path between two nodes.

    Parameters
    ----------
    id
        Its name, unlike that of every other link and outlet.
    from_node
        Node where a positive flow enters; ``SUMP`` for the one link that holds the pump.
    to_node
        Node where a positive flow leaves.
    segments
        What the water passes, in the direction of positive flow; at least one.
    """

    __pydantic_config__ = _STRICT
    id: Name
    from_node: Annotated[Name, Field(alias="from")]
    to_node: Annotated[Name, Field(alias="to")]
    segments: Segments


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlet:
    """A path from a node to the open air of the chamber.

    Parameters
    ----------
    id
        Its name, unlike that of every other link and outlet.
    node
        Node that feeds it.
    state
        ``open``, or ``closed`` by a cap: then it carries exactly nothing.
    elevation_m
        Height of the discharge [m].
    exit_loss
        Loss where the water leaves, times v²/2g of the last segment [-]; not counted behind an orifice.
    segments
        What the water passes, in the direction of flow; at least one.
    """

    __pydantic_config__ = _STRICT
    id: Name
    node: Name
    state: Literal["open", "closed"]
    elevation_m: Finite
    exit_loss: NotNegative = 1.0
    segments: Segments


@dataclass(frozen=True, slots=True, kw_only=True)
class Network:
    """Pump, links and outlets, and the water in them.

    Parameters
    ----------
    water
        The water.
    pump
        The pump, in series in the link that leaves ``SUMP``.
    links
        Paths between nodes; loops are allowed.
    outlets
        Paths into the open.
    gravity_m_s2
        Acceleration of free fall [m/s²].
    format
        Name and version of the file format.
    """

    __pydantic_config__ = _STRICT
    format: Literal["patency-network/1"] = "patency-network/1"
    water: Annotated[Water, AfterValidator(_water_is_liquid)]
    gravity_m_s2: Positive = STANDARD_GRAVITY_M_S2
    pump: CheckedPump
    links: Annotated[tuple[Link, ...], Field(min_length=1)]
    outlets: Annotated[tuple[Outlet, ...], Field(min_length=1)]
