"""The demo department against its scenario, written out here a second time: what each set needs, what there is."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import pytest

from patency.catalogue import (
    BoreSegment,
    Cap,
    FlushingSleeve,
    InjectorNozzle,
    Placing,
    PortKind,
)
from patency.load import pieces_of_set
from tests.demo.larkmere import TEN_SETS, kind_of_port, larkmere

if TYPE_CHECKING:
    from patency.catalogue import Lumen

# Per set: hoses, nozzles, tapers, coil places, basket areas, flushing sleeves, minutes on the soiled and clean side.
NEEDS = {
    "Gallbladder One": (11, 5, 0, 2, 2, 5, 18, 38),
    "Knee Scope": (2, 3, 2, 2, 2, 0, 14, 30),
    "Gallbladder Two": (10, 5, 0, 2, 2, 5, 16, 36),
    "Pelvis One": (12, 4, 0, 3, 2, 5, 20, 42),
    "Little Otter": (8, 3, 0, 2, 1, 0, 16, 34),
    "Appendix": (8, 3, 0, 2, 1, 4, 12, 24),
    "Groin Repair": (4, 3, 0, 1, 1, 0, 9, 18),
    "Shoulder Scope": (4, 3, 1, 2, 2, 0, 14, 32),
    "Pelvis Two": (10, 4, 0, 3, 2, 5, 18, 38),
    "Long Colon": (13, 4, 0, 3, 3, 5, 22, 46),
}
CONTENTS = {
    "Gallbladder One": "sleeve11 2 sleeve6 2 reducer 1 mod5 5 hook 1 clip10 1 suction5 1 needleholder 1 veress 1 "
    "hfcable 1 lightcable 1 optic 1",
    "Knee Scope": "shaver 1 pumpadapter 1 scopesheath 1 cannula 2 suctionpunch 1 hfcable 1 lightcable 1 optic 1",
    "Gallbladder Two": "sleeve11 2 sleeve6 2 reducer 1 mod5 5 hook 1 clip10 1 suction5 1 veress 1 hfcable 1 "
    "lightcable 1 optic 1",
    "Pelvis One": "sleeve11 1 sleeve6 3 mod5 5 bip5 2 suction5 1 manipulator 1 veress 1 hfcable 2 lightcable 1 optic 1",
    "Little Otter": "sleeve4 3 fix3 5 suction3 1 veress 1 hfcable 1 lightcable 1 optic 1",
    "Appendix": "sleeve11 1 sleeve6 2 mod5 4 bip5 1 suction5 1 veress 1 hfcable 1 lightcable 1 optic 1",
    "Groin Repair": "sleeve11 2 sleeve6 1 fix5 4 lightcable 1 optic 1",
    "Shoulder Scope": "shaver 1 scopesheath 1 cannula 2 passer 1 suctionpunch 1 hfcable 1 lightcable 1 optic 1",
    "Pelvis Two": "sleeve11 1 sleeve6 3 mod5 5 bip5 2 suction5 1 veress 1 hfcable 2 lightcable 1 optic 1",
    "Long Colon": "sleeve13 2 sleeve6 2 mod5long 5 bip5long 1 clip10 1 suction5 1 fan10 1 clamp10 2 veress 1 "
    "hfcable 2 lightcable 1 optic 1",
    "Visiting Wrist": "wrist 4",
}
# Bores [mm] or outer and inner diameter of annuli, with their lengths [mm], of each instrument's lumens.
PASSAGES = {
    "sleeve13": [(13.5, 110)],
    "sleeve11": [(11.5, 110)],
    "sleeve6": [(6.2, 105)],
    "sleeve4": [(4.0, 70)],
    "reducer": [(6.0, 150)],
    "mod5": [(4.2, 330)],
    "mod5long": [(4.2, 430)],
    "fix5": [(3.6, 2.6, 330)],
    "bip5": [(3.6, 2.6, 330)],
    "bip5long": [(3.6, 2.6, 430)],
    "hook": [(3.6, 2.6, 330)],
    "clip10": [(8.0, 6.0, 330)],
    "suction5": [(4.2, 330)],
    "suction3": [(2.0, 240)],
    "needleholder": [(3.6, 2.4, 330)],
    "veress": [(1.6, 120), (1.0, 130)],
    "manipulator": [(3.0, 350), (2.5, 350)],
    "fan10": [(8.0, 6.4, 340)],
    "clamp10": [(8.0, 6.0, 330)],
    "fix3": [(2.2, 1.6, 240)],
    "shaver": [(4.5, 170)],  # and 20 mm of its wider inlet: 190 mm together
    "pumpadapter": [(6.0, 80)],
    "scopesheath": [(5.8, 160), (2.5, 30)],
    "cannula": [(5.5, 90)],
    "suctionpunch": [(2.2, 180)],
    "passer": [(1.6, 210), (1.2, 210)],
    "wrist": [(5.0, 3.4, 500), (1.2, 420)],
}
STOCK = {
    "flushing_sleeve_m": 12,
    "hose_cap": 10,
    "nozzle_cap": 6,
    "taper_cap": 2,
    "lidded_fine_basket": 9,
    "hold_down_net": 6,
    "strainer_fine": 8,
    "optic_holder": 7,
    "luer_adapter_female_female": 5,
    "luer_adapter_male_male": 4,
}
# Hoses, nozzles, tapers, coil places, basket areas, hose ports for tall pieces.
CARRIERS = {"Lapwing": (24, 10, 1, 7, 5, 12), "Dunlin": (16, 12, 2, 7, 5, 16)}
TALL_M = 0.4


def needs(name: str) -> tuple[int, ...]:
    pieces = pieces_of_set(larkmere(), name)
    lumens = [lumen for piece in pieces for lumen in piece.lumens.values()]
    kinds = Counter(kind_of_port(lumen) for lumen in lumens)
    coils = sum(piece.piece_type.placing is Placing.COIL_RACK for piece in pieces)
    sleeves = sum(lumen.inlet is not None and lumen.inlet.family == "tube end" for lumen in lumens)
    areas = larkmere().sets[name].basket_areas
    return (kinds[PortKind.HOSE], kinds[PortKind.NOZZLE], kinds[PortKind.TAPER], coils, areas, sleeves)


def longest_passage(lumen: Lumen) -> tuple[float, ...]:
    segment = max(lumen.segments, key=lambda part: part.length_m.nominal)
    widths = [segment.bore_m] if isinstance(segment, BoreSegment) else [segment.outer_m, segment.inner_m]
    return tuple(round(1000 * size.nominal, 6) for size in (*widths, segment.length_m))


@pytest.mark.parametrize("name", NEEDS)
def test_a_set_needs_what_the_scenario_says(name: str) -> None:
    assert needs(name) == NEEDS[name][:6]


@pytest.mark.parametrize("name", NEEDS)
def test_a_set_takes_the_work_the_scenario_says(name: str) -> None:
    each = larkmere().sets[name]
    assert (each.soiled_side_s, each.clean_side_s) == (60 * NEEDS[name][6], 60 * NEEDS[name][7])


def test_ten_sets_add_up() -> None:
    totals = [sum(column) for column in zip(*(needs(name) for name in TEN_SETS), strict=True)]
    assert totals == [82, 37, 3, 22, 18, 29]


@pytest.mark.parametrize("name", CONTENTS)
def test_a_set_holds_the_instruments_the_scenario_says(name: str) -> None:
    words = CONTENTS[name].split()
    assert larkmere().sets[name].contents == dict(zip(words[::2], map(int, words[1::2]), strict=True))


def test_there_are_the_ten_sets_and_the_visiting_one() -> None:
    assert set(larkmere().sets) == {*TEN_SETS, "Visiting Wrist"}


def test_the_visiting_set_is_on_hold_and_has_eight_flush_ports() -> None:
    assert larkmere().sets["Visiting Wrist"].hold
    assert needs("Visiting Wrist")[0] == 8


@pytest.mark.parametrize("key", PASSAGES)
def test_the_passages_of_an_instrument_have_the_sizes_of_the_scenario(key: str) -> None:
    pieces = larkmere().instruments[key].pieces.values()
    assert [longest_passage(lumen) for piece in pieces for lumen in piece.lumens.values()] == PASSAGES[key]


def test_every_instrument_with_passages_is_in_the_scenario() -> None:
    with_lumens = {
        key for key, each in larkmere().instruments.items() if any(piece.lumens for piece in each.pieces.values())
    }
    assert with_lumens == set(PASSAGES)


@pytest.mark.parametrize("key", ["mod5", "mod5long", "veress"])
def test_modular_instruments_and_the_spring_needle_come_apart_in_three(key: str) -> None:
    assert len(larkmere().instruments[key].pieces) == 3


@pytest.mark.parametrize("key", STOCK)
def test_the_stock_is_that_of_the_scenario(key: str) -> None:
    assert larkmere().accessories[key].stock == STOCK[key]


def test_beyond_the_scenario_there_are_only_injector_nozzles() -> None:
    others = {key: part for key, part in larkmere().accessories.items() if key not in STOCK}
    assert others
    assert all(isinstance(part, InjectorNozzle) for part in others.values())


def test_there_is_one_kind_of_flushing_sleeve_and_a_cap_for_each_kind_of_port() -> None:
    parts = larkmere().accessories.values()
    assert sum(isinstance(part, FlushingSleeve) for part in parts) == 1
    assert sum(isinstance(part, Cap) for part in parts) == 3


@pytest.mark.parametrize("name", CARRIERS)
def test_a_carrier_offers_what_the_scenario_says(name: str) -> None:
    carrier = larkmere().carriers[name]
    kinds = Counter(port.kind for port in carrier.ports.values())
    tall = sum(port.kind is PortKind.HOSE and (port.reach_m or 0.0) > TALL_M for port in carrier.ports.values())
    offered = (kinds[PortKind.HOSE], kinds[PortKind.NOZZLE], kinds[PortKind.TAPER])
    assert (*offered, len(carrier.coil_places), len(carrier.basket_areas), tall) == CARRIERS[name]
    assert carrier.back_after_unload_s == 600


def test_both_carriers_together_offer_what_the_scenario_says() -> None:
    assert [sum(column) for column in zip(*CARRIERS.values(), strict=True)][:5] == [40, 22, 3, 14, 10]


@pytest.mark.parametrize("name", CARRIERS)
def test_ports_are_numbered_by_kind_in_the_order_of_the_walk(name: str) -> None:
    carrier = larkmere().carriers[name]
    for kind, letter in ((PortKind.HOSE, "H"), (PortKind.NOZZLE, "N"), (PortKind.TAPER, "T")):
        keys = [key for key, port in carrier.ports.items() if port.kind is kind]
        assert keys == [f"{letter}{number}" for number in range(1, len(keys) + 1)]


@pytest.mark.parametrize("name", CARRIERS)
def test_the_walk_goes_from_near_to_far(name: str) -> None:
    walk = [(port.at.y_m, port.at.x_m) for port in larkmere().carriers[name].ports.values()]
    assert walk == sorted(walk)


def test_machines_and_programmes_are_those_of_the_scenario() -> None:
    machines = {
        key: (each.docks, {name: time_s / 60 for name, time_s in each.programmes.items()})
        for key, each in larkmere().machines.items()
    }
    assert machines == {
        "Alder": (["Lapwing", "Dunlin"], {"gentle_lumen": 66, "intensive_lumen": 78}),
        "Birch": (["Lapwing", "Dunlin"], {"gentle_lumen": 66}),
        "Cedar": ([], {"basket": 58}),
    }
    assert larkmere().machines["Birch"].note == "manifold pressure sensor reads 3 percent low since service"


def test_the_day_brings_the_sets_back_when_the_scenario_says() -> None:
    day = larkmere().day
    assert day is not None
    back = {waiting.set: waiting.back_at.strftime("%H:%M") for waiting in day.waiting}
    assert back == {
        "Gallbladder One": "11:50",
        "Knee Scope": "12:30",
        "Gallbladder Two": "13:10",
        "Pelvis One": "13:45",
        "Little Otter": "14:10",
        "Appendix": "14:40",
        "Groin Repair": "15:05",
        "Shoulder Scope": "15:50",
        "Pelvis Two": "16:20",
        "Visiting Wrist": "17:30",
        "Long Colon": "18:10",
    }
    assert (day.shift_starts.strftime("%H:%M"), day.shift_ends.strftime("%H:%M")) == ("11:00", "21:30")
