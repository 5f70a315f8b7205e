"""A piece that is not fit is swapped for an equal spare: a deviation with its reason; no other may take its place."""

from __future__ import annotations

import threading
import time
from typing import TYPE_CHECKING

from patency.ledger import InstrumentSet, Kind, Piece, Refused, Seen, SetHold, Where
from patency.steps import (
    all_seen,
    begin_load,
    confirm_step,
    count_pieces,
    found_in_box,
    missed_elsewhere,
    progress_of,
    receive_set,
    show_count,
    swap_piece,
    swaps_on,
)
from tests.steps.at_the_bench.bench import done, refusal

if TYPE_CHECKING:
    from tests.steps.at_the_bench.bench import Hands

TUBE, SPARE = "Gallbladder Two/mod5/1/tube", "spare mod5/tube"
SPRING = "Gallbladder Two/sleeve11/1/valve spring"


def test_the_spare_takes_the_place_and_the_other_is_set_aside(hands: Hands) -> None:
    hands.ready("Gallbladder One", "Gallbladder Two")
    done(begin_load(hands.work, "L1", hands.around()))
    done(confirm_step(hands.work, "L1", TUBE, (), hands.around()))
    (swap,) = done(swaps_on(hands.work, "L1", TUBE))
    assert (swap.piece.key, [one.key for one in swap.spares]) == (TUBE, [SPARE])
    assert "has no reason" in refusal(swap_piece(hands.work, "L1", TUBE, (TUBE, SPARE), " ", hands.around()))
    for strange in ("spare mod5/insert", "Gallbladder One/mod5/1/tube", "nothing"):
        told = refusal(swap_piece(hands.work, "L1", TUBE, (TUBE, strange), "cracked", hands.around()))
        assert "was not offered" in told
    shown = done(swap_piece(hands.work, "L1", TUBE, (TUBE, SPARE), "cracked", hands.around(key="once")))
    assert TUBE not in shown.done  # it has to be confirmed again
    assert done(swap_piece(hands.work, "L1", TUBE, (TUBE, SPARE), "cracked", hands.around(key="once"))) == shown
    out, into = hands.ledger.find(Piece, TUBE), hands.ledger.find(Piece, SPARE)
    assert out is not None
    assert into is not None
    assert (out.place.where, into.place.key) == (Where.QUARANTINE, "Gallbladder Two")
    load = hands.work.load("L1")
    (deviation,) = progress_of(hands.work, done(load)).deviations
    assert (deviation.why, deviation.person) == ("cracked", "loader-1")
    assert SPARE in deviation.chosen
    done(confirm_step(hands.work, "L1", TUBE, [SPARE], hands.around()))


def test_two_stations_are_offered_one_spare_and_one_gets_it_while_nothing_of_the_other_is_written(hands: Hands) -> None:
    hands.ready("Gallbladder One", "Gallbladder Two")
    done(begin_load(hands.work, "L1", hands.around()))
    tubes = [f"Gallbladder Two/mod5/{number}/tube" for number in (1, 2)]
    arounds = {tube: hands.around() for tube in tubes}
    outcomes: dict[str, object] = {}

    def swap(tube: str) -> None:
        outcomes[tube] = swap_piece(hands.work, "L1", tube, (tube, SPARE), "cracked", arounds[tube])

    threads = [threading.Thread(target=swap, args=(tube,)) for tube in tubes]
    with hands.ledger.store.writing():  # both read that the spare is free, and wait to write
        for thread in threads:
            thread.start()
        time.sleep(0.5)
    for thread in threads:
        thread.join()
    (late,) = [tube for tube, outcome in outcomes.items() if isinstance(outcome, Refused)]
    assert f"piece {SPARE}: is in set Gallbladder Two by now" in refusal(outcomes[late])
    stayed = hands.ledger.find(Piece, late)
    assert stayed is not None
    assert stayed.place.where is Where.SET
    assert not [event for event in hands.ledger.story("piece", late) if event["event"] == "piece moved"]
    assert [event["event"] for event in hands.ledger.story("piece", SPARE)].count("piece moved") == 1


def test_a_held_spare_and_a_load_that_started_are_no_way(hands: Hands) -> None:
    hands.ready("Gallbladder One", "Gallbladder Two")
    held = SetHold(hold="h", scope=Kind.PIECE, key=SPARE, reason="damaged")
    assert not refusal_or_empty(hands.ledger.append(held, hands.around("lead-2")))
    (swap,) = done(swaps_on(hands.work, "L1", TUBE))
    assert swap.spares == ()
    insert = next(one.key for one in hands.load_all("L1").steps if ("Gallbladder Two", "mod5/1/insert") in one.pieces)
    pair = ("Gallbladder Two/mod5/1/insert", "spare mod5/insert")
    assert "is loaded" in refusal(swap_piece(hands.work, "L1", insert, pair, "bent", hands.around()))
    hands.run("L1")
    assert "has started" in refusal(swap_piece(hands.work, "L1", insert, pair, "bent", hands.around()))
    assert "is none of load L1" in refusal(swaps_on(hands.work, "L1", "no step"))


def refusal_or_empty(outcome: object) -> str:
    return getattr(outcome, "text", "")


def test_a_set_counts_as_counted_from_its_count_on_and_others_see_what_it_misses(hands: Hands) -> None:
    for name in ("Gallbladder One", "Gallbladder Two"):
        done(receive_set(hands.work, name, hands.around()))
        assert not done(show_count(hands.work, name)).counted
    found = hands.ledger.find(InstrumentSet, "Gallbladder Two")
    assert found is not None
    seen = {key: Seen.BY_EYE for key in found.pieces if key != SPRING}
    done(count_pieces(hands.work, "Gallbladder Two", seen, hands.around()))
    assert not done(show_count(hands.work, "Gallbladder Two")).counted
    ((piece, owner),) = missed_elsewhere(hands.work, "Gallbladder One")
    assert (piece.key, owner) == (SPRING, "Gallbladder Two")
    assert missed_elsewhere(hands.work, "Gallbladder Two") == ()
    done(found_in_box(hands.work, SPRING, "Gallbladder One", Seen.BY_EYE, hands.around()))
    assert done(show_count(hands.work, "Gallbladder Two")).counted
    one = hands.set_now("Gallbladder One")
    done(count_pieces(hands.work, "Gallbladder One", all_seen(one), hands.around()))
    assert done(show_count(hands.work, "Gallbladder One")).counted
