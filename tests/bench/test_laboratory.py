"""The flow laboratory: what a touch does, against the flow of a load that stands so."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from patency.errors import InputError
from patency.flow import nominal_flow_of_load
from patency.steps import PortIs, try_ports
from patency.texts import people_flow
from tests.bench.desk import Desk, sign_in
from tests.demo.larkmere import hand_made_load, larkmere

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from patency.load import Load

DAY = date(2026, 5, 12)


def first_ports(load: Load) -> tuple[str, str]:
    """Name a connected and a capped port."""
    return load.pieces[0].lumens[0].port, load.capped_ports[0].port


def test_nothing_touched_is_as_planned() -> None:
    found = try_ports(larkmere(), hand_made_load("L1"), {}, DAY)
    assert (found.changes, found.short(), found.pressure_change) == ({}, 0, 0.0)
    assert not any(one.changed for one in found.lumens)


def test_an_opened_cap_takes_from_every_other_lumen_what_the_same_load_computed_alone_loses() -> None:
    load = hand_made_load("L1")
    _, capped = first_ports(load)
    found = try_ports(larkmere(), load, {capped: PortIs.OPEN}, DAY)
    others = tuple(one for one in load.capped_ports if one.port != capped)
    alone = nominal_flow_of_load(
        larkmere(), load.model_copy(update={"capped_ports": others, "open_ports": (*load.open_ports, capped)})
    )
    flows = {one.port: one.flow for one in found.lumens}
    for placed in load.pieces:
        for one in placed.lumens:
            assert flows[one.port] == people_flow(alone.lumens[placed.set, placed.piece, one.lumen].flow_m3_s.nominal)
    assert found.pressure_change < 0
    assert all(one.flow_change < 0 for one in found.lumens)


def test_a_blocked_lumen_gets_nothing_and_the_others_get_more() -> None:
    load = hand_made_load("L1")
    connected, _ = first_ports(load)
    found = try_ports(larkmere(), load, {connected: PortIs.BLOCKED}, DAY)
    own = next(one for one in found.lumens if one.port == connected)
    assert (own.flow, own.enough) == ("0 mL/min", "no")
    assert found.lumens[0].port == connected
    assert found.pressure_change > 0
    assert all(one.flow_change >= 0 for one in found.lumens if one.port != connected)


def test_touching_goes_round_and_comes_back_to_the_plan() -> None:
    load = hand_made_load("L1")
    connected, capped = first_ports(load)
    rounds = {}
    for port in (connected, capped):
        seen: list[str] = []
        changes: dict[str, PortIs] = {}
        for _ in range(4):
            found = try_ports(larkmere(), load, changes, DAY)
            at = next(one for one in found.ports if one.key == port)
            seen.append(at.now.value)
            changes = {port: at.following}
        rounds[port] = seen
    assert rounds == {
        connected: ["connected", "open", "blocked", "connected"],
        capped: ["capped", "open", "capped", "open"],
    }


def test_a_port_there_is_not_or_that_holds_nothing_is_refused() -> None:
    load = hand_made_load("L1")
    with pytest.raises(InputError, match="port X9: is none of Lapwing"):
        try_ports(larkmere(), load, {"X9": PortIs.OPEN}, DAY)
    with pytest.raises(InputError, match="has nothing to be connected"):
        try_ports(larkmere(), load, {first_ports(load)[1]: PortIs.CONNECTED}, DAY)


def test_the_page_draws_every_port_and_answers_a_touch_with_its_part_alone(client: TestClient, desk: Desk) -> None:
    sign_in(client, "engineer-1")
    whole = client.get("/laboratory/L1").text
    assert whole.count('class="port ') == len(desk.opened.department.carriers["Lapwing"].ports)
    _, capped = first_ports(hand_made_load("L1"))
    part = client.get(f"/laboratory/L1?port.{capped}=open", headers={"hx-request": "true"}).text
    assert "<html" not in part
    assert "As planned again" in part
    assert client.get("/laboratory/L1?port.H1=wide").status_code == 400
    assert client.get("/laboratory/L9").status_code == 400
