"""A load becomes a network: connected, capped and open ports, and what a load cannot say."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from patency.errors import InputError
from patency.flow import Bore, network_of_load, nominal_flow_of_load, solve
from patency.flow.from_load import port_outlet
from tests.small_plan import LOAD
from tests.small_site import SMALL_SITE, changed, small_department

if TYPE_CHECKING:
    from patency.flow import LoadNetwork
    from patency.load import Load

DEPARTMENT = small_department(SMALL_SITE)
STAGE = DEPARTMENT.programmes["gentle"].stages[1]


def network_of(**changes: Any) -> LoadNetwork:  # noqa: ANN401
    return network_of_load(DEPARTMENT, LOAD.model_copy(update=changes), STAGE)


def pressure(load: Load, site: dict[str, str] | None = None) -> float:
    department = DEPARTMENT if site is None else small_department(site)
    return nominal_flow_of_load(department, load).stages["cleaning"].circulation_pa.nominal


def test_every_port_and_every_arm_has_its_outlet() -> None:
    load_network = network_of()
    outlets = {outlet.id for outlet in load_network.network.outlets}
    assert set(load_network.ports) == {"N1", "N2", "H1", "H2", "H3", "T1"}
    assert outlets == {name for names in load_network.ports.values() for name in names} | set(
        load_network.arms.values()
    )
    assert set(load_network.stretches) == outlets | {link.id for link in load_network.network.links}


def test_the_water_has_the_stage_s_temperature() -> None:
    assert network_of().network.water.temperature_c == 55.0


def test_a_capped_port_carries_exactly_zero() -> None:
    load_network = network_of()
    outlet = next(o for o in load_network.network.outlets if o.id == port_outlet("T1"))
    assert outlet.state == "closed"
    assert solve(load_network.network).flows_m3_s[outlet.id] == 0.0


def test_a_port_neither_connected_nor_capped_is_open_whether_listed_or_not() -> None:
    for load in ({"capped_ports": ()}, {"capped_ports": (), "open_ports": ("T1",)}):
        outlet = next(o for o in network_of(**load).network.outlets if o.id == port_outlet("T1"))
        assert outlet.state == "open"
        (fitting,) = outlet.segments
        assert fitting == Bore(diameter_m=8e-3, length_m=0.025, roughness_m=1.5e-6, minor_loss=1.0)
        assert outlet.elevation_m == 0.08


def test_an_open_hose_port_runs_through_its_hose() -> None:
    pieces = tuple(piece for piece in LOAD.pieces if piece.position != "H3")
    outlet = next(o for o in network_of(pieces=pieces).network.outlets if o.id == port_outlet("H3"))
    assert [segment.length_m for segment in outlet.segments if isinstance(segment, Bore)] == [0.02, 0.2]


def test_a_forgotten_cap_lowers_the_pressure_and_every_flow() -> None:
    planned = nominal_flow_of_load(DEPARTMENT, LOAD)
    forgotten = nominal_flow_of_load(DEPARTMENT, LOAD.model_copy(update={"capped_ports": ()}))
    for name, stage in planned.stages.items():
        other = forgotten.stages[name]
        assert other.circulation_pa.nominal < stage.circulation_pa.nominal
        assert stage.open_ports_m3_s == {}
        gained = other.total_m3_s.nominal - stage.total_m3_s.nominal
        assert other.open_ports_m3_s["T1"].nominal > gained  # what the others lose leaves there too
        assert other.total_m3_s.nominal > stage.total_m3_s.nominal
        assert all(other.lumens[key].flow_m3_s.nominal < lumen.flow_m3_s.nominal for key, lumen in stage.lumens.items())
        assert all(other.arms_m3_s[arm].nominal < flow.nominal for arm, flow in stage.arms_m3_s.items())


def test_a_wider_open_port_lowers_the_pressure_more() -> None:
    narrow = changed(SMALL_SITE, "        bore: 8 mm\n", "        bore: 4 mm\n")
    opened = LOAD.model_copy(update={"capped_ports": ()})
    assert pressure(opened) < pressure(opened, narrow) < pressure(LOAD)


def test_a_programme_that_drives_no_water_through_ports_closes_them_all() -> None:
    site = changed(SMALL_SITE, "    for_lumens: true", "    for_lumens: false")
    load_flow = nominal_flow_of_load(small_department(site), LOAD)
    assert all(lumen.dry for lumen in load_flow.lumens.values())
    assert all(flow.nominal > 0.0 for stage in load_flow.stages.values() for flow in stage.arms_m3_s.values())


def test_the_site_s_defaults_it_stands_on_are_named() -> None:
    assert set(network_of().defaults) == {
        "default_loss",
        "bore_tolerance",
        "rod_tolerance",
        "roughness",
        "loss_tolerance",
        "roughness_factor",
        "pump_tolerance",
    }


def renamed(port: str) -> tuple[Any, ...]:
    """Return the load's pieces with the connection of the first moved to another port."""
    first, *others = LOAD.pieces
    (connection,) = first.lumens
    moved = first.model_copy(update={"lumens": (connection.model_copy(update={"port": port}),)})
    return (moved, *others)


def misnamed(**changes: Any) -> tuple[Any, ...]:  # noqa: ANN401
    first, *others = LOAD.pieces
    return (first.model_copy(update=changes), *others)


@pytest.mark.parametrize(
    ("changes", "what"),
    [
        ({"carrier": "Heron"}, "load L1: no carrier 'Heron'"),
        ({"machine_kind": "tunnel"}, "load L1: no kind of machine 'tunnel'"),
        ({"programme": "brutal"}, "load L1: no programme 'brutal'"),
        ({"pieces": renamed("Z9")}, "no port 'Z9'"),
        ({"pieces": renamed("N2")}, "port N2 feeds another lumen too"),
        ({"pieces": misnamed(piece="sleeve11/9/sleeve")}, "no such lumen"),
        ({"pieces": misnamed(set="Evening")}, "no such lumen"),
        ({"sets": ("Morning", "Evening")}, "no such lumen"),
    ],
)
def test_a_load_that_names_what_does_not_exist_is_refused(changes: dict[str, Any], what: str) -> None:
    with pytest.raises(InputError, match=what):
        network_of(**changes)


def test_a_lumen_the_piece_does_not_have_is_refused() -> None:
    first, *others = LOAD.pieces
    (connection,) = first.lumens
    moved = first.model_copy(update={"lumens": (connection.model_copy(update={"lumen": "tap"}),)})
    with pytest.raises(InputError, match="no such lumen"):
        network_of(pieces=(moved, *others))
