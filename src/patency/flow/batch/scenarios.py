"""What differs between many solves of one network, as arrays with the scenarios first."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from patency.errors import InputError
from patency.flow.compiled_network import WaterState
from patency.flow.network import PumpPoints
from patency.quantities import water_density_kg_m3, water_kinematic_viscosity_m2_s

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from patency.flow.compiled_network import CompiledNetwork
    from patency.flow.network import Pump

    Floats = NDArray[np.float64]

SEGMENT_FIELDS = ("diameter_m", "rod_diameter_m", "length_m", "roughness_m", "minor_loss", "discharge_coefficient")
OUTLET_FIELDS = ("is_open", "elevation_m", "exit_loss")
SCENARIO_FIELDS = (
    "relative_speed",
    "pump_head_factor",
    "temperature_c",
    "density_kg_m3",
    "kinematic_viscosity_m2_s",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenarios:
    """A number of scenarios of one compiled network; a field that is None stays as compiled.

    Rows of segments and outlets are those of the compiled network. A field that only some scenarios change can be
    broadcast (``numpy.broadcast_to``), which takes no memory.

    Parameters
    ----------
    count
        How many scenarios, at least one.
    diameter_m, rod_diameter_m, length_m, roughness_m, minor_loss, discharge_coefficient
        Shape (scenarios, segments): as in `Geometry` [m, m, m, m, -, -].
    is_open
        Shape (scenarios, outlets): 1 or True open, 0 or False closed.
    elevation_m
        Shape (scenarios, outlets): height of the discharge [m].
    exit_loss
        Shape (scenarios, outlets): loss where the water leaves, times v²/2g [-].
    relative_speed
        Shape (scenarios,): the pump's speed over the speed its curve was measured at, in place of the compiled one [-].
    pump_head_factor
        Shape (scenarios,): factor on the pump's head at every flow [-].
    temperature_c
        Shape (scenarios,): temperature of the water, 0 to 100 °C; density and viscosity follow from it unless given.
    density_kg_m3
        Shape (scenarios,): density of the water; no flow or head depends on it, pressure and shear do [kg/m³].
    kinematic_viscosity_m2_s
        Shape (scenarios,): kinematic viscosity of the water [m²/s].
    """

    count: int
    diameter_m: Floats | None = None
    rod_diameter_m: Floats | None = None
    length_m: Floats | None = None
    roughness_m: Floats | None = None
    minor_loss: Floats | None = None
    discharge_coefficient: Floats | None = None
    is_open: NDArray[Any] | None = None
    elevation_m: Floats | None = None
    exit_loss: Floats | None = None
    relative_speed: Floats | None = None
    pump_head_factor: Floats | None = None
    temperature_c: Floats | None = None
    density_kg_m3: Floats | None = None
    kinematic_viscosity_m2_s: Floats | None = None

    def given(self, names: tuple[str, ...]) -> dict[str, NDArray[Any]]:
        """Collect the fields that are not None.

        Parameters
        ----------
        names
            Fields to look at.

        Returns
        -------
        dict[str, NDArray]
            Field by name.
        """
        fields = {name: getattr(self, name) for name in names}
        return {name: values for name, values in fields.items() if values is not None}


def check_shapes(compiled: CompiledNetwork, scenarios: Scenarios) -> None:
    """Let scenarios pass whose arrays have the shapes of a network.

    Parameters
    ----------
    compiled
        The network.
    scenarios
        The scenarios.

    Raises
    ------
    InputError
        If the count is below one, an array has another shape, or a pump or water number is not above 0; the first
        such field is named.
    """
    if scenarios.count < 1:
        raise InputError("scenarios, count", f"{scenarios.count}", "1 or more")
    rows = {
        SEGMENT_FIELDS: (scenarios.count, compiled.geometry.diameter_m.size),
        OUTLET_FIELDS: (scenarios.count, compiled.outlets.is_open.size),
        SCENARIO_FIELDS: (scenarios.count,),
    }
    for names, shape in rows.items():
        for name, values in scenarios.given(names).items():
            if np.shape(values) != shape:
                raise InputError(f"scenarios, {name}", f"shape {np.shape(values)}", f"shape {shape}")
    for name in ("relative_speed", "pump_head_factor", "kinematic_viscosity_m2_s", "density_kg_m3"):
        _check_positive(scenarios, name)
    if scenarios.elevation_m is not None and not np.isfinite(scenarios.elevation_m).all():
        scenario, row = np.argwhere(~np.isfinite(scenarios.elevation_m))[0]
        value = scenarios.elevation_m[scenario, row]
        raise InputError(f"scenario {scenario}, elevation_m, row {row}", f"{value:g}", "a finite number")


def scenario_network(compiled: CompiledNetwork, scenarios: Scenarios, scenario: int) -> CompiledNetwork:
    """Make the network of one scenario, the slow way: for checks, and to look at one scenario closely.

    Parameters
    ----------
    compiled
        The network.
    scenarios
        The scenarios.
    scenario
        Which one, from 0.

    Returns
    -------
    CompiledNetwork
        The network with what the scenario changes.

    Raises
    ------
    InputError
        If a size cannot be computed with; scenario and field are named.
    """
    segments = {name: np.array(v[scenario], dtype=float) for name, v in scenarios.given(SEGMENT_FIELDS).items()}
    outlets = {name: np.array(v[scenario], dtype=float) for name, v in scenarios.given(OUTLET_FIELDS).items()}
    if "is_open" in outlets:
        outlets["is_open"] = (outlets["is_open"] != 0.0).astype(np.uint8)
    try:
        return compiled.with_changes(
            geometry=compiled.geometry._replace(**segments),
            outlets=compiled.outlets._replace(**outlets),
            pump=_pump(compiled.pump, scenarios, scenario),
            water=_water(compiled.water, scenarios, scenario),
        )
    except InputError as error:
        raise InputError(f"scenario {scenario}, {error.where}", error.what, error.expected) from error


def water_of(compiled: CompiledNetwork, scenarios: Scenarios) -> tuple[Floats, Floats]:
    """Work out the water of every scenario.

    Parameters
    ----------
    compiled
        The network.
    scenarios
        The scenarios.

    Returns
    -------
    tuple[Floats, Floats]
        Shape (scenarios,) each: density [kg/m³] and kinematic viscosity [m²/s].

    Raises
    ------
    InputError
        If a temperature lies outside 0 to 100 °C; the scenario is named.
    """
    return (
        _property(scenarios, scenarios.density_kg_m3, water_density_kg_m3, compiled.water.density_kg_m3),
        _property(
            scenarios,
            scenarios.kinematic_viscosity_m2_s,
            water_kinematic_viscosity_m2_s,
            compiled.water.kinematic_viscosity_m2_s,
        ),
    )


def _property(
    scenarios: Scenarios, given: Floats | None, at_temperature: Callable[[float], float], compiled: float
) -> Floats:
    """Take a property as given, else from the temperature, each one worked out once, else as compiled."""
    if given is not None:
        return np.asarray(given, dtype=float)
    if scenarios.temperature_c is None:
        return np.broadcast_to(np.float64(compiled), scenarios.count)
    temperatures, first, place = np.unique(scenarios.temperature_c, return_index=True, return_inverse=True)
    found = np.empty(temperatures.size)
    for row, temperature in enumerate(temperatures):
        try:
            found[row] = at_temperature(float(temperature))
        except InputError as error:
            where = f"scenario {first[row]}, temperature_c"
            raise InputError(where, error.what, error.expected) from error
    return found[place]


def _water(compiled: WaterState, scenarios: Scenarios, scenario: int) -> WaterState:
    state = compiled
    if scenarios.temperature_c is not None:
        temperature = float(scenarios.temperature_c[scenario])
        state = WaterState(water_density_kg_m3(temperature), water_kinematic_viscosity_m2_s(temperature))
    if scenarios.density_kg_m3 is not None:
        state = state._replace(density_kg_m3=float(scenarios.density_kg_m3[scenario]))
    if scenarios.kinematic_viscosity_m2_s is not None:
        viscosity = float(scenarios.kinematic_viscosity_m2_s[scenario])
        state = state._replace(kinematic_viscosity_m2_s=viscosity)
    return state


def _pump(compiled: Pump, scenarios: Scenarios, scenario: int) -> Pump:
    pump = compiled
    if scenarios.relative_speed is not None:
        pump = replace(pump, relative_speed=float(scenarios.relative_speed[scenario]))
    if scenarios.pump_head_factor is not None:
        factor = float(scenarios.pump_head_factor[scenario])
        if isinstance(pump, PumpPoints):
            return replace(pump, points=tuple((flow, head * factor) for flow, head in pump.points))
        return replace(pump, shutoff_head_m=pump.shutoff_head_m * factor, coefficient=pump.coefficient * factor)
    return pump


def _check_positive(scenarios: Scenarios, name: str) -> None:
    for values in scenarios.given((name,)).values():
        fine = (np.asarray(values) > 0.0) & (np.asarray(values) < np.inf)
        if not fine.all():
            scenario = int(np.argmin(fine))
            raise InputError(f"scenario {scenario}, {name}", f"{values[scenario]:g}", "a number above 0")
