"""Every piece is always in exactly one place; what is lost or swapped stops the set at the next count."""

from __future__ import annotations

import pytest

from patency.ledger import (
    CountSet,
    EnrolPiece,
    InstrumentSet,
    MoveSet,
    Piece,
    Place,
    Result,
    Seen,
    SetState,
    Where,
)
from tests.ledger.quay import MET, Desk

S = SetState
COUNTED = [S.DISMANTLED, S.LOADED, S.INSPECTED, S.ASSEMBLED, S.PACKED]


def place_of(desk: Desk, piece: str) -> tuple[str, str]:
    found = desk.ledger.find(Piece, piece)
    assert found is not None
    return found.place.where.value, found.place.key


def found(desk: Desk, set_key: str) -> InstrumentSet:
    one = desk.ledger.find(InstrumentSet, set_key)
    assert one is not None
    return one


def bring_before(desk: Desk, to: SetState) -> None:
    """Take both sets to where the transition to a state is next."""
    for state in COUNTED[: COUNTED.index(to)]:
        if state is S.LOADED:
            desk.run("w1", "Alder", ["Heron", "Otter"])
        else:
            for name in ("Heron", "Otter"):
                desk.move(name, state)
    if to is S.LOADED:
        from patency.ledger import LoadKind, PlanLoad

        ride = {"machine": "Alder", "carrier": "Lapwing", "programme": "gentle"}
        desk.do(PlanLoad.model_validate({"load": "w1", "kind": LoadKind.WASH, "sets": ("Heron", "Otter"), **ride}))


def asked(desk: Desk, to: SetState, seen: dict[str, Seen]) -> MoveSet:
    load = "w1" if to is S.LOADED else None
    expires = desk.at.replace(year=2027) if to is S.PACKED else None
    return MoveSet(set_key="Heron", to=to, seen=seen, load=load, expires=expires)


@pytest.mark.parametrize("to", COUNTED)
def test_a_lost_piece_is_found_missing_at_the_next_count(quick: Desk, to: SetState) -> None:
    bring_before(quick, to)
    seen = quick.seen("Heron")
    del seen["Heron seal"]
    before = found(quick, "Heron").counted_at
    reason = quick.refusal(asked(quick, to, seen))
    last = f"last counted in event {before}" if before else "never counted"
    assert reason == f"set Heron: piece Heron seal is not seen, {last} (expected: every piece of the set)"


@pytest.mark.parametrize("to", COUNTED)
def test_a_swapped_piece_is_found_at_the_next_count(quick: Desk, to: SetState) -> None:
    bring_before(quick, to)
    seen = quick.seen("Heron")
    seen["Otter tube"] = seen.pop("Heron tube")
    reason = quick.refusal(asked(quick, to, seen))
    assert "piece Heron tube is not seen" in reason
    assert "piece Otter tube belongs to set Otter" in reason


def test_what_a_count_does_not_find_is_missing_and_the_set_stops(desk: Desk) -> None:
    seen = {"Heron tube": Seen.SCANNED, "Heron jaws": Seen.BY_EYE}
    desk.do(CountSet(set_key="Heron", seen=seen), "loader-1")
    assert place_of(desk, "Heron seal") == ("missing", "Heron")
    assert found(desk, "Heron").state is S.MISSING_PART
    assert found(desk, "Heron").pieces == ("Heron jaws", "Heron tube")
    again = MoveSet(set_key="Heron", to=S.RECEIVED, seen=desk.seen("Heron"))
    assert "set Heron: 1 seal missing" in desk.refusal(again)


def test_a_piece_found_in_the_box_of_another_set_goes_home_and_its_set_goes_on(quick: Desk) -> None:
    here = {"Heron tube": Seen.SCANNED, "Heron jaws": Seen.SCANNED}
    quick.do(CountSet(set_key="Heron", seen=here), "loader-1")
    quick.do(CountSet(set_key="Otter", seen={**quick.seen("Otter"), "Heron seal": Seen.BY_EYE}), "loader-1")
    assert place_of(quick, "Heron seal") == ("set", "Otter")
    too_many = MoveSet(set_key="Otter", to=S.DISMANTLED, seen=quick.seen("Otter"))
    assert "set Otter: 1 seal too many" in quick.refusal(too_many)
    home = Place(where=Where.SET, key="Heron")
    quick.do(quick.taking("Heron seal", to=home, why="belongs there"), "loader-1")
    quick.move("Heron", S.RECEIVED, seen=quick.seen("Heron"))
    for name in ("Heron", "Otter"):
        quick.move(name, S.DISMANTLED)
    assert found(quick, "Heron").pieces == ("Heron jaws", "Heron seal", "Heron tube")


def test_an_unwashed_piece_found_in_a_washed_set_sends_the_set_back_to_the_wash(quick: Desk) -> None:
    quick.wash("w1", ["Heron"])
    quick.do(CountSet(set_key="Heron", seen={**quick.seen("Heron"), "Otter jaws": Seen.SCANNED}))
    assert found(quick, "Heron").state is S.REWASH
    assert place_of(quick, "Otter jaws") == ("set", "Heron")


def test_only_a_washed_piece_is_put_into_a_washed_set(quick: Desk) -> None:
    shelf = Place(where=Where.SPARE, key="shelf 2")
    quick.do(EnrolPiece(piece="spare seal", type_key="seal", place=shelf))
    quick.wash("w1", ["Heron", "Otter"])
    into = quick.taking("spare seal", to=Place(where=Where.SET, key="Heron"), why="torn")
    assert "piece spare seal: was not washed, set Heron was" in quick.refusal(into)
    quick.do(quick.taking("Otter seal", to=shelf, why="spare"))
    quick.do(quick.taking("Otter seal", to=Place(where=Where.SET, key="Heron"), why="taken from Otter"))
    assert place_of(quick, "Otter seal") == ("set", "Heron")


def test_an_incomplete_set_goes_on_only_under_an_override_in_force(quick: Desk) -> None:
    here = {"Heron tube": Seen.SCANNED, "Heron jaws": Seen.SCANNED}
    quick.do(CountSet(set_key="Heron", seen=here))
    on = MoveSet(set_key="Heron", to=S.RECEIVED, seen=here, override="o-1")
    assert "1 seal missing" in quick.refusal(on)
    quick.incomplete("Otter", "o-1")
    assert "override o-1: is for set Otter" in quick.refusal(on)
    quick.incomplete("Heron", "o-2")
    quick.do(on.model_copy(update={"override": "o-2"}))
    quick.move("Heron", S.DISMANTLED)
    quick.at = quick.at.replace(day=13)
    late = MoveSet(set_key="Heron", to=S.MISSING_PART, why="counted")
    quick.do(late)
    assert "override o-2: ran out" in quick.refusal(MoveSet(set_key="Heron", to=S.DISMANTLED, seen=here))


def test_pieces_leave_and_enter_only_sets_that_lie_open(quick: Desk) -> None:
    quick.move("Heron", S.DISMANTLED)
    quick.move("Otter", S.DISMANTLED)
    quick.start("w1", "Alder", ["Heron"])
    taken = quick.taking("Heron seal", to=Place(where=Where.SPARE, key="shelf 2"), why="torn")
    assert "set Heron: is loaded" in quick.refusal(taken)
    put = quick.taking("Otter seal", to=Place(where=Where.SET, key="Heron"), why="spare")
    assert "set Heron: is loaded" in quick.refusal(put)
    assert "set Heron: is loaded" in quick.refusal(CountSet(set_key="Heron", seen={}))


def test_a_changed_set_is_counted_again_before_it_is_closed(quick: Desk) -> None:
    quick.wash("w1", ["Heron", "Otter"])
    quick.move("Heron", S.INSPECTED)
    quick.do(MoveSet(set_key="Heron", to=S.QUARANTINE, why="scratch"))
    quick.do(quick.taking("Heron seal", to=Place(where=Where.SPARE, key="shelf 2"), why="torn"))
    back = MoveSet(set_key="Heron", to=S.INSPECTED)
    outcome = quick.ask(back, "lead-1", "lead-2")
    assert "its content is not what was last counted" in getattr(outcome, "text", "")


def test_a_piece_comes_back_from_repair_with_a_test_and_is_then_unwashed(quick: Desk) -> None:
    quick.wash("w1", ["Heron", "Otter"])
    quick.do(quick.taking("Heron tube", to=Place(where=Where.REPAIR, key="workshop"), why="insulation cut"))
    shelf = quick.taking("Heron tube", to=Place(where=Where.SPARE, key="shelf 2"), why="mended")
    assert "comes from repair without a test" in quick.refusal(shelf)
    failed = shelf.model_copy(update={"result": Result(format="example/1", verdict="not met")})
    assert "comes from repair without a test" in quick.refusal(failed)
    quick.do(shelf.model_copy(update={"result": MET}))
    into = quick.taking("Heron tube", to=Place(where=Where.SET, key="Heron"), why="back")
    assert "was not washed" in quick.refusal(into)


def test_a_retired_piece_never_comes_back_and_nobody_moves_a_piece_to_missing(quick: Desk) -> None:
    quick.do(quick.taking("Heron seal", to=Place(where=Where.RETIRED, key="scrap"), why="torn"))
    back = quick.taking("Heron seal", to=Place(where=Where.SET, key="Heron"), why="sorry")
    assert "piece Heron seal: is retired" in quick.refusal(back)
    seen = {**quick.seen("Heron"), "Heron seal": Seen.BY_EYE}
    assert "piece Heron seal: is retired" in quick.refusal(CountSet(set_key="Heron", seen=seen))
    gone = quick.taking("Heron jaws", to=Place(where=Where.MISSING, key="Heron"), why="gone")
    assert "cannot be moved to missing" in quick.refusal(gone)
