"""Tests of machines, water, sealing, testers and sensors: what is due, what is blocked, what a statement relies on."""

from patency.evidence.calendar.drifted import (
    DriftedSensor,
    LoadLookedAt,
    ReleasedLoad,
    Use,
    drifted_document,
    lost_criteria,
    read_drifted,
)
from patency.evidence.calendar.reliance import (
    NO_LONGER,
    Relied,
    Statement,
    aged,
    criteria_of_tests,
    read_statement,
    relied,
    relied_on,
)
from patency.evidence.calendar.standing import Blocked, Standing, TestState, blocked, calendar_document, standings
from patency.evidence.calendar.stated import Calendar, read_calendar

__all__ = [
    "NO_LONGER",
    "Blocked",
    "Calendar",
    "DriftedSensor",
    "LoadLookedAt",
    "ReleasedLoad",
    "Relied",
    "Standing",
    "Statement",
    "TestState",
    "Use",
    "aged",
    "blocked",
    "calendar_document",
    "criteria_of_tests",
    "drifted_document",
    "lost_criteria",
    "read_calendar",
    "read_drifted",
    "read_statement",
    "relied",
    "relied_on",
    "standings",
]
