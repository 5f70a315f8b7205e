"""The words people read: the cautions, the six questions, states and places, in English."""

from patency.texts.cautions import CAUTIONS
from patency.texts.counts import people_count
from patency.texts.figures import (
    people_flow,
    people_length,
    people_pressure,
    people_quantity,
    people_shear,
    people_time,
)
from patency.texts.moments import people_moment
from patency.texts.words import (
    LOOK_FIRST_WHY,
    PLACE_NOTES,
    QUESTION_WORDS,
    REACH_WHY,
    ROW_LOOKS,
    ROWS_WHY,
    SHADOWS_WHY,
    UNLOADING_LOOK,
    WAY_UP_WORDS,
    assumed_alarm_words,
    harm_words,
    leans_words,
    loading_checks,
    look_first_words,
    look_words,
    stands_in_words,
    state_words,
    unseen_words,
)

__all__ = [
    "CAUTIONS",
    "LOOK_FIRST_WHY",
    "PLACE_NOTES",
    "QUESTION_WORDS",
    "REACH_WHY",
    "ROWS_WHY",
    "ROW_LOOKS",
    "SHADOWS_WHY",
    "UNLOADING_LOOK",
    "WAY_UP_WORDS",
    "assumed_alarm_words",
    "harm_words",
    "leans_words",
    "loading_checks",
    "look_first_words",
    "look_words",
    "people_count",
    "people_flow",
    "people_length",
    "people_moment",
    "people_pressure",
    "people_quantity",
    "people_shear",
    "people_time",
    "stands_in_words",
    "state_words",
    "unseen_words",
]
