"""The six answers for a load from any hand: yes with figures, no with the reason, unknown where a datum is missing."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from patency.load import Load, PlacedPiece, Question, Reply
from patency.plan import six_answers
from patency.quantities import Answer
from tests.plan.larkmere import day_of
from tests.small_plan import SMALL_PLAN
from tests.small_site import SMALL_SITE, changed, small_department

if TYPE_CHECKING:
    from patency.catalogue import Department

SMALL = small_department()
DAY = day_of(SMALL).date
(LOAD,) = SMALL_PLAN.loads
TUBE, FORCEPS, SLEEVE = "mod5/1/tube", "fix5/1/whole", "sleeve11/1/sleeve"


def replies(piece: str, load: Load = LOAD, department: Department = SMALL, day: date = DAY) -> dict[Question, Reply]:
    answers = six_answers(department, load, day, fed={}, held={}, reached={})
    (found,) = [one for one in answers if (one.set, one.piece) == ("Morning", piece)]
    return dict(found.replies)


def with_piece(piece: str, **changes: object) -> Load:
    """Change one piece of Morning; its only connection where the change is about that."""
    pieces = []
    for placed in LOAD.pieces:
        if (placed.set, placed.piece) == ("Morning", piece):
            link: dict[str, object] = {
                key: changes.pop(key) for key in ("chain", "nozzle_depth_m", "port") if key in changes
            }
            if link:
                changes["lumens"] = (placed.lumens[0].model_copy(update=link),)
            pieces.append(placed.model_copy(update=changes))
        else:
            pieces.append(placed)
    return LOAD.model_copy(update={"pieces": tuple(pieces)})


@pytest.mark.parametrize("placed", LOAD.pieces, ids=lambda placed: f"{placed.set} {placed.piece}")
def test_a_good_load_fits_suits_and_is_together_piece_by_piece_with_figures(placed: PlacedPiece) -> None:
    answers = six_answers(SMALL, LOAD, DAY, fed={}, held={}, reached={})
    (found,) = [one for one in answers if (one.set, one.piece) == (placed.set, placed.piece)]
    assert set(found.replies) == {Question.FITS, Question.SUITED, Question.TOGETHER}
    for question, reply in found.replies.items():
        assert reply.answer is Answer.YES, reply
        assert reply.question is question
        assert reply.figures
        assert reply.why
    assert found.overall is Answer.UNKNOWN  # three questions are open


def test_answers_from_elsewhere_are_taken_as_they_are() -> None:
    key = ("Morning", TUBE)
    given = {q: Reply(q, Answer.YES, "told") for q in (Question.FED, Question.REACHED, Question.HELD)}
    answers = six_answers(
        SMALL,
        LOAD,
        DAY,
        fed={key: given[Question.FED]},
        reached={key: given[Question.REACHED]},
        held={key: given[Question.HELD]},
    )
    (found,) = [one for one in answers if (one.set, one.piece) == key]
    assert list(found.replies) == list(Question)
    assert found.overall is Answer.YES


@pytest.mark.parametrize(
    ("load", "piece", "said"),
    [
        (with_piece(TUBE, chain=()), TUBE, "the chain no accessory does not join"),
        (with_piece(TUBE, chain=("nozzle_6",)), TUBE, "the chain nozzle_6 does not join"),
        (with_piece(FORCEPS, port="T1", position="T1"), FORCEPS, "no adapter in the department joins"),
        (with_piece(SLEEVE, nozzle_depth_m=0.005), SLEEVE, "the nozzle has to stand 20 to 80 mm inside"),
        (with_piece(SLEEVE, nozzle_depth_m=None), SLEEVE, "the nozzle has to stand 20 to 80 mm inside"),
        (with_piece(FORCEPS, position="T1"), FORCEPS, "clear are 200 mm"),
        (with_piece("optic/1/optic", position="pod"), "optic/1/optic", "pod holds no optics"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_does_not_fit_says_why(load: Load, piece: str, said: str) -> None:
    reply = replies(piece, load)[Question.FITS]
    assert (reply.answer, said in reply.why) == (Answer.NO, True), reply.why


def test_a_piece_fed_from_afar_needs_a_hose_that_reaches() -> None:
    """The nozzle port has no hose; the hose of H2 is 200 mm long and N1 is 120 mm away."""
    rigid = replies(SLEEVE, with_piece(SLEEVE, port="N2"))[Question.FITS]
    assert "no hose reaches over" in rigid.why
    near = replies(FORCEPS, with_piece(FORCEPS, port="H1"))[Question.FITS]
    assert any(figure.name == "gap bridged by the hose" for figure in near.figures)


@pytest.mark.parametrize(
    ("was", "now", "piece", "answer", "said"),
    [
        ("mass_limit: 12 kg", "mass_limit: 0.8 kg", TUBE, Answer.NO, "the load has 0.9 kg, allowed are 0.8 kg"),
        ("    mass_limit: 12 kg\n", "", TUBE, Answer.UNKNOWN, "limit of mass is not known"),
        ("        mass: 250 g\n", "", TUBE, Answer.UNKNOWN, "the mass of a piece of the load is not known"),
        (
            "holds_length: 420 mm",
            "holds_length: 300 mm",
            "optic/1/optic",
            Answer.NO,
            "length more than the holder takes",
        ),
        ("inner_height: 50 mm", "inner_height: 5 mm", "sleeve11/1/seal", Answer.NO, "thickness 18 mm"),
        ("mandrel_diameter: 120 mm", "mandrel_diameter: 60 mm", "cable/1/cable", Answer.NO, "bends to 30 mm"),
    ],
)
def test_what_the_department_lacks_room_or_data_for_is_told(
    was: str, now: str, piece: str, answer: Answer, said: str
) -> None:
    department = small_department(changed(SMALL_SITE, was, now))
    reply = replies(piece, department=department)[Question.FITS]
    assert (reply.answer, said in reply.why) == (answer, True), reply.why


def test_a_department_without_pods_has_room_for_no_small_part() -> None:
    accessories = {key: one for key, one in SMALL.accessories.items() if key != "pod"}
    department = SMALL.model_copy(update={"accessories": accessories})
    reply = replies("sleeve11/1/seal", department=department)[Question.FITS]
    assert (reply.answer, reply.why) == (Answer.NO, "the department has no pod")


def test_figures_of_a_chain_carry_the_limits_of_its_last_link() -> None:
    by_name = {figure.name: figure for figure in replies(SLEEVE)[Question.FITS].figures}
    share = by_name["nozzle as a share of the bore"]
    assert share.value == pytest.approx(6 / 11.5)
    assert share.limit is not None
    assert share.limit.value == pytest.approx(0.7)
    assert by_name["depth of the nozzle"].value == pytest.approx(0.020)
    sleeve = {figure.name: figure for figure in replies(TUBE)[Question.FITS].figures}
    offered = sleeve["length of tube offered to the sleeve"]
    assert offered.value == pytest.approx(0.015)
    assert offered.limit is not None
    assert offered.limit.value == pytest.approx(0.010)


def test_a_limit_out_of_date_is_no_limit() -> None:
    was = "arm_clearance: {value: 10 mm, source: common practice}"
    now = "arm_clearance: {value: 10 mm, source: common practice, valid_until: 2026-01-31}"
    department = small_department(changed(SMALL_SITE, was, now))
    assert replies(FORCEPS, department=department)[Question.FITS].answer is Answer.UNKNOWN
    assert replies(FORCEPS, department=department, day=date(2026, 1, 31))[Question.FITS].answer is Answer.YES


@pytest.mark.parametrize(
    ("was", "now", "answer", "said"),
    [
        ("highest_temperature: 120 °C", "highest_temperature: 90 °C", Answer.NO, "drying.highest_temperature 90 °C"),
        ("lowest_ph: 6.5", "lowest_ph: 10.8", Answer.NO, "cleaning.lowest_ph 10.8"),
        ("        language: en\n", "        language: fi\n", Answer.UNKNOWN, "not read here"),
    ],
)
def test_suited_names_field_and_value_or_what_is_missing(was: str, now: str, answer: Answer, said: str) -> None:
    department = small_department(changed(SMALL_SITE, was, now))
    reply = replies(TUBE, department=department)[Question.SUITED]
    assert (reply.answer, said in reply.why) == (answer, True), reply.why


def test_an_instrument_without_instructions_leaves_suited_open() -> None:
    bare = SMALL.instruments["mod5"].model_copy(update={"instructions": None})
    department = SMALL.model_copy(update={"instruments": {**SMALL.instruments, "mod5": bare}})
    reply = replies(TUBE, department=department)[Question.SUITED]
    assert (reply.answer, reply.why) == (Answer.UNKNOWN, "mod5 has no processing instructions")


def test_together_counts_what_is_missing_too_many_or_in_a_strangers_pod() -> None:
    without = LOAD.model_copy(update={"pieces": tuple(p for p in LOAD.pieces if p.piece != "mod5/1/handle")})
    assert "mod5/1/handle is missing" in replies(TUBE, without)[Question.TOGETHER].why
    twice = LOAD.model_copy(update={"pieces": (*LOAD.pieces, LOAD.pieces[1].model_copy())})
    answers = six_answers(SMALL, twice, DAY, fed={}, held={}, reached={})
    assert all("is there 2 times" in one.replies[Question.TOGETHER].why for one in answers if one.set == "Morning")
    astray = replies("sleeve11/1/seal", with_piece("sleeve11/1/seal", position="Noon"))[Question.TOGETHER]
    assert astray.why == "it lies in the pod of Noon"
    whole = replies(TUBE)[Question.TOGETHER]
    assert whole.figures[0].value == whole.figures[0].limit.value == 8.0  # type: ignore[union-attr]
