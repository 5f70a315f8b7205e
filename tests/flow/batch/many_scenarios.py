"""Scenarios of invented networks in which anything may differ."""

from __future__ import annotations

import numpy as np

from patency.flow import CompiledNetwork, Scenarios


def varied(compiled: CompiledNetwork, chance: np.random.Generator, count: int, width: float = 0.02) -> Scenarios:
    """Every field moved by up to a share of itself, outlets opened and closed, the water warmed."""
    geometry, outlets = compiled.geometry, compiled.outlets

    def around(values: np.ndarray) -> np.ndarray:
        return values * (1.0 + chance.uniform(-width, width, (count, values.size)))

    annulus = geometry.rod_diameter_m > 0.0
    diameter, rod = around(geometry.diameter_m), around(geometry.rod_diameter_m)
    return Scenarios(
        count=count,
        diameter_m=np.where(annulus, np.maximum(diameter, 1.01 * rod), diameter),
        rod_diameter_m=rod,
        length_m=around(geometry.length_m),
        roughness_m=np.minimum(around(geometry.roughness_m), 0.2 * (diameter - rod).clip(1e-6)),
        minor_loss=around(geometry.minor_loss),
        discharge_coefficient=around(geometry.discharge_coefficient),
        is_open=np.where(chance.random((count, outlets.is_open.size)) < 0.05, 1 - outlets.is_open, outlets.is_open),
        elevation_m=around(outlets.elevation_m),
        exit_loss=around(outlets.exit_loss),
        relative_speed=compiled.pump.relative_speed * (1.0 + chance.uniform(-width, width, count)),
        pump_head_factor=1.0 + chance.uniform(-width, width, count),
        temperature_c=chance.uniform(20.0, 60.0, count).round(1),
    )
