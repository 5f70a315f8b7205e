"""The network file and the result: what is read, what is written, what the schema says."""

from __future__ import annotations

import json
from typing import Any

import pytest

from patency.errors import InputError, InputErrors
from patency.flow import (
    Annulus,
    Orifice,
    PumpLaw,
    PumpPoints,
    network_schema,
    parse_network,
    result_to_dict,
    solve,
    write_network,
)
from patency.quantities import STANDARD_GRAVITY_M_S2
from tests.flow.random_networks import random_networks
from tests.flow.test_network_check import SOUND


def test_every_key_of_the_format_is_read() -> None:
    network = parse_network(json.dumps(SOUND))
    assert network.water.temperature_c == 45.0
    assert isinstance(network.pump, PumpLaw)
    assert (network.pump.shutoff_head_m, network.pump.coefficient, network.pump.exponent) == (7.0, 3e4, 2.0)
    assert (network.links[0].from_node, network.links[0].to_node) == ("SUMP", "N0")
    outlet = network.outlets[1]
    assert (outlet.node, outlet.state, outlet.elevation_m, outlet.exit_loss) == ("N1", "closed", 0.25, 1.0)
    assert isinstance(outlet.segments[1], Annulus)
    assert outlet.segments[1].inner_diameter_m == 2e-3
    assert network.outlets[2].segments[0] == Orifice(diameter_m=8e-3, discharge_coefficient=0.61)


def test_what_the_format_leaves_open_has_its_stated_value() -> None:
    text = {**SOUND, "pump": {"points": [[0, 5], [1e-3, 0]]}}
    del text["gravity_m_s2"]
    network = parse_network(json.dumps(text))
    assert network.gravity_m_s2 == STANDARD_GRAVITY_M_S2 == 9.80665
    assert network.pump == PumpPoints(points=((0.0, 5.0), (1e-3, 0.0)), relative_speed=1.0, sump_level_m=0.0)


@pytest.mark.parametrize("place", range(12))
def test_a_written_network_reads_back_equal(place: int) -> None:
    network = random_networks(7, 12)[place]
    assert parse_network(write_network(network)) == network


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("", "lab.json:1:1: not JSON: Expecting value"),
        ("{", "lab.json:1:2: not JSON"),
        ('{"a": 1,\n "b": }', "lab.json:2:7: not JSON: Expecting value"),
        ('{"a": 1, "a": 2}', "lab.json: a: the key stands twice (expected: every key once)"),
        ("[" * 100_000, "lab.json: JSON that cannot be read"),
        ("1" * 5000, "lab.json: JSON that cannot be read"),
        ("[]", "lab.json: [] (expected: a mapping of keys to values)"),
        ("null", "lab.json: None (expected: a mapping of keys to values)"),
        ("{}", "lab.json: format: missing"),
    ],
)
def test_text_that_is_no_network_is_refused_in_one_line(text: str, line: str) -> None:
    with pytest.raises(InputError) as refusal:
        parse_network(text, "lab.json")
    assert refusal.value.line.startswith(line)


def test_a_key_that_stands_twice_is_told_with_its_place_beside_every_other_fault() -> None:
    text = json.dumps({**SOUND, "gravity_m_s2": -1}).replace('"id": "L1"', '"id": "L9", "id": "L1"')
    with pytest.raises(InputErrors) as refusal:
        parse_network(text, "lab.json")
    first, second = (fault.line for fault in refusal.value.faults)
    assert first == "lab.json: links[1].id: the key stands twice (expected: every key once)"
    assert second.startswith("lab.json: gravity_m_s2: ")


def test_a_key_that_stands_twice_is_refused_even_where_all_else_is_sound() -> None:
    text = json.dumps(SOUND).replace('"id": "L1"', '"id": "L1", "id": "L1"')
    with pytest.raises(InputErrors) as refusal:
        parse_network(text, "lab.json")
    assert [fault.where for fault in refusal.value.faults] == ["lab.json: links[1].id"]


def test_the_result_has_every_key_of_its_format_and_survives_json() -> None:
    result = solve(parse_network(json.dumps(SOUND)))
    written = json.loads(json.dumps(result_to_dict(result), allow_nan=False))
    assert written["format"] == "patency-flow/1"
    assert set(written["flows_m3_s"]) == {"L0", "L1", "L2", "P0", "P1", "P2"}
    assert set(written["heads_m"]) == {"N0", "N1"}
    assert written["mass_balance_error_m3_s"] < 1e-12
    assert written["energy_error_m"] < 1e-9
    assert written["iterations"] > 0
    assert written["dry_outlets"] == []
    assert [len(written["segments"][name]) for name in ("P0", "P1", "P2")] == [1, 2, 1]
    assert set(written["segments"]["P0"][0]) == {
        "velocity_m_s", "reynolds", "friction_factor", "wall_shear_pa", "pressure_drop_pa",
    }  # fmt: skip
    assert written["segments"]["P1"][0]["friction_factor"] is None  # capped: nothing flows
    assert written["segments"]["P1"][0]["wall_shear_pa"] == 0.0
    assert written["segments"]["P2"][0]["friction_factor"] is None  # an orifice has no wall
    assert written["segments"]["P2"][0]["wall_shear_pa"] is None


def test_the_schema_names_every_key_and_which_must_be_there() -> None:
    schema = network_schema()
    kinds: dict[str, Any] = schema["$defs"]
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["required"] == ["format", "water", "pump", "links", "outlets"]
    assert schema["additionalProperties"] is False
    assert set(kinds) == {"Annulus", "Bore", "Link", "Orifice", "Outlet", "PumpLaw", "PumpPoints", "Water"}
    assert set(kinds["Link"]["properties"]) == {"id", "from", "to", "segments"}
    assert kinds["Bore"]["required"] == ["shape", "diameter_m", "length_m", "roughness_m", "minor_loss"]
    assert kinds["Bore"]["properties"]["diameter_m"]["exclusiveMinimum"] == 0
    assert all(kind["additionalProperties"] is False for kind in kinds.values())


def test_reading_is_all_or_nothing() -> None:
    with pytest.raises(InputErrors) as refusal:
        parse_network(json.dumps({**SOUND, "links": "none", "outlets": 3}))
    assert [fault.where for fault in refusal.value.faults] == ["network: links", "network: outlets"]
