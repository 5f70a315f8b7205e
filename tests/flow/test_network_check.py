"""Networks broken on purpose: each is refused with a line that names the place, and all faults come at once."""

from __future__ import annotations

import copy
import json
from dataclasses import replace
from typing import Any

import pytest

from patency.errors import InputError, InputErrors
from patency.flow import Bore, Network, PumpPoints, Water, check_network, compile_network, parse_network
from tests.flow.small_networks import LUMEN, under_pressure

BORE = {"shape": "bore", "diameter_m": 2e-3, "length_m": 0.3, "roughness_m": 1.5e-6, "minor_loss": 0.5}
SOUND: dict[str, Any] = {
    "format": "patency-network/1",
    "water": {"temperature_c": 45.0},
    "gravity_m_s2": 9.80665,
    "pump": {
        "shutoff_head_m": 7.0, "coefficient": 3.0e4, "exponent": 2.0, "relative_speed": 1.0, "sump_level_m": 0.0
    },
    "links": [
        {"id": "L0", "from": "SUMP", "to": "N0", "segments": [{**BORE, "diameter_m": 0.05}]},
        {"id": "L1", "from": "N0", "to": "N1", "segments": [{**BORE, "diameter_m": 0.01}]},
        {"id": "L2", "from": "N1", "to": "N0", "segments": [{**BORE, "diameter_m": 0.01}]},
    ],
    "outlets": [
        {"id": "P0", "node": "N1", "state": "open", "elevation_m": 0.25, "exit_loss": 1.0, "segments": [BORE]},
        {"id": "P1", "node": "N1", "state": "closed", "elevation_m": 0.25, "exit_loss": 1.0, "segments": [
            BORE,
            {"shape": "annulus", "outer_diameter_m": 3e-3, "inner_diameter_m": 2e-3, "length_m": 0.33,
             "roughness_m": 1.5e-6, "minor_loss": 0.0}]},
        {"id": "P2", "node": "N0", "state": "open", "elevation_m": 0.0, "exit_loss": 1.0, "segments": [
            {"shape": "orifice", "diameter_m": 8e-3, "discharge_coefficient": 0.61}]},
    ],
}  # fmt: skip
DROP = object()

BROKEN: list[tuple[str, list[str | int], Any, str]] = [
    # what is wrong, where it is put, what is put there, what the line must say
    ("no format", ["format"], DROP, "format: missing"),
    ("another format", ["format"], "patency-network/2", "format: 'patency-network/2' (expected: 'patency-network/1')"),
    ("an unknown key", ["colour"], "red", "colour: unknown key (expected: one of format, water,"),
    ("no water", ["water"], DROP, "water: missing"),
    ("water as a number", ["water"], 45, "water: 45 (expected: a mapping of keys to values)"),
    ("no temperature", ["water", "temperature_c"], DROP, "water.temperature_c: missing"),
    ("water that freezes", ["water", "temperature_c"], -1.0, "water.temperature_c: -1 °C (expected: 0 to 100 °C"),
    ("water that boils", ["water", "temperature_c"], 101, "water.temperature_c: 101 °C (expected: 0 to 100 °C"),
    ("a temperature as text", ["water", "temperature_c"], "45", "water.temperature_c: '45' (expected: a valid number)"),
    ("a temperature as truth", ["water", "temperature_c"], True, "water.temperature_c: True (expected: a valid number"),
    ("temperature not a number", ["water", "temperature_c"], float("nan"), "water.temperature_c: nan (expected: a fin"),
    ("an endless integer", ["water", "temperature_c"], 10**400, "water.temperature_c: 1000"),
    ("water without weight", ["water", "density_kg_m3"], 0, "water.density_kg_m3: 0 (expected: greater than 0)"),
    ("water that is too thin", ["water", "kinematic_viscosity_m2_s"], -1e-6, "water.kinematic_viscosity_m2_s: -1e-06"),
    ("an unknown key of water", ["water", "ph"], 7, "water.ph: unknown key (expected: one of temperature_c, density"),
    ("no gravity", ["gravity_m_s2"], 0, "gravity_m_s2: 0 (expected: greater than 0)"),
    ("infinite gravity", ["gravity_m_s2"], float("inf"), "gravity_m_s2: inf (expected: a finite number)"),
    ("no pump", ["pump"], DROP, "pump: missing"),
    ("a pump as text", ["pump"], "strong", "pump: 'strong' (expected: a mapping of keys to values)"),
    ("a pump without head", ["pump", "shutoff_head_m"], 0.0, "pump.shutoff_head_m: 0.0 (expected: greater than 0)"),
    ("a rising pump curve", ["pump", "coefficient"], -1.0, "pump.coefficient: -1.0 (expected: greater than or equal"),
    ("a pump curve that is too steep at rest", ["pump", "exponent"], 0.5, "pump.exponent: 0.5 (expected: greater"),
    ("a pump at rest", ["pump", "relative_speed"], 0, "pump.relative_speed: 0 (expected: greater than 0)"),
    ("a pump without exponent", ["pump", "exponent"], DROP, "pump.exponent: missing"),
    ("both kinds of pump", ["pump", "points"], [[0, 5], [1, 0]], "pump.shutoff_head_m: unknown key"),
    ("one point", ["pump"], {"points": [[0, 5]]}, "pump.points: too few (expected: at least 2)"),
    ("points from some flow on", ["pump"], {"points": [[0.1, 5], [1, 0]]}, "pump.points[0]: [0.1, 5.0] (expected: z"),
    ("points without head", ["pump"], {"points": [[0, 0], [1, -1]]}, "pump.points[0]: [0.0, 0.0]"),
    ("rising points", ["pump"], {"points": [[0, 5], [1, 6]]}, "pump.points[1]: [1.0, 6.0] (expected: more flow, less"),
    ("points backwards", ["pump"], {"points": [[0, 5], [1, 4], [0.5, 3]]}, "pump.points[2]: [0.5, 3.0]"),
    ("a point of three", ["pump"], {"points": [[0, 5, 1], [1, 4]]}, "pump.points[0]: [0, 5, 1]"),
    ("no links", ["links"], [], "links: too few (expected: at least 1)"),
    ("links as a mapping", ["links"], {}, "links: {} (expected: a list)"),
    ("a link as a number", ["links", 1], 5, "links[1]: 5 (expected: a mapping of keys to values)"),
    ("a link without name", ["links", 1, "id"], "", "links[1].id: ''"),
    ("a link with a number for a name", ["links", 1, "id"], 7, "links[1].id: 7"),
    ("two links of one name", ["links", 1, "id"], "L0", "links[1].id: 'L0' (expected: a name unlike that of links[0])"),
    ("a link named like an outlet", ["outlets", 0, "id"], "L2", "outlets[0].id: 'L2' (expected: a name unlike that"),
    ("a link from nowhere", ["links", 1, "from"], DROP, "links[1].from: missing"),
    ("a link onto itself", ["links", 1, "to"], "N0", "links[1].to: 'N0' (expected: another node than the one it"),
    ("a link back to the sump", ["links", 2, "to"], "SUMP", "links[2].to: 'SUMP' (expected: a node; describe a return"),
    ("two links from the sump", ["links", 2, "from"], "SUMP", "links[2].from: 'SUMP' (expected: one link only"),
    ("no link from the sump", ["links", 0, "from"], "N9", "links: none leaves SUMP (expected: one link that holds"),
    ("no segments", ["links", 1, "segments"], [], "links[1].segments: too few (expected: at least 1)"),
    ("segments as a mapping", ["links", 1, "segments"], BORE, "links[1].segments: {'shape'"),
    ("an unknown shape", ["links", 1, "segments", 0, "shape"], "star", "links[1].segments[0]: {'shape': 'star'"),
    ("no shape", ["links", 1, "segments", 0, "shape"], DROP, "expected: a shape: bore, annulus or orifice"),
    ("no diameter", ["links", 1, "segments", 0, "diameter_m"], DROP, "links[1].segments[0].diameter_m: missing"),
    ("a bore without width", ["links", 1, "segments", 0, "diameter_m"], 0, "links[1].segments[0].diameter_m: 0 (exp"),
    ("a bore without length", ["links", 1, "segments", 0, "length_m"], 0.0, "links[1].segments[0].length_m: 0.0 (exp"),
    ("a negative roughness", ["links", 1, "segments", 0, "roughness_m"], -1e-6, "links[1].segments[0].roughness_m: -"),
    ("a bore rougher than wide", ["links", 1, "segments", 0, "roughness_m"], 5e-3, "roughness_m: 0.005 (expected: le"),
    ("a negative loss", ["links", 1, "segments", 0, "minor_loss"], -0.1, "links[1].segments[0].minor_loss: -0.1"),
    ("a loss without end", ["links", 1, "segments", 0, "minor_loss"], float("inf"), "minor_loss: inf (expected: a fi"),
    ("a key of another shape", ["links", 1, "segments", 0, "discharge_coefficient"], 0.6, "discharge_coefficient: unk"),
    ("a rod as thick as its tube", ["outlets", 1, "segments", 1, "inner_diameter_m"], 3e-3, "inner_diameter_m: 0.003"),
    ("a rod without thickness", ["outlets", 1, "segments", 1, "inner_diameter_m"], 0, "inner_diameter_m: 0 (expected"),
    ("a gap rougher than wide", ["outlets", 1, "segments", 1, "roughness_m"], 6e-4, "outlets[1].segments[1].roughness"),
    ("an orifice that lets nothing by", ["outlets", 2, "segments", 0, "discharge_coefficient"], 0, "discharge_coeff"),
    ("no outlets", ["outlets"], [], "outlets: too few (expected: at least 1)"),
    ("an outlet as a list", ["outlets", 0], [], "outlets[0]: [] (expected: a mapping of keys to values)"),
    ("an outlet at no node", ["outlets", 0, "node"], "N7", "outlets[0].node: 'N7' (expected: the end of a link)"),
    ("an outlet at the sump", ["outlets", 0, "node"], "SUMP", "outlets[0].node: 'SUMP' (expected: a node behind the"),
    ("an outlet ajar", ["outlets", 0, "state"], "ajar", "outlets[0].state: 'ajar' (expected: 'open' or 'closed')"),
    ("an outlet of unknown state", ["outlets", 0, "state"], DROP, "outlets[0].state: missing"),
    ("an outlet at no height", ["outlets", 0, "elevation_m"], None, "outlets[0].elevation_m: None (expected: a valid"),
    ("an exit that gives", ["outlets", 0, "exit_loss"], -1, "outlets[0].exit_loss: -1 (expected: greater than or eq"),
    ("an island", ["links", 1], {"id": "L1", "from": "A", "to": "B", "segments": [BORE]}, "no path from SUMP to 'A'"),
]  # fmt: skip


def broken(place: list[str | int], value: object) -> dict[str, Any]:
    """The sound network with one thing put wrong."""
    network = copy.deepcopy(SOUND)
    target: Any = network
    for part in place[:-1]:
        target = target[part]
    if value is DROP:
        del target[place[-1]]
    else:
        target[place[-1]] = value
    return network


@pytest.mark.parametrize(("name", "place", "value", "line"), BROKEN, ids=[row[0] for row in BROKEN])
def test_a_broken_network_is_refused_with_the_place(
    name: str, place: list[str | int], value: object, line: str
) -> None:
    del name
    with pytest.raises(InputErrors) as refusal:
        parse_network(json.dumps(broken(place, value)), "larkmere.json")
    lines = [fault.line for fault in refusal.value.faults]
    assert all(each.startswith("larkmere.json: ") and "\n" not in each for each in lines)
    assert any(line in each for each in lines), lines


def test_the_sound_network_is_sound() -> None:
    assert [outlet.id for outlet in parse_network(json.dumps(SOUND)).outlets] == ["P0", "P1", "P2"]


def test_all_faults_come_at_once_in_the_order_of_the_file() -> None:
    network = broken(["water", "temperature_c"], 130)
    network["links"][1]["segments"][0]["diameter_m"] = -1
    network["outlets"][0]["node"] = "N7"
    network["outlets"][1]["id"] = "L0"
    with pytest.raises(InputErrors) as refusal:
        parse_network(json.dumps(network), "f.json")
    assert [fault.where for fault in refusal.value.faults] == [
        "f.json: water.temperature_c",
        "f.json: links[1].segments[0].diameter_m",
        "f.json: outlets[1].id",
        "f.json: outlets[0].node",
    ]
    assert refusal.value.line == refusal.value.faults[0].line


@pytest.mark.parametrize("rows", ["none", 5, [5, None, "x"], [{"id": 3, "from": [], "to": {}}]])
def test_rows_that_are_no_links_never_break_the_search_for_faults(rows: object) -> None:
    for key in ("links", "outlets"):
        with pytest.raises(InputErrors):
            parse_network(json.dumps(broken([key], rows)))


def sound_network() -> Network:
    return under_pressure(5e3, [LUMEN], 45.0)


@pytest.mark.parametrize(
    ("network", "where"),
    [
        (replace(sound_network(), water=Water(temperature_c=float("nan"))), "network: water.temperature_c"),
        (replace(sound_network(), pump=PumpPoints(points=((0.0, 5.0), (1e-3, 6.0)))), "network: pump.points[1]"),
        (under_pressure(5e3, [replace(LUMEN, diameter_m=-1e-3)], 45.0), "network: outlets[0].segments[0].diameter_m"),
        (replace(sound_network(), outlets=()), "network: outlets"),
    ],
)
def test_a_network_made_by_hand_is_held_to_the_same_rules(network: Network, where: str) -> None:
    for reading in (check_network, compile_network):
        with pytest.raises(InputErrors) as refusal:
            reading(network)
        assert [fault.where for fault in refusal.value.faults] == [where]


def test_given_properties_lift_the_limits_of_the_water_formulas() -> None:
    syrup = Water(temperature_c=130.0, density_kg_m3=1100.0, kinematic_viscosity_m2_s=3e-6)
    check_network(replace(sound_network(), water=syrup))
    half = replace(syrup, density_kg_m3=None)
    with pytest.raises(InputErrors, match="130 °C"):
        check_network(replace(sound_network(), water=half))


@pytest.mark.parametrize("segment", [replace(LUMEN, diameter_m=1e-200), replace(LUMEN, diameter_m=1e-80)])
def test_sizes_too_extreme_to_compute_with_are_refused(segment: Bore) -> None:
    with pytest.raises(InputError, match="too extreme"):
        compile_network(under_pressure(5e3, [replace(segment, roughness_m=0.0)], 45.0))
