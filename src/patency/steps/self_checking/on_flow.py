"""Published values and closed forms for friction, orifices and whole lumens."""

from __future__ import annotations

import math
from functools import partial

from patency.flow import (
    Annulus,
    Bore,
    Link,
    Network,
    Orifice,
    Outlet,
    PumpLaw,
    Segment,
    Water,
    annulus_constant,
    friction_factor,
    solve,
)
from patency.quantities import STANDARD_GRAVITY_M_S2
from patency.steps.self_checking.check import PublishedCheck

_WHITE = "F. M. White, Fluid Mechanics, table 6.3, laminar friction in a concentric annulus"
_WHITE_TABLE = {0.01: 80.11, 0.05: 86.27, 0.1: 89.37, 0.2: 92.35, 0.4: 94.71, 0.6: 95.59, 0.8: 95.92}
_DENSITY_KG_M3 = 998.21
_VISCOSITY_M2_S = 1.0034e-6
# A feed so wide that all the pressure stands at the lumen.
_WIDE_FEED = Bore(diameter_m=0.5, length_m=0.001, roughness_m=0.0, minor_loss=0.0)


def _flow_ml_min(segment: Segment, pressure_pa: float, exit_loss: float) -> float:
    """Push water at 20 °C through one segment under a steady pressure, through the whole solver."""
    head_m = pressure_pa / (_DENSITY_KG_M3 * STANDARD_GRAVITY_M_S2)
    network = Network(
        water=Water(temperature_c=20.0, density_kg_m3=_DENSITY_KG_M3, kinematic_viscosity_m2_s=_VISCOSITY_M2_S),
        pump=PumpLaw(shutoff_head_m=head_m, coefficient=0.0, exponent=1.0),
        links=(Link(id="feed", from_node="SUMP", to_node="N", segments=(_WIDE_FEED,)),),
        outlets=(
            Outlet(id="lumen", node="N", state="open", elevation_m=0.0, exit_loss=exit_loss, segments=(segment,)),
        ),
    )
    return solve(network).flows_m3_s["lumen"] * 6e7


def _poiseuille_ml_min(diameter_m: float, length_m: float, pressure_pa: float) -> float:
    viscosity_pa_s = _VISCOSITY_M2_S * _DENSITY_KG_M3
    return math.pi * diameter_m**4 * pressure_pa / (128 * viscosity_pa_s * length_m) * 6e7


def _thin_gap_ml_min(outer_m: float, inner_m: float, length_m: float, pressure_pa: float) -> float:
    """Laminar flow between concentric cylinders (Bird, Stewart and Lightfoot, Transport Phenomena, section 2.4)."""
    viscosity_pa_s = _VISCOSITY_M2_S * _DENSITY_KG_M3
    k = inner_m / outer_m
    bracket = (1 - k**4) - (1 - k**2) ** 2 / math.log(1 / k)
    return math.pi * (outer_m / 2) ** 4 * pressure_pa / (8 * viscosity_pa_s * length_m) * bracket * 6e7


def _torricelli_ml_min(diameter_m: float, coefficient: float, pressure_pa: float) -> float:
    return coefficient * math.pi / 4 * diameter_m**2 * math.sqrt(2 * pressure_pa / _DENSITY_KG_M3) * 6e7


def flow_checks() -> list[PublishedCheck]:
    """List the checks on flow.

    Returns
    -------
    list[PublishedCheck]
        Friction by the book, and single lumens through the whole solver against closed forms.
    """
    annulus = [
        PublishedCheck(
            "flow",
            f"f·Re of a concentric annulus, diameter ratio {ratio:g}",
            _WHITE,
            expected,
            "1",
            0.0051,
            "half the last printed digit, rounded up",
            partial(annulus_constant, ratio),
        )
        for ratio, expected in _WHITE_TABLE.items()
    ]
    bore = Bore(diameter_m=0.001, length_m=0.3, roughness_m=0.0, minor_loss=0.0)
    gap = Annulus(outer_diameter_m=0.005, inner_diameter_m=0.0046, length_m=0.33, roughness_m=0.0, minor_loss=0.0)
    hole = Orifice(diameter_m=0.002, discharge_coefficient=0.61)
    return [
        *annulus,
        PublishedCheck(
            "flow",
            "friction factor by Swamee and Jain at Re 60 000, roughness 0.0023",
            "worked example in the documentation of a general fluid library, two digits",
            0.027,
            "1",
            5e-4,
            "half the last printed digit",
            partial(friction_factor, 60_000.0, 0.0023),
        ),
        PublishedCheck(
            "flow",
            "1 mm bore, 300 mm, 50 mbar, 20 °C, no losses",
            "closed form: Hagen and Poiseuille",
            _poiseuille_ml_min(0.001, 0.3, 5000.0),
            "mL/min",
            1e-5,
            "the solver's own tolerance",
            partial(_flow_ml_min, bore, 5000.0, 0.0),
        ),
        PublishedCheck(
            "flow",
            "annulus 5.0/4.6 mm, 330 mm, 50 mbar, 20 °C, no losses",
            "closed form: Bird, Stewart and Lightfoot, Transport Phenomena, section 2.4",
            _thin_gap_ml_min(0.005, 0.0046, 0.33, 5000.0),
            "mL/min",
            1e-5,
            "the solver's own tolerance",
            partial(_flow_ml_min, gap, 5000.0, 0.0),
        ),
        PublishedCheck(
            "flow",
            "2 mm sharp orifice, coefficient 0.61, 200 mbar",
            "closed form: Torricelli",
            _torricelli_ml_min(0.002, 0.61, 20_000.0),
            "mL/min",
            1e-3,
            "the feed is wide, not endless",
            partial(_flow_ml_min, hole, 20_000.0, 0.0),
        ),
    ]
