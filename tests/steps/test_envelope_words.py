"""What to qualify next, in words."""

from __future__ import annotations

import pytest

from patency.flow.envelope.requalification import Requalification, WorstLumen
from patency.steps.envelope_words import proposal_lines


@pytest.mark.parametrize(
    ("per_min", "others", "words"),
    [
        (98.16, 6, "98.2 exchanges a minute; stands for 6 others"),
        (999.4, 1, "999 exchanges a minute; stands for 1 other"),
        (1042.0, 0, "1042 exchanges a minute; stands for itself alone"),
    ],
)
def test_exchanges_are_told_without_exponent_and_others_are_counted(per_min: float, others: int, words: str) -> None:
    place = ("L1", "Morning", "fix5/1/whole", "shaft")
    worst = WorstLumen(place, "H1", 5e-6, per_min, None, (place,) * others)
    lines = proposal_lines(Requalification("Wren", "gentle", ("L1",), (worst,), (), ()))
    assert lines[1].endswith(words)
