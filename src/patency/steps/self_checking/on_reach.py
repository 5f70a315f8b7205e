"""Published values and closed forms for jets, and for water that stays in cups and bores."""

from __future__ import annotations

import math
from functools import partial

from patency.catalogue import Cup
from patency.reach import hold_up_m, jet_force_n, jet_speed_m_s, kept_volume_m3, surface_tension_n_m
from patency.steps.self_checking.check import PublishedCheck

_RELEASE = "IAPWS R1-76(2014), table 1 (from memory, not verified)"
_TABLE_MN_M = {20.0: 72.74, 60.0: 66.24, 100.0: 58.91}
_ARCHIMEDES = "closed form: the hoof of Archimedes, The Method, proposition 12 to 14: two thirds of r² h"
_WIDTH_M, _DEPTH_M = 0.02, 0.03


def _tension_mn_m(temperature_c: float) -> float:
    return 1e3 * surface_tension_n_m(temperature_c)


def _rise_mm() -> float:
    return 1e3 * hold_up_m(0.002, 20.0)


def _speed_m_s() -> float:
    flow_m3_s = 0.65 * math.pi / 4.0 * 0.0044**2 * math.sqrt(2.0 * 23000.0 / 988.0)  # by the formula of orifices
    return jet_speed_m_s(flow_m3_s, 0.0044, 0.65)


def _kept_ml(over: float) -> float:
    """Water in a cup so tilted that its level runs from the lip to this share of the way across its bottom."""
    cup = Cup.model_validate({"name": "cup", "opens": "distal", "width": "20 mm", "depth": "30 mm"})
    steep = math.degrees(math.atan(_DEPTH_M / (over * _WIDTH_M)))
    return 1e6 * kept_volume_m3(cup, steep - 90.0)


def reach_checks() -> list[PublishedCheck]:
    """List the checks on jets and on water that stays.

    Returns
    -------
    list[PublishedCheck]
        Surface tension, capillary rise, speed and force of a jet, tilted cups.
    """
    tensions = [
        PublishedCheck(
            "reach",
            f"surface tension of water at {celsius:g} °C",
            _RELEASE,
            expected,
            "mN/m",
            0.0051,
            "half the last printed digit, rounded up",
            partial(_tension_mn_m, celsius),
        )
        for celsius, expected in _TABLE_MN_M.items()
    ]
    radius_ml = _WIDTH_M**2 / 4.0 * _DEPTH_M * 1e6
    closed = (
        (
            "speed of a jet driven by 230 mbar",
            "closed form: Torricelli, De motu gravium, 1644",
            math.sqrt(2.0 * 23000.0 / 988.0),
            "m/s",
            _speed_m_s,
        ),
        (
            "force of a jet of 6 L/min at 8 m/s on a plate",
            "closed form: momentum theorem, Euler, 1757",
            0.8,
            "N",
            partial(jet_force_n, 1000.0, 1e-4, 8.0),
        ),
        ("water in a cup tilted to half its bottom", _ARCHIMEDES, 2.0 / 3.0 * radius_ml, "mL", partial(_kept_ml, 0.5)),
        (
            "water in a cup tilted to the far edge of its bottom",
            "closed form: half a cylinder",
            math.pi / 2.0 * radius_ml,
            "mL",
            partial(_kept_ml, 1.0),
        ),
    )
    return [
        *tensions,
        PublishedCheck(
            "reach",
            "capillary rise of water in a tube of 1 mm radius",
            "F. M. White, Fluid Mechanics, chapter 1 (from memory, not verified)",
            15.0,
            "mm",
            0.29,
            "printed as 0.015 m; the surface tension there is rounded to two digits",
            _rise_mm,
        ),
        *(
            PublishedCheck("reach", name, source, expected, unit, 1e-9 * expected, "rounding", compute)
            for name, source, expected, unit, compute in closed
        ),
    ]
