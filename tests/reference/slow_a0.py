"""A0 the obvious way: walk from one value to the next and decide for each interval what it is worth."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from patency.evidence import Spacing

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.evidence import TimeAxis


def rate(temperature_c: float) -> float:
    """Return the worth of a second at a temperature."""
    return 10 ** ((temperature_c - 80) / 10) if temperature_c >= 65 else 0.0


def slow_a0(axis: TimeAxis, temperature_c: Sequence[float], counted: Sequence[bool]) -> float:
    """Add up A0 interval by interval."""
    total = 0.0
    before: int | None = None
    for now, temperature in enumerate(temperature_c):
        if math.isnan(temperature):
            continue
        if before is not None and all(counted[before : now + 1]):
            passed = range(before, now)
            if not any(axis.spacing[place] == Spacing.CLOCK_STEP for place in passed):
                length = float(axis.elapsed_s[now] - axis.elapsed_s[before])
                ends = rate(temperature_c[before]), rate(temperature)
                gap = length > 1.5 * axis.usual_s
                total += length * (min(ends) if gap else sum(ends) / 2)
        before = now
    return total
