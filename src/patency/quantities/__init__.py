"""Units at the edges, intervals, limits with their source, and the three answers."""

from patency.quantities.answer import Answer, worst
from patency.quantities.notation import INSIDE_UNIT, UNITS, expectation, parse_quantity, pattern
from patency.quantities.values import STANDARD_GRAVITY_M_S2, Interval, Limit, Toleranced
from patency.quantities.water import (
    saturation_pressure_pa,
    saturation_temperature_c,
    water_density_kg_m3,
    water_dynamic_viscosity_pa_s,
    water_kinematic_viscosity_m2_s,
)

__all__ = [
    "INSIDE_UNIT",
    "STANDARD_GRAVITY_M_S2",
    "UNITS",
    "Answer",
    "Interval",
    "Limit",
    "Toleranced",
    "expectation",
    "parse_quantity",
    "pattern",
    "saturation_pressure_pa",
    "saturation_temperature_c",
    "water_density_kg_m3",
    "water_dynamic_viscosity_pa_s",
    "water_kinematic_viscosity_m2_s",
    "worst",
]
