"""Laminar flow against Hagen and Poiseuille, and jets against Torricelli: closed forms that any handbook prints.

Hagen-Poiseuille Q = pi d⁴ dp/(128 mu L) and wall shear dp d/(4 L); plane Poiseuille and the annulus' closed
form after R. B. Bird, W. E. Stewart and E. N. Lightfoot, Transport Phenomena, 2nd edition, 2002, section 2.4;
Torricelli v = sqrt(2 dp/rho) with a discharge coefficient. Agreement reached: 1e-9 of the flow.
"""

from __future__ import annotations

import math

import pytest

from patency.flow import Annulus, Bore, Orifice, solve
from patency.quantities import water_density_kg_m3, water_dynamic_viscosity_pa_s
from tests.flow.small_networks import under_pressure


@pytest.mark.parametrize(
    ("diameter", "length", "pressure", "temperature"),
    [(1e-3, 0.30, 5e3, 20.0), (0.5e-3, 0.33, 20e3, 20.0), (0.3e-3, 0.5, 50e3, 60.0), (0.7e-3, 0.6, 10e3, 45.0)],
)
def test_a_laminar_bore_carries_what_hagen_and_poiseuille_say(
    diameter: float, length: float, pressure: float, temperature: float
) -> None:
    bore = Bore(diameter_m=diameter, length_m=length, roughness_m=1e-6, minor_loss=0.0)
    result = solve(under_pressure(pressure, [bore], temperature))
    viscosity = water_dynamic_viscosity_pa_s(temperature)
    assert result.flows_m3_s["P0"] == pytest.approx(
        math.pi * diameter**4 * pressure / (128 * viscosity * length), rel=1e-9
    )
    assert result.segments["P0"][0].wall_shear_pa == pytest.approx(pressure * diameter / (4 * length), rel=1e-9)


def test_the_textbook_millimetre_carries_24_and_a_half_millilitres_a_minute() -> None:
    # d = 1 mm, L = 0.30 m, 5 kPa, 20 °C: 24.50 mL/min, 0.5200 m/s, Re 518.2, 4.167 Pa
    bore = Bore(diameter_m=1e-3, length_m=0.30, roughness_m=1.5e-6, minor_loss=0.0)
    result = solve(under_pressure(5e3, [bore], 20.0))
    (segment,) = result.segments["P0"]
    assert result.flows_m3_s["P0"] * 6e7 == pytest.approx(24.50, abs=0.01)
    assert segment.velocity_m_s == pytest.approx(0.5200, abs=5e-5)
    assert segment.reynolds == pytest.approx(518.2, abs=0.1)
    assert segment.wall_shear_pa == pytest.approx(4.167, abs=5e-4)


@pytest.mark.parametrize(("wide", "rod"), [(3e-3, 2e-3), (1e-3, 0.2e-3), (5e-3, 4.9e-3)])
def test_a_laminar_annulus_carries_what_its_closed_form_says(wide: float, rod: float) -> None:
    gap = Annulus(outer_diameter_m=wide, inner_diameter_m=rod, length_m=0.33, roughness_m=1e-6, minor_loss=0.0)
    result = solve(under_pressure(200.0, [gap], 20.0))
    k = rod / wide
    shape = 1 - k**4 - (1 - k**2) ** 2 / math.log(1 / k)
    expected = math.pi * 200.0 * (wide / 2) ** 4 / (8 * water_dynamic_viscosity_pa_s(20.0) * 0.33) * shape
    (segment,) = result.segments["P0"]
    assert segment.reynolds < 2000
    assert result.flows_m3_s["P0"] == pytest.approx(expected, rel=1e-9)
    # forces on a piece of length L: the pressure on the gap's area is held by both walls together
    mean_shear = 200.0 * (wide**2 - rod**2) / 4 / (0.33 * (wide + rod))
    assert segment.wall_shear_pa == pytest.approx(mean_shear, rel=1e-9)


@pytest.mark.parametrize(
    ("diameter", "pressure", "litres_a_minute"),
    [
        (1e-3, 5e3, 0.0914), (1e-3, 20e3, 0.1829), (1e-3, 50e3, 0.2892),
        (2e-3, 5e3, 0.366), (2e-3, 20e3, 0.732), (2e-3, 50e3, 1.157),
        (3e-3, 5e3, 0.823), (3e-3, 20e3, 1.646), (3e-3, 50e3, 2.603),
    ],
)  # fmt: skip
def test_a_sharp_orifice_gives_what_torricelli_and_its_coefficient_say(
    diameter: float, pressure: float, litres_a_minute: float
) -> None:
    # Cd 0.61, water of 50 °C
    result = solve(under_pressure(pressure, [Orifice(diameter_m=diameter, discharge_coefficient=0.61)], 50.0))
    density = water_density_kg_m3(50.0)
    exact = 0.61 * math.pi / 4 * diameter**2 * math.sqrt(2 * pressure / density)
    assert result.flows_m3_s["P0"] == pytest.approx(exact, rel=1e-9)
    assert result.flows_m3_s["P0"] * 6e4 == pytest.approx(litres_a_minute, rel=1e-3)
