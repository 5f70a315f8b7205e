"""The words people read."""

from __future__ import annotations

import pytest

from patency.catalogue import Leaning, Part, PieceType, Placing, State
from patency.load import Question
from patency.texts import (
    CAUTIONS,
    LOOK_FIRST_WHY,
    PLACE_NOTES,
    QUESTION_WORDS,
    WAY_UP_WORDS,
    leans_words,
    loading_checks,
    people_flow,
    people_length,
    people_pressure,
    people_quantity,
    people_shear,
    people_time,
    stands_in_words,
    state_words,
)


def test_every_question_and_every_way_up_has_words() -> None:
    assert set(QUESTION_WORDS) == {str(question) for question in Question}
    way_up = PieceType.model_fields["way_up"].annotation
    assert set(WAY_UP_WORDS) == set(way_up.__args__)  # type: ignore[union-attr]


@pytest.mark.parametrize("part", list(Part))
def test_every_state_is_said_in_at_most_three_words(part: Part) -> None:
    for state in State:
        assert 2 <= len(state_words(part, state).split()) <= 3


@pytest.mark.parametrize(
    ("written", "words"),
    [
        (people_length(0.0016), "1.6 mm"),
        (people_length(0.0135), "14 mm"),
        (people_flow(2.5e-8), "1.50 mL/min"),
        (people_flow(5.67e-7), "34.0 mL/min"),
        (people_flow(2.2e-5), "1320 mL/min"),
        (people_flow(1.7e-4), "10 L/min"),
        (people_pressure(150.0), "1.50 mbar"),
        (people_shear(0.04), "0.040 Pa"),
        (people_quantity(93.04, "degC"), "93.0 °C"),
        (people_quantity(0.5, "K"), "0.5 K"),
        (people_quantity(8e-6, "m3/s"), "480 mL/min"),
        (people_quantity(0.33, "m"), "330 mm"),
        (people_quantity(12.34, "uS/cm"), "12.3 µS/cm"),
        (people_quantity(6.0, ""), "6"),
        (people_quantity(60.0, "s"), "60 s"),
        (people_quantity(5.3, "s"), "5.30 s"),
        (people_time(120), "120 s"),
        (people_time(121), "2 min"),
    ],
)
def test_numbers_are_written_as_people_read_them(written: str, words: str) -> None:
    assert written == words


def test_a_pod_has_a_note_and_each_kind_of_cover_its_words() -> None:
    assert set(PLACE_NOTES) == {"net", str(Placing.POD), str(Placing.OPTIC_HOLDER)}
    assert "lid" in PLACE_NOTES["pod"]
    assert "predicted" in LOOK_FIRST_WHY


def test_where_a_pod_stands_and_how_a_piece_leans_is_said_in_short_words() -> None:
    assert stands_in_words("B4") == "stands in B4"
    assert [leans_words(side) for side in Leaning] == [
        "leaning to the back", "leaning to the front", "leaning to the left", "leaning to the right",
    ]  # fmt: skip


def test_the_cautions_defer_to_instructions_and_people() -> None:
    text = " ".join(CAUTIONS)
    for said in ("instructions for use", "stop and ask", "not measurements", "qualified person", "Not evaluated"):
        assert said in text


def test_the_checks_before_start_name_hoses_ports_jaws_and_arms() -> None:
    text = " ".join(loading_checks())
    for said in ("hose", "sleeve", "unused port", "Jaws", "spray arm", "docked"):
        assert said in text
