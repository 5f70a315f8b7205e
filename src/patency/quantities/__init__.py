"""Units at the edges, intervals, limits with their source, and the three answers."""

from patency.quantities.answer import Answer, worst
from patency.quantities.notation import INSIDE_UNIT, UNITS, expectation, parse_quantity, pattern
from patency.quantities.values import Interval, Limit, Toleranced

__all__ = [
    "INSIDE_UNIT",
    "UNITS",
    "Answer",
    "Interval",
    "Limit",
    "Toleranced",
    "expectation",
    "parse_quantity",
    "pattern",
    "worst",
]
