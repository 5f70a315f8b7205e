"""The answers to held and reached about a whole load: the hand-made load of the small department."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from patency.catalogue import Part, State, read_department
from patency.load import Question, Reply
from patency.quantities import Answer
from patency.reach import held, hold_up_m, joined, reached
from tests.small_plan import LOAD
from tests.small_site import SMALL_SITE, changed

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.load import Load

GOOD = read_department(SMALL_SITE)
FORCEPS, SLEEVE, INSERT = ("Noon", "fix5/1/whole"), ("Morning", "sleeve11/1/sleeve"), ("Morning", "mod5/1/insert")
TUBE, OPTIC, CABLE = ("Morning", "mod5/1/tube"), ("Morning", "optic/1/optic"), ("Morning", "cable/1/cable")


def site(old: str, new: str) -> Department:
    """Return the department with words of its text replaced."""
    return read_department(changed(SMALL_SITE, old, new))


def placed(key: tuple[str, str], **facts: object) -> Load:
    """Return the load with other facts about one piece."""
    pieces = (one.model_copy(update=facts) if (one.set, one.piece) == key else one for one in LOAD.pieces)
    return LOAD.model_copy(update={"pieces": tuple(pieces)})


def figure(reply: Reply, name: str) -> float:
    """Return the number behind an answer."""
    return next(figure.value for figure in reply.figures if figure.name == name)


def test_every_piece_of_the_load_is_answered() -> None:
    keys = {(one.set, one.piece) for one in LOAD.pieces}
    assert held(GOOD, LOAD).keys() == reached(GOOD, LOAD).keys() == keys


def test_every_piece_of_a_good_load_is_held() -> None:
    replies = held(GOOD, LOAD)
    assert {reply.answer for reply in replies.values()} == {Answer.YES}
    assert {reply.question for reply in replies.values()} == {Question.HELD}
    assert (
        replies[FORCEPS].why
        == "distal up, jaws open, ratchet released; its weight holds 6.97 times what tips it over its support"
    )
    assert replies[CABLE].why == "coiled; both ends go into their clips"


def test_no_piece_is_reached_for_certain_and_each_says_why() -> None:
    replies = reached(GOOD, LOAD)
    assert {reply.answer for reply in replies.values()} == {Answer.UNKNOWN}
    assert all("which jets strike it is not computed" in reply.why for reply in replies.values())


def test_reached_carries_the_figures_that_are_computed() -> None:
    replies = reached(GOOD, LOAD)
    # the nozzle is 80 mm long, 20 mm of it inside the sleeve of 110 mm: 60 + 110 = 170 mm
    assert figure(replies[SLEEVE], "height of the tip above the port") == pytest.approx(0.170)
    assert figure(replies[TUBE], "slope of lumen bore") == 60.0
    assert figure(replies[INSERT], "length") == pytest.approx(0.350)
    assert figure(replies[CABLE], "turns") == pytest.approx(7.6379, abs=1e-4)


def test_the_plug_in_a_bore_is_that_of_the_last_water() -> None:
    # disinfection at 90 °C is the last wet stage
    assert figure(reached(GOOD, LOAD)[TUBE], "capillary plug in lumen bore") == pytest.approx(hold_up_m(0.0042, 90.0))


def test_where_nothing_is_wet_the_plug_is_that_of_water_as_cold_as_the_room() -> None:
    gentle = GOOD.programmes["gentle"]
    dry = gentle.model_copy(update={"stages": gentle.stages[-1:]})
    reply = reached(GOOD.model_copy(update={"programmes": {"gentle": dry}}), LOAD)[TUBE]
    assert figure(reply, "capillary plug in lumen bore") == pytest.approx(hold_up_m(0.0042, 20.0))


@pytest.mark.parametrize(
    ("key", "facts", "why"),
    [
        (FORCEPS, {"states": {Part.JAWS: State.OPEN}}, "ratchet planned as found, prescribed released"),
        (TUBE, {"states": {Part.TAP: State.OPEN}}, "tap planned open, prescribed nothing"),
        (OPTIC, {"way_up": "distal up"}, "placed distal up, prescribed lying"),
        (INSERT, {"net": False}, "jets could lift it and no net goes over it"),
    ],
)
def test_a_piece_not_prepared_as_prescribed_is_not_held(
    key: tuple[str, str], facts: dict[str, object], why: str
) -> None:
    reply = held(GOOD, placed(key, **facts))[key]
    assert (reply.answer, reply.why) == (Answer.NO, why)


def unsaid(key: tuple[str, str], field: str) -> Department:
    """Return the department in which one thing is not stated of the type of a piece."""
    instrument, _, piece = key[1].split("/")
    pieces = GOOD.instruments[instrument].pieces
    described = {**pieces, piece: pieces[piece].model_copy(update={field: None})}
    changed_type = GOOD.instruments[instrument].model_copy(update={"pieces": described})
    return GOOD.model_copy(update={"instruments": {**GOOD.instruments, instrument: changed_type}})


def test_movable_parts_nobody_describes_leave_held_open_and_a_wrong_way_up_is_still_a_no() -> None:
    reply = held(unsaid(OPTIC, "states"), placed(OPTIC))[OPTIC]
    assert (reply.answer, reply.why) == (Answer.UNKNOWN, "what has to be done to its movable parts is not stated")
    assert held(unsaid(OPTIC, "states"), placed(OPTIC, way_up="distal up"))[OPTIC].answer is Answer.NO


def test_without_a_net_a_piece_that_may_need_one_leaves_held_open_and_under_a_net_it_does_not() -> None:
    reply = held(unsaid(INSERT, "needs_net"), placed(INSERT, net=False))[INSERT]
    why = "whether jets could lift it is not stated and no net goes over it"
    assert (reply.answer, reply.why) == (Answer.UNKNOWN, why)
    assert held(unsaid(INSERT, "needs_net"), placed(INSERT, net=True))[INSERT].answer is Answer.YES


def test_a_piece_that_tips_is_not_held() -> None:
    reply = held(site("tipping_reserve: {value: 1.5", "tipping_reserve: {value: 2.5"), LOAD)[TUBE]
    assert (reply.answer, reply.why) == (
        Answer.NO,
        "its weight holds 2.37 times what tips it over its support, at least 2.5 is needed",
    )


@pytest.mark.parametrize(
    ("key", "old", "new", "why"),
    [
        (TUBE, "reach: 540 mm", "reach: 320 mm", "takes 330 mm, room is for 320 mm"),
        (INSERT, "width: 260 mm", "width: 250 mm", "length 350 mm, the basket area has room for 347 mm"),
        (CABLE, "turns: 10", "turns: 7", "needs 7.6 turns, room is for 7"),
        (TUBE, "value: 15 °", "value: 61 °", "lumen bore slopes by 60°, at least 61° are needed"),
    ],
)
def test_a_piece_without_room_or_slope_is_not_reached(key: tuple[str, str], old: str, new: str, why: str) -> None:
    reply = reached(site(old, new), LOAD)[key]
    assert (reply.question, reply.answer, reply.why) == (Question.REACHED, Answer.NO, why)


def test_a_piece_at_a_port_that_feeds_none_of_its_lumens_stands_at_the_port_itself() -> None:
    reply = reached(GOOD, placed(SLEEVE, position="T1"))[SLEEVE]
    assert figure(reply, "height of the tip above the port") == pytest.approx(0.110)


def test_a_load_that_names_what_does_not_exist_is_refused() -> None:
    with pytest.raises(KeyError, match="ghost"):
        held(GOOD, placed(FORCEPS, piece="ghost"))


def test_the_worst_part_decides_and_all_its_reasons_are_told() -> None:
    parts = [
        Reply(Question.FITS, Answer.YES, "fits"),
        Reply(Question.HELD, Answer.UNKNOWN, "who knows"),
        Reply(Question.FITS, Answer.UNKNOWN, "nobody"),
    ]
    assert joined(Question.REACHED, parts) == Reply(Question.REACHED, Answer.UNKNOWN, "who knows; nobody")
