"""A network of ours as input text for the EPANET 2.2 engine, so that the two solve the same equations.

EPANET rounds three constants of nature; the text is scaled by exactly that rounding (source: the engine's own
code, files hydcoeffs.c and types.h of release 2.2):

* it takes 32.2 ft/s² for g, so friction lengths grow by 32.2 / (9.80665/0.3048);
* it takes 0.02517 for 8/(pi² g) in ft, so single losses grow by the true value over 0.02517;
* it takes 28.317 L for a cubic foot, so flows shrink by 28.316846592/28.317 on their way back.

Other choices that make the comparison fair: closed outlets are left out (a closed pipe of the engine still
conducts a little), and so are outlets that run dry here (the engine would let the outside flow in). An annulus is
the round pipe with the same friction at every flow: diameter 4 A C/(64 pi D_h), length and roughness scaled
to match. An orifice is a single loss 1/Cd² of the pipe beside it, or where it stands alone of a pipe of next to
no length. Each outlet ends in a reservoir at its elevation. Accuracy is the tightest the engine has (1e-5) plus
limits on head error and flow change.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from patency.flow import Bore, Network, Orifice, PumpPoints, annulus_constant
from patency.flow.compiled_network import water_state

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from patency.flow import Link, Outlet, Pump, Segment

GRAVITY_FT = 9.80665 / 0.3048
LENGTH_SCALE = 32.2 / GRAVITY_FT
LOSS_SCALE = 8.0 / (math.pi**2 * GRAVITY_FT) / 0.02517
LITRES_A_SECOND = 1000.0 * 28.317 / 28.316846592
TIGHT = "ACCURACY 1e-5\nHEADERROR 1e-9\nFLOWCHANGE 1e-11"


def pipe_values(segment: Segment, extra_loss: float) -> tuple[float, float, float, float]:
    """Diameter [m], length [m], roughness [m] and single loss of the pipe that stands for a segment."""
    if isinstance(segment, Orifice):
        return segment.diameter_m, 1e-13, 1e-12, segment.discharge_coefficient**-2
    if isinstance(segment, Bore):
        return segment.diameter_m, segment.length_m, segment.roughness_m, segment.minor_loss + extra_loss
    wide, rod = segment.outer_diameter_m, segment.inner_diameter_m
    gap, area = wide - rod, math.pi / 4 * (wide**2 - rod**2)
    diameter = 4 * area * annulus_constant(rod / wide) / (64 * math.pi * gap)
    length = math.pi**2 * diameter**5 * segment.length_m / (16 * gap * area**2)
    loss = (segment.minor_loss + extra_loss) * (math.pi / 4 * diameter**2 / area) ** 2
    return diameter, length, segment.roughness_m * diameter / gap, loss


def pipes_of(segments: tuple[Segment, ...], exit_loss: float) -> list[tuple[float, float, float, float]]:
    """The pipes for a row of segments; an orifice beside a pipe becomes a single loss of that pipe."""
    last = len(segments) - 1
    rows = [pipe_values(segment, exit_loss if k == last else 0.0) for k, segment in enumerate(segments)]
    long = [k for k, segment in enumerate(segments) if not isinstance(segment, Orifice)]
    if not long:
        return rows
    for k, (diameter, _, _, loss) in enumerate(rows):
        if k not in long:
            wide, length, roughness, other = rows[long[0]]
            rows[long[0]] = wide, length, roughness, other + loss * (wide / diameter) ** 4
    return [rows[k] for k in long]


class InputText:
    """The growing text, section by section."""

    def __init__(self) -> None:
        self.junctions: list[str] = []
        self.reservoirs: list[str] = []
        self.pipes: list[str] = []

    def path(self, name: str, start: str, end: str, segments: tuple[Segment, ...], exit_loss: float) -> None:
        """Add a path as pipes in a row, the first of which carries its name."""
        at = start
        pipes = pipes_of(segments, exit_loss)
        for k, (diameter, length, roughness, loss) in enumerate(pipes):
            last = k == len(pipes) - 1
            to = end if last else f"{name}.{k}"
            if not last:
                self.junctions.append(f"{to} 0")
            values = (diameter * 1e3, roughness * 1e3, loss * LOSS_SCALE)
            pipe = name if k == 0 else f"{name}.{k}"
            self.pipes.append(
                f"{pipe} {at} {to} {length * LENGTH_SCALE!r} {values[0]!r} {values[1]!r} {values[2]!r} Open"
            )
            at = to

    def whole(self, network: Network, accuracy: str) -> str:
        """All sections."""
        viscosity = water_state(network.water).kinematic_viscosity_m2_s
        parts = [
            ("[JUNCTIONS]", self.junctions),
            ("[RESERVOIRS]", self.reservoirs),
            ("[PIPES]", self.pipes),
            ("[PUMPS]", [f"PUMP SUMP PUMPED HEAD CURVE SPEED {network.pump.relative_speed!r}"]),
            ("[CURVES]", curve(network.pump)),
            ("[OPTIONS]", ["UNITS LPS", "HEADLOSS D-W", f"VISCOSITY {viscosity!r}", "TRIALS 500", accuracy]),
            ("[TIMES]", ["DURATION 0"]),
            ("[REPORT]", ["STATUS NO", "SUMMARY NO", "MESSAGES NO"]),
        ]
        return "".join(f"{head}\n" + "".join(f"{row}\n" for row in rows) + "\n" for head, rows in parts) + "[END]\n"


def curve(pump: Pump) -> list[str]:
    """The pump's curve: three points that the engine turns back into our power law, or all points."""
    if isinstance(pump, PumpPoints):
        points = list(pump.points)
    else:
        most = (pump.shutoff_head_m / pump.coefficient) ** (1 / pump.exponent)
        points = [(q, pump.shutoff_head_m - pump.coefficient * q**pump.exponent) for q in (0.0, most / 2, most * 0.9)]
    return [f"CURVE {flow * LITRES_A_SECOND!r} {head!r}" for flow, head in points]


def input_text(network: Network, without: Iterable[str], accuracy: str = TIGHT) -> str:
    """The network for the engine, without the outlets named."""
    left_out = set(without)
    text = InputText()
    nodes = {end for link in network.links for end in (link.from_node, link.to_node)} - {"SUMP"}
    text.junctions.extend(f"{node} 0" for node in sorted([*nodes, "PUMPED"]))
    text.reservoirs.append(f"SUMP {network.pump.sump_level_m!r}")
    for link in network.links:
        text.path(link.id, *ends(link), link.segments, 0.0)
    for outlet in network.outlets:
        if outlet.id not in left_out:
            text.reservoirs.append(f"AIR.{outlet.id} {outlet.elevation_m!r}")
            text.path(outlet.id, outlet.node, f"AIR.{outlet.id}", outlet.segments, outlet.exit_loss)
    return text.whole(network, accuracy)


def ends(link: Link) -> tuple[str, str]:
    """Where a link starts and ends, the pump's being behind the pump."""
    return ("PUMPED" if link.from_node == "SUMP" else link.from_node), link.to_node


def not_running(outlets: Iterable[Outlet], dry: Iterable[str]) -> set[str]:
    """Names of outlets that are closed or dry."""
    return {outlet.id for outlet in outlets if outlet.state == "closed"} | set(dry)


class Engine:
    """The engine with one network loaded; `flows` solves it."""

    def __init__(self, text: str, folder: Path) -> None:
        from wntr.epanet.toolkit import ENepanet

        (folder / "network.inp").write_text(text, encoding="ascii")
        self.project = ENepanet(version=2.2)
        self.project.ENopen(*(str(folder / f"network.{ending}") for ending in ("inp", "rpt", "bin")))
        self.project.ENopenH()

    def solve(self) -> None:
        """Solve from a cold start."""
        self.project.ENinitH(10)  # 10: begin with fresh flows, save nothing
        self.project.ENrunH()

    def flows_m3_s(self, names: Iterable[str]) -> dict[str, float]:
        """Flow of each pipe named."""
        index = self.project.ENgetlinkindex
        return {name: self.project.ENgetlinkvalue(index(name), 8) / LITRES_A_SECOND for name in names}

    def heads_m(self, nodes: Iterable[str]) -> dict[str, float]:
        """Total head of each node named."""
        index = self.project.ENgetnodeindex
        return {node: self.project.ENgetnodevalue(index(node), 10) for node in nodes}

    def close(self) -> None:
        """Give the engine's memory back."""
        self.project.ENcloseH()
        self.project.ENclose()
