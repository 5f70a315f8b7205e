"""The words people read: the cautions, the six questions, states and places, in English."""

from patency.texts.cautions import CAUTIONS
from patency.texts.words import (
    LOOK_FIRST_WHY,
    PLACE_NOTES,
    QUESTION_WORDS,
    UNLOADING_LOOK,
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

__all__ = [
    "CAUTIONS",
    "LOOK_FIRST_WHY",
    "PLACE_NOTES",
    "QUESTION_WORDS",
    "UNLOADING_LOOK",
    "WAY_UP_WORDS",
    "leans_words",
    "loading_checks",
    "people_flow",
    "people_length",
    "people_pressure",
    "people_quantity",
    "people_shear",
    "people_time",
    "stands_in_words",
    "state_words",
]
