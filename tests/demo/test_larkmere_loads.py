"""Four loads put together by hand: everything finds its place, stays, drains, and the stock is enough."""

from __future__ import annotations

from collections import Counter
from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING

import pytest

from patency.catalogue import Placing, PortKind
from patency.load import Load, pieces_of_set
from patency.quantities import Answer
from patency.reach import held, reached
from tests.demo.larkmere import LOADS, TEN_SETS, hand_made_load, larkmere, ports_for

if TYPE_CHECKING:
    from patency.catalogue import InstructionsVersion, Programme

TODAY = date(2026, 5, 12)
# What may run at the same time: there is one carrier of each kind.
TOGETHER = [("L1", "D1"), ("L2", "D1"), ("L3", "D1")]


def accessories_in(load: Load) -> Counter[str]:
    used = Counter(key for placed in load.pieces for connection in placed.lumens for key in connection.chain)
    used.update(capped.cap for capped in load.capped_ports)
    used["lidded_fine_basket"] = len(load.sets)
    used["optic_holder"] = sum(placed.placing is Placing.OPTIC_HOLDER for placed in load.pieces)
    used["hold_down_net"] = len({placed.position for placed in load.pieces if placed.net})
    return used


def tall_pieces(load_id: str) -> int:
    pieces = [piece for name in LOADS[load_id][1] for piece in pieces_of_set(larkmere(), name)]
    return sum(
        piece.piece_type.length_m > 0.4 for piece in pieces if piece.piece_type.placing is Placing.PORT and piece.lumens
    )


def objections(programme: Programme, version: InstructionsVersion) -> list[str]:
    """List what in a programme a version of instructions does not allow."""
    found = []
    assert version.cleaning is not None
    assert version.disinfection is not None
    assert version.drying is not None
    highest = {
        "clean": version.cleaning.highest_temperature_c,
        "disinfect": version.disinfection.highest_temperature_c,
        "dry": version.drying.highest_temperature_c,
    }
    for stage in programme.stages:
        limit = highest.get(stage.kind)
        if limit is not None and stage.temperature_c > limit:
            found.append(f"{stage.name}: {stage.temperature_c:g} °C")
        for dose in stage.doses or ():
            assert dose.ph is not None
            assert version.cleaning.lowest_ph is not None
            assert version.cleaning.highest_ph is not None
            if not version.cleaning.lowest_ph <= dose.ph <= version.cleaning.highest_ph:
                found.append(f"{stage.name}: pH {dose.ph:g}")
            if dose.agent in (version.cleaning.forbidden_agents or []):
                found.append(f"{stage.name}: {dose.agent}")
    return found


def instructions_of(set_name: str) -> dict[str, InstructionsVersion | None]:
    site = larkmere()
    keys = {site.instruments[instrument].instructions or "" for instrument in site.sets[set_name].contents}
    return {key: site.instructions[key].in_force(TODAY) for key in sorted(keys)}


@pytest.mark.parametrize("load_id", LOADS)
def test_every_piece_stays_as_it_is_put(load_id: str) -> None:
    replies = held(larkmere(), hand_made_load(load_id))
    assert {key: reply.why for key, reply in replies.items() if reply.answer is not Answer.YES} == {}


@pytest.mark.parametrize("load_id", LOADS)
def test_every_piece_finds_room_and_drains_as_far_as_is_known(load_id: str) -> None:
    replies = reached(larkmere(), hand_made_load(load_id))
    assert {key: reply.why for key, reply in replies.items() if reply.answer is Answer.NO} == {}


@pytest.mark.parametrize("load_id", LOADS)
def test_every_port_is_used_or_capped_once(load_id: str) -> None:
    load = hand_made_load(load_id)
    ports = [connection.port for placed in load.pieces for connection in placed.lumens]
    ports += [capped.port for capped in load.capped_ports]
    assert sorted(ports) == sorted(larkmere().carriers[load.carrier].ports)


def test_pelvis_one_appendix_and_shoulder_scope_fill_the_lapwing_to_the_last_port() -> None:
    assert hand_made_load("L2").capped_ports == ()


def test_long_colon_and_pelvis_two_leave_the_taper_port_to_be_capped() -> None:
    assert "T1" in {capped.port for capped in hand_made_load("L3").capped_ports}


@pytest.mark.parametrize(("load_id", "tall"), [("L1", 3), ("L2", 4), ("L3", 12), ("D1", 4)])
def test_pieces_too_long_for_the_other_ports_find_tall_ones(load_id: str, tall: int) -> None:
    assert tall_pieces(load_id) == tall
    carrier = larkmere().carriers[LOADS[load_id][0]]
    assert tall <= sum(port.kind is PortKind.HOSE and (port.reach_m or 0.0) > 0.4 for port in carrier.ports.values())


def test_a_long_modular_tube_finds_room_at_exactly_the_twelve_tall_ports_of_the_lapwing() -> None:
    tube = next(p for p in pieces_of_set(larkmere(), "Long Colon") if p.key == "mod5long/1/tube")
    assert ports_for(tube, "bore", "Lapwing") == [f"H{number}" for number in range(1, 13)]


def test_a_fixed_forceps_finds_room_at_all_sixteen_hose_ports_of_the_dunlin() -> None:
    forceps = next(p for p in pieces_of_set(larkmere(), "Groin Repair") if p.key == "fix5/1/instrument")
    assert ports_for(forceps, "shaft", "Dunlin") == [f"H{number}" for number in range(1, 17)]


@pytest.mark.parametrize("together", TOGETHER)
def test_the_stock_is_enough_for_what_runs_at_the_same_time(together: tuple[str, str]) -> None:
    used = accessories_in(hand_made_load(together[0])) + accessories_in(hand_made_load(together[1]))
    stock = {key: part.stock for key, part in larkmere().accessories.items()}
    assert {key: number for key, number in used.items() if number > stock[key]} == {}


def test_flushing_sleeves_and_luer_adapters_are_needed_and_leave_little() -> None:
    assert accessories_in(hand_made_load("L1"))["flushing_sleeve_m"] == 10
    used = accessories_in(hand_made_load("L2")) + accessories_in(hand_made_load("D1"))
    assert used["luer_adapter_female_female"] == 4
    assert used["strainer_fine"] == 5


@pytest.mark.parametrize("load_id", LOADS)
def test_a_load_is_lighter_than_its_carrier_bears(load_id: str) -> None:
    carrier_key, names = LOADS[load_id]
    masses = [piece.piece_type.mass_kg for name in names for piece in pieces_of_set(larkmere(), name)]
    limit = larkmere().carriers[carrier_key].mass_limit_kg
    assert limit is not None
    assert 2.0 < sum(mass or 0.0 for mass in masses) < limit


@pytest.mark.parametrize("name", TEN_SETS)
def test_the_gentle_programme_suits_every_instrument_of_a_set(name: str) -> None:
    programme = larkmere().programmes["gentle_lumen"]
    for key, version in instructions_of(name).items():
        assert version is not None, key
        assert objections(programme, version) == [], key


@pytest.mark.parametrize("name", TEN_SETS)
def test_the_intensive_programme_suits_no_set_because_of_its_optic_and_light_cable(name: str) -> None:
    programme = larkmere().programmes["intensive_lumen"]
    found = {key: objections(programme, version) for key, version in instructions_of(name).items() if version}
    for key in ("rigid optics", "light cables"):
        assert found[key] == [
            "cleaning: 70 °C",
            "cleaning: pH 11.5",
            "neutralisation: pH 4.8",
            "neutralisation: acidic neutraliser",
        ]


def test_the_intensive_programme_suits_plain_steel() -> None:
    version = larkmere().instructions["trocar sleeves"].in_force(TODAY)
    assert version is not None
    assert objections(larkmere().programmes["intensive_lumen"], version) == []


@pytest.mark.parametrize("name", TEN_SETS)
def test_instructions_are_read_and_approved_by_two_persons(name: str) -> None:
    for key, version in instructions_of(name).items():
        assert version is not None
        assert version.language in larkmere().languages
        assert version.approval is not None
        assert len(set(version.approval.by)) == 2, key
        assert version.sterilization is not None, key


def test_the_instructions_of_the_visiting_set_are_not_in_force_nor_readable_nor_complete() -> None:
    assert instructions_of("Visiting Wrist") == {"wristed instruments": None}
    version = larkmere().instructions["wristed instruments"].versions[-1]
    assert version.language not in larkmere().languages
    assert version.cleaning is not None
    assert version.sterilization is None


@pytest.mark.parametrize("name", ["gentle_lumen", "intensive_lumen", "basket"])
def test_a_programme_leaves_time_to_fill_heat_and_drain(name: str) -> None:
    site = larkmere()
    stages = site.programmes[name].stages
    wet = [stage for stage in stages if stage.kind.wet]
    # A minute and a half to fill and drain each bath, and heating at 5 K/min: common practice, no source.
    heating_k = sum(max(hot.temperature_c - cold.temperature_c, 0.0) for cold, hot in pairwise(wet))
    needed_min = sum(stage.hold_s for stage in stages) / 60 + 1.5 * len(wet) + heating_k / 5
    offers = [machine.programmes[name] / 60 for machine in site.machines.values() if name in machine.programmes]
    assert offers
    assert all(needed_min <= offer <= needed_min + 5 for offer in offers)


@pytest.mark.parametrize("name", ["gentle_lumen", "intensive_lumen", "basket"])
def test_the_disinfection_of_a_programme_reaches_its_target_at_the_set_temperature(name: str) -> None:
    programme = larkmere().programmes[name]
    stage = next(stage for stage in programme.stages if stage.kind == "disinfect")
    assert programme.a0_target_s == 3000
    assert stage.hold_s * 10 ** ((stage.temperature_c - 80) / 10) >= 3000 - 1e-6
