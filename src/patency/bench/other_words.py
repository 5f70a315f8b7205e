"""The words that other rooms hand to the pages, so that every language can hold them."""

from __future__ import annotations

from patency.bench.navigation import PLACES
from patency.bench.plain_words import WORDS
from patency.bench.sentences import SENTENCES
from patency.bench.sign_in.route import STATIONS
from patency.catalogue import Form
from patency.evidence import CriterionState, SterilizerTest
from patency.ledger import Direction, Kind, LoadState, Role, SetState, Shared, Strength
from patency.papers import LOOK_WORDS, REACH_WORDS
from patency.reach import Rule
from patency.steps import Nudge, PortIs, Urgency
from patency.texts import CAUTIONS, UNLOADING_LOOK, WAY_UP_WORDS

_FROM_PAGES = (
    "wash again", "ask the engineer", "yes", "no", "unknown", "delete the last digit",
    "a criterion is not met", "a criterion is not evaluated", "hose or sleeve found off",
    "record does not belong to this load", "prion risk reported", "damaged", "instructions for use missing",
    "identity not resolved", "piece missing", "machine test failed", "cracked", "torn", "kinked", "lost",
    "six to twelve digits", "not all digits alike", "not digits in a row",
    "Every criterion was evaluated and is met.", "At least one criterion is not met.",
    "Nothing evaluated is missed, but not everything could be evaluated.",
)  # fmt: skip


def words_of_other_rooms() -> list[str]:
    """List the words that reach a page from elsewhere.

    Returns
    -------
    list[str]
        Each once, in order.
    """
    enums = (
        SetState,
        Role,
        LoadState,
        Kind,
        Urgency,
        PortIs,
        Direction,
        Shared,
        CriterionState,
        Nudge,
        Rule,
        Form,
        SterilizerTest,
    )
    words = {one.value for kind in enums for one in kind}
    words |= {one.words for one in Strength} | {place.name for place in PLACES} | {*STATIONS, *_FROM_PAGES}
    words |= {*LOOK_WORDS.values(), *REACH_WORDS}
    return sorted(words | {*SENTENCES, *WORDS, *CAUTIONS, UNLOADING_LOOK, *WAY_UP_WORDS.values()})
