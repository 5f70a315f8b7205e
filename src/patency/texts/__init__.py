"""The words people read: the cautions, the six questions, states and places, in English."""

from patency.texts.cautions import CAUTIONS
from patency.texts.words import (
    QUESTION_WORDS,
    UNLOADING_LOOK,
    WAY_UP_WORDS,
    loading_checks,
    people_flow,
    people_length,
    people_pressure,
    people_quantity,
    people_shear,
    people_time,
    state_words,
)

__all__ = [
    "CAUTIONS",
    "QUESTION_WORDS",
    "UNLOADING_LOOK",
    "WAY_UP_WORDS",
    "loading_checks",
    "people_flow",
    "people_length",
    "people_pressure",
    "people_quantity",
    "people_shear",
    "people_time",
    "state_words",
]
