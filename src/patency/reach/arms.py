"""Turning spray arms with their jets, and free jets of open ports, in the carrier's axes.

Both have the flow that the load's own solution gives them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import Leaning
from patency.quantities import water_density_kg_m3
from patency.reach.solids.placed import level_toward

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.catalogue import ArmNozzle, Carrier, MachineKind, SprayArm

_LEANS = 1e-6  # cosine of the steepest inclination that leans to a side


@dataclass(frozen=True, slots=True)
class Jet:
    """The jet of one nozzle of an arm, seen on the arm: x along the arm, z up.

    Parameters
    ----------
    from_axis_m
        Distance of the nozzle from the arm's axis along the arm [m]; negative on the other half.
    direction
        Unit vector in which the jet leaves, the nozzle's own velocity counted in.
    half_spread_rad
        Half the angle of the cone it fills, which begins as wide as the outlet [rad].
    flow_m3_s
        Its flow [m³/s].
    speed_m_s
        Speed at which it leaves, the nozzle's own velocity counted in [m/s].
    outlet_m
        Diameter of its outlet [m].
    """

    from_axis_m: float
    direction: tuple[float, float, float]
    half_spread_rad: float
    flow_m3_s: float
    speed_m_s: float
    outlet_m: float


@dataclass(frozen=True, slots=True)
class TurningArm:
    """A spray arm as the jets' computation sees it.

    Parameters
    ----------
    name
        Its name.
    centre_m
        Place of its axis at the height of its nozzles, in the carrier's axes [m].
    radius_m, swept_thickness_m
        Size of the volume it sweeps [m], centred on its height.
    rotation_rpm
        How fast it turns [1/min].
    jets
        Its jets.
    """

    name: str
    centre_m: tuple[float, float, float]
    radius_m: float
    swept_thickness_m: float
    rotation_rpm: float
    jets: tuple[Jet, ...]


@dataclass(frozen=True, slots=True)
class FreeJet:
    """The jet of an open port at which nothing stands.

    Parameters
    ----------
    port
        The port.
    at_m
        Where it leaves, in the carrier's axes [m].
    direction
        Unit vector in which it leaves.
    bore_m
        Width of the passage it leaves [m].
    speed_m_s
        Mean speed at which it leaves [m/s].
    """

    port: str
    at_m: tuple[float, float, float]
    direction: tuple[float, float, float]
    bore_m: float
    speed_m_s: float


@dataclass(frozen=True, slots=True)
class Arms:
    """All arms of a machine in one load with its free jets, and what is not known of them.

    Parameters
    ----------
    arms
        The arms of which all is known.
    water_density_kg_m3
        Density of the water [kg/m³].
    gaps
        What is not stated or not computed of arms; with any, what the jets strike is not known.
    free
        Jets of open ports.
    forces_times
        By how much jets can push more than at the flow they have here, which is the least: force goes with the square
        of the flow.
    """

    arms: tuple[TurningArm, ...]
    water_density_kg_m3: float
    gaps: tuple[str, ...]
    free: tuple[FreeJet, ...] = ()
    forces_times: float = 1.0


def arms_of_load(kind: MachineKind, flows_m3_s: Mapping[str, float], temperature_c: float) -> Arms:
    """Return the arms of a kind of machine with the flow they have in one load.

    Parameters
    ----------
    kind
        The kind of machine: nozzles with place, direction and spread, speed of the arms.
    flows_m3_s
        Arm to its flow in that very load [m³/s]; the lower end of its interval is the worst case.
    temperature_c
        Temperature of the water [°C].

    Returns
    -------
    Arms
        The chamber is the carrier's axes: arms are described from the rails on which the carrier stands. The nozzles
        of an arm are equal and share its flow equally. A jet leaves its nozzle with the speed that the pressure gives
        it, see ``jet_speed_m_s``, and the nozzle carries it along: ω × r is added. Its cone is taken to be as wide
        around the sum. An arm without flow has no jets.

    Examples
    --------
    A nozzle of 4 mm and 0.65 that passes 4.5 L/min has a jet of 9.2 m/s.

    >>> round(jet_speed_m_s(4.5 / 60000, 0.004, 0.65), 1)
    9.2
    """
    arms, gaps = [], []
    for name, arm in kind.arms.items():
        missing = _gap(name, arm, flows_m3_s)
        if missing:
            gaps.append(missing)
        else:
            arms.append(_turning(name, arm, flows_m3_s[name] / arm.jets.count))
    return Arms(tuple(arms), water_density_kg_m3(temperature_c), tuple(gaps))


def free_jets_of_load(carrier: Carrier, flows_m3_s: Mapping[str, float]) -> tuple[FreeJet, ...]:
    """Return the jets of ports that are left open.

    Parameters
    ----------
    carrier
        The carrier.
    flows_m3_s
        Open port to its flow in that very load [m³/s]; the lower end of its interval is the worst case.

    Returns
    -------
    tuple[FreeJet, ...]
        A rigid port sends its jet the way a piece stands there. A hose that hangs free points nowhere in particular,
        nor does a port that leans to a side nobody has stated: they strike nothing here. Neither does what leaves the
        far end of a bore that stands over an injector nozzle, for that may be nothing.
    """
    jets = []
    for name, flow in flows_m3_s.items():
        port = carrier.ports[name]
        up = math.radians(port.stand.inclination_deg)
        pointed = port.stand.leans is not None or math.cos(up) < _LEANS
        if port.hose is not None or not pointed or flow <= 0.0:
            continue
        x, y, _ = level_toward(port.stand.leans or Leaning.BACK)
        direction = (math.cos(up) * float(x), math.cos(up) * float(y), math.sin(up))
        bore = port.bore_m.nominal
        at = (port.at.x_m, port.at.y_m, port.at.z_m)
        jets.append(FreeJet(name, at, direction, bore, jet_speed_m_s(flow, bore, 1.0)))
    return tuple(jets)


def jet_speed_m_s(flow_m3_s: float, outlet_m: float, discharge_coefficient: float) -> float:
    """Return the speed at which a jet leaves its nozzle.

    Parameters
    ----------
    flow_m3_s
        Its flow [m³/s].
    outlet_m
        Diameter of the outlet [m].
    discharge_coefficient
        Of the outlet.

    Returns
    -------
    float
        Speed [m/s]: sqrt(2 Δp / ρ) of the pressure that drives this flow, as if friction in the outlet took nothing.
    """
    return flow_m3_s / (discharge_coefficient * math.pi * outlet_m**2 / 4)


def jet_force_n(density_kg_m3: float, flow_m3_s: float, speed_m_s: float) -> float:
    """Return the force with which a jet pushes a plate that it strikes straight on.

    Parameters
    ----------
    density_kg_m3
        Density of the water [kg/m³].
    flow_m3_s
        Flow of the jet [m³/s].
    speed_m_s
        Its speed [m/s].

    Returns
    -------
    float
        ρ Q v [N]: the momentum theorem, the water leaving along the plate.
    """
    return density_kg_m3 * flow_m3_s * speed_m_s


def _gap(name: str, arm: SprayArm, flows_m3_s: Mapping[str, float]) -> str:
    if arm.nozzles is None:
        return f"place and direction of the nozzles of the {name} are not stated"
    if arm.rotation_rpm is None:
        return f"how fast the {name} turns is not stated"
    if arm.turning_sense is None:
        return f"which way the {name} turns is not stated, and its nozzles balance each other"
    return "" if name in flows_m3_s else f"the flow of the {name} is not computed"


def _turning(name: str, arm: SprayArm, flow_m3_s: float) -> TurningArm:
    outlet, rotation = arm.jets.outlet_m.nominal, arm.rotation_rpm or 0.0
    speed = jet_speed_m_s(flow_m3_s, outlet, arm.jets.discharge_coefficient)
    turns_rad_s = (arm.turning_sense or 0) * rotation * 2 * math.pi / 60
    jets = []
    for nozzle in (arm.nozzles or ()) if flow_m3_s > 0.0 else ():
        direction, fast = _leaving(nozzle, speed, turns_rad_s)
        spread = math.radians(nozzle.spread_deg) / 2
        jets.append(Jet(nozzle.from_axis_m, direction, spread, flow_m3_s, fast, outlet))
    centre = (arm.centre_x_m, arm.centre_y_m, arm.height_m)
    return TurningArm(name, centre, arm.radius_m, arm.swept_thickness_m, rotation, tuple(jets))


def _leaving(nozzle: ArmNozzle, speed_m_s: float, turns_rad_s: float) -> tuple[tuple[float, float, float], float]:
    """Return direction and speed of a jet, seen from the chamber, in the axes of its arm."""
    up, turned = math.radians(nozzle.elevation_deg), math.radians(nozzle.turned_deg)
    along = speed_m_s * math.cos(up) * math.cos(turned)
    across = speed_m_s * math.cos(up) * math.sin(turned) + turns_rad_s * nozzle.from_axis_m
    rises = speed_m_s * math.sin(up)
    fast = math.hypot(along, across, rises)
    return (along / fast, across / fast, rises / fast), fast
