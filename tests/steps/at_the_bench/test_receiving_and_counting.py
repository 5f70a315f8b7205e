"""A set comes back: it is known at one scan, counted by picture, and what is missing is looked for where it can be."""

from __future__ import annotations

from datetime import timedelta

import pytest

from patency.ledger import Kind, Piece, Refused, Seen, SetHold, SetState, Where
from patency.steps import (
    all_seen,
    count_pieces,
    found_in_box,
    look_at_set,
    owners_of_extra,
    read_scan,
    receive_set,
    show_count,
    show_pieces,
)
from tests.steps.at_the_bench.bench import Hands, done, refusal

SPRING = "Gallbladder Two/sleeve11/1/valve spring"


def test_a_scan_says_what_it_is(hands: Hands) -> None:
    mark = hands.ledger.find(Piece, "Gallbladder One/sleeve11/1/sleeve")
    assert mark is not None
    assert mark.mark is not None
    told = {text: done(read_scan(hands.work, text)) for text in ("set:Appendix", "Appendix", "L1", "Alder", mark.mark)}
    assert [(one.kind, one.key) for one in told.values()] == [
        ("set", "Appendix"),
        ("set", "Appendix"),
        ("load", "L1"),
        ("machine", "Alder"),
        ("piece", "Gallbladder One/sleeve11/1/sleeve"),
    ]
    assert "is not known here" in refusal(read_scan(hands.work, "4006381333931"))
    assert "is not known here" in refusal(read_scan(hands.work, "  "))


def test_a_set_is_received_with_its_age_its_case_and_its_place_in_line(hands: Hands) -> None:
    arrived = done(receive_set(hands.work, "Gallbladder One", hands.around()))
    assert (arrived.state, arrived.pieces, arrived.load) == (SetState.RECEIVED, 56, "L1")
    assert arrived.soil_age is not None
    assert timedelta(hours=1) < arrived.soil_age < timedelta(hours=2)
    assert arrived.case is not None
    assert not arrived.too_old
    assert arrived.holds == ()
    first = done(look_at_set(hands.work, "Appendix", hands.at))
    assert first.place_in_line == 1  # it has to be washed by 18:03, before all others
    assert (
        done(look_at_set(hands.work, "Groin Repair", hands.at)).place_in_line == 7
    )  # of those due at 21:30 in order of name


def test_soil_of_unknown_age_or_without_a_limit_counts_as_too_old(hands: Hands) -> None:
    done(receive_set(hands.work, "Appendix", hands.around()))
    later = hands.at + timedelta(hours=8)
    assert done(look_at_set(hands.work, "Appendix", later)).too_old
    assert done(look_at_set(hands.work, "Visiting Wrist", hands.at)).too_old


def test_a_set_received_twice_is_received_once(hands: Hands) -> None:
    around = hands.around()
    done(receive_set(hands.work, "Appendix", around))
    head = hands.ledger.head()
    done(receive_set(hands.work, "Appendix", around))
    done(receive_set(hands.work, "Appendix", hands.around()))
    assert hands.ledger.head() == head


def test_only_the_soiled_side_receives(hands: Hands) -> None:
    assert "may not do this" in refusal(receive_set(hands.work, "Appendix", hands.around("assembler-1")))
    assert "is not known" in refusal(receive_set(hands.work, "Nobody's", hands.around()))
    hands.ready("Appendix")
    assert "is dismantled" in refusal(receive_set(hands.work, "Appendix", hands.around()))


def test_a_count_shows_equal_pieces_together_with_how_many_belong(hands: Hands) -> None:
    done(receive_set(hands.work, "Gallbladder Two", hands.around()))
    shown = done(show_count(hands.work, "Gallbladder Two"))
    sleeves = next(one for one in shown.types if one.type_key == "sleeve11/sleeve")
    assert (sleeves.listed, len(sleeves.pieces)) == (2, 2)
    assert sleeves.words == "sleeve with tap – trocar sleeve 11 mm"
    assert sum(one.listed for one in shown.types) == 54


@pytest.mark.parametrize("how", [Seen.BY_EYE])
def test_a_missing_spring_stops_its_set_and_is_found_in_the_box_of_the_other(hands: Hands, how: Seen) -> None:
    for name in ("Gallbladder One", "Gallbladder Two", "Knee Scope"):
        done(receive_set(hands.work, name, hands.around()))
    seen = {key: Seen.BY_EYE for key in hands.set_now("Gallbladder Two").pieces if key != SPRING}
    counted = done(count_pieces(hands.work, "Gallbladder Two", seen, hands.around()))
    assert [piece.key for piece in counted.missing] == [SPRING]
    assert not counted.all_there
    assert counted.state is SetState.MISSING_PART
    places = counted.search[SPRING]
    assert places[0].set_key == "Gallbladder One"
    assert places[0].reasons == ("has 2 of these too", "used 80 min before it")
    assert [(piece.key, name) for piece, name in owners_of_extra(hands.work, "sleeve11/valve spring")] == [
        (SPRING, "Gallbladder Two")
    ]
    found = done(found_in_box(hands.work, SPRING, "Gallbladder One", how, hands.around()))
    assert found.all_there
    assert found.state is SetState.RECEIVED
    spring = hands.ledger.find(Piece, SPRING)
    assert spring is not None
    assert (spring.place.where, spring.place.key) == (Where.SET, "Gallbladder Two")
    assert SPRING not in hands.set_now("Gallbladder One").pieces
    way = [event["what"]["to"] for event in hands.ledger.story("piece", SPRING) if event["event"] == "piece moved"]
    assert [(one["where"], one["key"]) for one in way] == [
        ("missing", "Gallbladder Two"),
        ("set", "Gallbladder One"),
        ("set", "Gallbladder Two"),
    ]
    reached = {(item.kind, item.key) for item in hands.ledger.trace(Kind.PIECE, SPRING).items}
    assert {(Kind.SET, "Gallbladder One"), (Kind.SET, "Gallbladder Two")} <= reached


def test_a_held_box_is_no_place_to_look_for_a_missing_part(hands: Hands) -> None:
    for name in ("Gallbladder One", "Gallbladder Two", "Knee Scope"):
        done(receive_set(hands.work, name, hands.around()))
    hold = SetHold(hold="h-1", scope=Kind.SET, key="Gallbladder One", reason="suspected prion disease")
    assert not isinstance(hands.ledger.append(hold, hands.around("lead-1")), Refused)
    seen = {key: Seen.BY_EYE for key in hands.set_now("Gallbladder Two").pieces if key != SPRING}
    counted = done(count_pieces(hands.work, "Gallbladder Two", seen, hands.around()))
    assert [place.set_key for place in counted.search[SPRING]] == ["Knee Scope"]


def test_what_is_not_missing_is_not_found(hands: Hands) -> None:
    done(receive_set(hands.work, "Gallbladder Two", hands.around()))
    assert "is not missing" in refusal(found_in_box(hands.work, SPRING, "Gallbladder One", Seen.BY_EYE, hands.around()))
    assert "is not known" in refusal(found_in_box(hands.work, "x", "Gallbladder One", Seen.BY_EYE, hands.around()))
    assert "is not known" in refusal(found_in_box(hands.work, SPRING, "x", Seen.BY_EYE, hands.around()))


def test_an_unmarked_piece_is_never_counted_as_scanned(hands: Hands) -> None:
    done(receive_set(hands.work, "Gallbladder Two", hands.around()))
    seen = all_seen(hands.set_now("Gallbladder Two"), scanned=[SPRING])
    assert "has no mark" in refusal(count_pieces(hands.work, "Gallbladder Two", seen, hands.around()))


def test_a_set_without_complete_instructions_is_held_when_it_arrives(hands: Hands) -> None:
    arrived = done(receive_set(hands.work, "Visiting Wrist", hands.around()))
    assert len(arrived.holds) == 1
    assert "instructions incomplete" in arrived.holds[0].reason


def test_a_piece_of_an_unknown_type_counts_as_sharp(hands: Hands) -> None:
    from patency.ledger import EnrolPiece, Place

    place = Place(where=Where.SPARE, key="shelf")
    hands.ledger.append(EnrolPiece(piece="odd", type_key="odd/one", place=place), hands.around())
    (odd,) = show_pieces(hands.work, ["odd", "nowhere"])
    assert (odd.words, odd.sharp, odd.small) == ("odd/one", True, False)
