"""What stands on a load sheet: every piece once, every port once, in the order of the walk."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import pytest

from patency.catalogue import Placing, PortKind
from patency.load import pieces_of_set
from patency.papers import load_sheet, set_letters
from patency.texts import CAUTIONS
from tests.papers.cast import FULL_LOAD, LARKMERE, SMALL, SMALL_LOAD, full_sheet, pieces_on_ports, small_sheet

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.load import Load, PlacedPiece
    from patency.papers import LoadSheet

both_loads = pytest.mark.parametrize(
    ("department", "load", "sheet"),
    [(SMALL, SMALL_LOAD, small_sheet()), (LARKMERE, FULL_LOAD, full_sheet())],
    ids=["small", "full"],
)


def changed(load: Load, placing: Placing, **values: object) -> Load:
    """Change the pieces of a load that have one placing."""
    return load.model_copy(
        update={
            "pieces": tuple(
                piece.model_copy(update=values) if piece.placing is placing else piece for piece in load.pieces
            )
        }
    )


def sheet_of(load: Load, department: Department = SMALL) -> LoadSheet:
    return load_sheet(department, load, "Monday")


@pytest.mark.parametrize(("sets", "last"), [(2, "B"), (26, "Z"), (27, "AA"), (28, "AB")])
def test_each_set_has_a_letter_of_its_own(sets: int, last: str) -> None:
    letters = set_letters(SMALL_LOAD.model_copy(update={"sets": tuple(f"set {number}" for number in range(sets))}))
    assert len(set(letters.values())) == sets
    assert letters[f"set {sets - 1}"] == last


@both_loads
def test_every_connected_port_stands_in_exactly_one_step_and_in_the_look_at_unloading(
    department: Department, load: Load, sheet: LoadSheet
) -> None:
    ports = [connection.port for piece in load.pieces for connection in piece.lumens]
    assert Counter(port for step in sheet.port_steps for port in step.ports) == Counter(ports)
    assert Counter(sheet.unloading_ports) == Counter(ports)
    assert len(sheet.port_steps) == pieces_on_ports(load)
    assert set(ports) <= set(department.carriers[load.carrier].ports)


@both_loads
def test_every_piece_of_every_set_is_in_exactly_one_step(department: Department, load: Load, sheet: LoadSheet) -> None:
    listed: Counter[tuple[str, str, str]] = Counter()
    for step in sheet.port_steps:
        listed[step.letter, step.name, step.of] += 1
    for place in sheet.place_steps:
        for line in place.lines:
            listed[place.letter, line.name, line.of] += line.count
    expected: Counter[tuple[str, str, str]] = Counter()
    for one in sheet.sets:
        for piece in pieces_of_set(department, one.name):
            alone = piece.words == piece.instrument_type.name
            name, of = (piece.words, "") if alone else (piece.piece_type.name, piece.instrument_type.name)
            expected[one.letter, name, of] += 1
    assert listed == expected
    assert {one.name: one.pieces_total for one in sheet.sets} == {
        name: len(pieces_of_set(department, name)) for name in load.sets
    }


@both_loads
def test_the_count_names_every_instrument_of_a_set_with_its_number(
    department: Department, load: Load, sheet: LoadSheet
) -> None:
    for name, one in zip(load.sets, sheet.sets, strict=True):
        contents = department.sets[name].contents
        assert {words: count for count, words in one.instruments} == {
            department.instruments[key].name: count for key, count in contents.items()
        }


@both_loads
def test_steps_follow_the_walk_and_are_numbered_through(department: Department, load: Load, sheet: LoadSheet) -> None:
    walk = list(department.carriers[load.carrier].ports)
    nearest = [min(walk.index(port) for port in step.ports) for step in sheet.port_steps]
    assert nearest == sorted(nearest)
    numbers = [step.number for step in sheet.port_steps] + [step.number for step in sheet.place_steps]
    assert numbers == list(range(1, len(numbers) + 1))


@both_loads
def test_places_come_kind_by_kind_in_the_carriers_order(department: Department, load: Load, sheet: LoadSheet) -> None:
    carrier = department.carriers[load.carrier]
    order = [*carrier.basket_areas, "pod", "optic holder", *carrier.coil_places]
    places = [order.index(step.place) for step in sheet.place_steps]
    assert places == sorted(places)


@both_loads
def test_each_set_has_its_own_letter_and_its_pieces_carry_it(
    department: Department, load: Load, sheet: LoadSheet
) -> None:
    assert [one.letter for one in sheet.sets] == ["A", "B", "C"][: len(load.sets)]
    assert [one.name for one in sheet.sets] == list(load.sets)
    at = {connection.port: piece.set for piece in load.pieces for connection in piece.lumens}
    letters = {one.name: one.letter for one in sheet.sets}
    for step in sheet.port_steps:
        assert {letters[at[port]] for port in step.ports} == {step.letter}
    assert set(at) <= set(department.carriers[load.carrier].ports)


def test_unused_ports_are_listed_under_the_cap_that_closes_them() -> None:
    sheet = small_sheet()
    assert [(line.cap, line.ports) for line in sheet.caps] == [("cap for the taper", ("T1",))]
    assert (1, "cap for the taper") in sheet.fetch


def test_ports_of_one_cap_are_listed_in_the_order_of_the_walk() -> None:
    kept = tuple(piece for piece in SMALL_LOAD.pieces if piece.position not in {"H2", "H3"})
    cap = SMALL_LOAD.capped_ports[0].model_copy(update={"cap": "hose_cap"})
    caps = tuple(cap.model_copy(update={"port": port}) for port in ("H3", "H2"))
    sheet = sheet_of(SMALL_LOAD.model_copy(update={"pieces": kept, "capped_ports": caps}))
    assert [(line.cap, line.ports) for line in sheet.caps] == [("cap for a hose", ("H2", "H3"))]


def test_ports_without_a_cap_are_named() -> None:
    sheet = sheet_of(SMALL_LOAD.model_copy(update={"capped_ports": (), "open_ports": ("T1",)}))
    assert sheet.open_ports == ("T1",)
    assert sheet.caps == ()


@both_loads
def test_what_is_fetched_is_what_chains_caps_optics_pods_and_nets_need(
    department: Department, load: Load, sheet: LoadSheet
) -> None:
    keys = Counter(link for piece in load.pieces for connection in piece.lumens for link in connection.chain)
    keys.update(capped.cap for capped in load.capped_ports)
    keys.update(piece.position for piece in load.pieces if piece.placing is Placing.OPTIC_HOLDER)
    expected = {department.accessories[key].name: count for key, count in keys.items()}
    expected["pod with lid and label"] = sum(
        any(piece.placing is Placing.POD for piece in load.pieces if piece.set == name) for name in load.sets
    )
    netted = {piece.position for piece in load.pieces if piece.net}
    assert {name: count for count, name in sheet.fetch} == expected | ({"hold-down net": len(netted)} if netted else {})


def test_a_step_says_chain_way_up_depth_and_what_is_open() -> None:
    steps = {step.ports: step for step in small_sheet().port_steps}
    sleeve = steps["N1",]
    assert (sleeve.name, sleeve.of) == ("sleeve", "trocar sleeve 11 mm")
    assert sleeve.connect == ("injector nozzle 6 mm",)
    assert sleeve.set_up == ("tip up", "tap open", "seals off", "nozzle 20 mm inside")
    assert steps["H1",].connect == ("hose > flushing sleeve for 5 mm tubes",)
    forceps = steps["H2",]
    assert (forceps.name, forceps.of) == ("fixed forceps 5 mm with flush port", "")
    assert forceps.connect == ("hose straight on",)
    assert forceps.set_up == ("tip up", "leaning to the back", "jaws open", "ratchet released")


def test_a_piece_on_two_ports_says_which_lumen_goes_where() -> None:
    steps = [step for step in full_sheet().port_steps if len(step.ports) > 1]
    assert steps
    lumens = {
        connection.port: connection.lumen
        for piece in FULL_LOAD.pieces
        if len(piece.lumens) > 1
        for connection in piece.lumens
    }
    for step in steps:
        for port, line in zip(step.ports, step.connect, strict=True):
            assert line.startswith(f"{port}: ")
            assert line.endswith(f" > {lumens[port]}")


def test_the_taper_takes_a_handpiece_without_anything_between() -> None:
    step = next(step for step in full_sheet().port_steps if "T1" in step.ports)
    assert step.connect == ("straight on",)


def test_sharp_pieces_warn_and_others_do_not() -> None:
    sharp = {
        piece.words for name in FULL_LOAD.sets for piece in pieces_of_set(LARKMERE, name) if piece.piece_type.sharp
    }
    warned = {(step.name, step.of): step.warning for step in full_sheet().port_steps}
    warned |= {(line.name, line.of): line.warning for step in full_sheet().place_steps for line in step.lines}
    for (name, of), warning in warned.items():
        assert warning == ("sharp" if (f"{name} – {of}" if of else name) in sharp else "")
    assert sharp


def test_small_parts_are_gathered_in_the_pod_of_their_set_with_lid_and_label() -> None:
    pods = [step for step in full_sheet().place_steps if step.place == "pod"]
    assert [step.letter for step in pods] == ["A", "B", "C"]
    assert all("lid on, label of the set on it" in step.notes for step in pods)


def test_a_pod_and_a_holder_stand_in_the_area_the_plan_names() -> None:
    stands = {(step.letter, step.place): step.notes[-1] for step in small_sheet().place_steps if step.notes}
    assert stands == {
        ("A", "pod"): "stands in B1",
        ("B", "pod"): "stands in B2",
        ("A", "optic holder"): "stands in B1",
    }
    marked = next(level for level in small_sheet().levels if "B2" in level.drawing_svg)
    assert marked.drawing_svg.count(">B</text>") == 3  # on N2, H3 and the pod's basket area


def test_where_no_area_is_planned_a_pod_is_given_none() -> None:
    sheet = sheet_of(changed(SMALL_LOAD, Placing.POD, stands_in=None))
    assert all(step.notes[-1].startswith("lid on") for step in sheet.place_steps if step.place == "pod")


def test_a_leaning_piece_is_said_to_lean_and_an_upright_one_is_not() -> None:
    leaning = {step.ports[0] for step in small_sheet().port_steps if "leaning to the back" in step.set_up}
    assert leaning == {"H1", "H2", "H3"}
    assert len(small_sheet().port_steps) == 5


def test_one_net_over_a_whole_basket_is_said_once() -> None:
    sheet = sheet_of(changed(SMALL_LOAD, Placing.BASKET, net=True))
    (basket,) = (step for step in sheet.place_steps if step.place == "B1")
    assert basket.notes == ("hold-down net over it",)
    assert all("hold-down net over it" not in line.set_up for line in basket.lines)
    assert (1, "hold-down net") in sheet.fetch


def test_a_net_over_some_pieces_is_said_with_them() -> None:
    (basket,) = (step for step in small_sheet().place_steps if step.place == "B1")
    assert basket.notes == ()
    set_up = {line.name: line.set_up for line in basket.lines}
    assert set_up == {"handle": ("ratchet released",), "jaw insert": ("jaws open", "hold-down net over it")}


def test_sets_that_share_a_basket_have_a_step_each_one_after_the_other() -> None:
    (seal,) = (piece for piece in SMALL_LOAD.pieces if piece.set == "Noon" and piece.placing is Placing.POD)
    shared = seal.model_copy(update={"placing": Placing.BASKET, "position": "B1"})
    pieces: tuple[PlacedPiece, ...] = (*(piece for piece in SMALL_LOAD.pieces if piece is not seal), shared)
    sheet = sheet_of(SMALL_LOAD.model_copy(update={"pieces": pieces}))
    assert [step.letter for step in sheet.place_steps if step.place == "B1"] == ["A", "B"]
    drawing = next(level.drawing_svg for level in sheet.levels if ">B1<" in level.drawing_svg)
    assert ">AB<" in drawing


def test_a_set_that_is_called_like_a_port_marks_no_port() -> None:
    called = SMALL.model_copy(update={"sets": {"Morning": SMALL.sets["Morning"], "T1": SMALL.sets["Noon"]}})
    pieces = tuple(
        piece.model_copy(update={"set": "T1", "position": "T1" if piece.placing is Placing.POD else piece.position})
        if piece.set == "Noon"
        else piece
        for piece in SMALL_LOAD.pieces
    )
    load = SMALL_LOAD.model_copy(update={"sets": ("Morning", "T1"), "pieces": pieces})
    assert "T1" not in load_sheet(called, load, "Monday").unloading_ports


def test_the_cautions_and_eye_checks_stand_on_every_sheet() -> None:
    sheet = small_sheet()
    assert sheet.cautions == CAUTIONS
    assert len(sheet.checks_before_start) >= 6
    assert "hose" in sheet.unloading_look


def test_the_kinds_of_port_of_the_walk_are_all_there() -> None:
    ports = LARKMERE.carriers[FULL_LOAD.carrier].ports
    assert {ports[port].kind for port in full_sheet().unloading_ports} == set(PortKind)


@both_loads
def test_the_longest_piece_on_a_port_fits_its_column(department: Department, load: Load, sheet: LoadSheet) -> None:
    widths = [float(step.picture_svg.split('width="')[1].split("mm")[0]) for step in sheet.port_steps]
    assert max(widths) <= 52.0
    longest = max(
        piece.piece_type.length_m
        for name in load.sets
        for piece in pieces_of_set(department, name)
        if piece.piece_type.placing is Placing.PORT
    )
    scale = (max(widths) - 1.0) / longest
    assert scale == pytest.approx(min(120.0, 51.0 / longest), rel=1e-3)
