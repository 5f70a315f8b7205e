"""What stands on a load sheet: every piece once, every port once, in the order of the walk."""

from __future__ import annotations

from collections import Counter

from patency.catalogue import PortKind
from patency.load import pieces_of_set
from patency.papers import load_sheet
from patency.texts import CAUTIONS
from tests.papers.cast import FULL_LOAD, LARKMERE, SMALL, SMALL_LOAD, full_sheet, pieces_on_ports, small_sheet


def test_every_connected_port_stands_in_exactly_one_step_and_in_the_look_at_unloading() -> None:
    sheet = full_sheet()
    ports = [connection.port for piece in FULL_LOAD.pieces for connection in piece.lumens]
    assert Counter(port for step in sheet.port_steps for port in step.ports) == Counter(ports)
    assert set(sheet.unloading_ports) == set(ports)
    assert len(sheet.port_steps) == pieces_on_ports()


def test_every_piece_of_every_set_is_in_exactly_one_step() -> None:
    sheet = full_sheet()
    lying = sum(line.count for step in sheet.place_steps for line in step.lines)
    expected = sum(len(pieces_of_set(LARKMERE, name)) for name in FULL_LOAD.sets)
    assert len(sheet.port_steps) + lying == expected == sum(one.pieces_total for one in sheet.sets)


def test_steps_follow_the_walk_and_are_numbered_through() -> None:
    sheet = full_sheet()
    walk = list(LARKMERE.carriers[FULL_LOAD.carrier].ports)
    nearest = [min(walk.index(port) for port in step.ports) for step in sheet.port_steps]
    assert nearest == sorted(nearest)
    numbers = [step.number for step in sheet.port_steps] + [step.number for step in sheet.place_steps]
    assert numbers == list(range(1, len(numbers) + 1))


def test_each_set_has_its_own_letter_and_its_pieces_carry_it() -> None:
    sheet = full_sheet()
    assert [one.letter for one in sheet.sets] == ["A", "B", "C"]
    assert {one.name for one in sheet.sets} == set(FULL_LOAD.sets)
    counted = Counter(step.letter for step in sheet.port_steps)
    for one in sheet.sets:
        on_ports = sum(piece.set == one.name and bool(piece.lumens) for piece in FULL_LOAD.pieces)
        assert counted[one.letter] == on_ports


def test_unused_ports_are_listed_under_the_cap_that_closes_them() -> None:
    sheet = small_sheet()
    assert [(line.cap, line.ports) for line in sheet.caps] == [("cap for the taper", ("T1",))]
    assert (1, "cap for the taper") in sheet.fetch


def test_ports_without_a_cap_are_named() -> None:
    load = SMALL_LOAD.model_copy(update={"capped_ports": (), "open_ports": ("T1",)})
    sheet = load_sheet(SMALL, load, "Monday")
    assert sheet.open_ports == ("T1",)
    assert sheet.caps == ()


def test_what_is_fetched_is_what_the_chains_and_caps_need() -> None:
    links = Counter(link for piece in FULL_LOAD.pieces for connection in piece.lumens for link in connection.chain)
    links.update(capped.cap for capped in FULL_LOAD.capped_ports)
    assert Counter({name: count for count, name in full_sheet().fetch}) == Counter(
        {LARKMERE.accessories[key].name: count for key, count in links.items()}
    )


def test_a_step_says_chain_way_up_depth_and_what_is_open() -> None:
    steps = {step.ports: step for step in small_sheet().port_steps}
    sleeve = steps["N1",]
    assert sleeve.connect == ("injector nozzle 6 mm",)
    assert sleeve.set_up == ("tip up", "nozzle 20 mm inside", "tap open", "seals off")
    assert steps["H1",].connect == ("flushing sleeve for 5 mm tubes",)
    forceps = next(step for step in steps.values() if step.name == "fixed forceps 5 mm with flush port")
    assert forceps.connect == ("straight onto the port",)
    assert "jaws open" in forceps.set_up


def test_a_piece_on_two_ports_says_which_lumen_goes_where() -> None:
    step = next(step for step in full_sheet().port_steps if len(step.ports) > 1)
    assert len(step.connect) == len(step.ports)
    for port, line in zip(step.ports, step.connect, strict=True):
        assert line.startswith(f"{port}: ")


def test_sharp_pieces_warn() -> None:
    warned = {step.name for step in full_sheet().port_steps if step.warning == "sharp"}
    assert any("needle" in name for name in warned)


def test_small_parts_are_gathered_in_the_pod_of_their_set() -> None:
    pods = [step for step in full_sheet().place_steps if step.kind == "pod"]
    assert [step.letter for step in pods] == sorted(step.letter for step in pods)
    assert {step.place for step in pods} <= set(FULL_LOAD.sets)


def test_the_cautions_and_eye_checks_stand_on_every_sheet() -> None:
    sheet = small_sheet()
    assert sheet.cautions == CAUTIONS
    assert len(sheet.checks_before_start) >= 6
    assert "hose" in sheet.unloading_look


def test_the_kinds_of_port_of_the_walk_are_all_there() -> None:
    ports = LARKMERE.carriers[FULL_LOAD.carrier].ports
    assert {ports[port].kind for port in full_sheet().unloading_ports} == set(PortKind)
