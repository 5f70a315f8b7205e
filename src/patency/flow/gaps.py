"""What a calculation of flow lacks, so that no number of it can be vouched for."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from patency.flow.load_flow import LoadFlow
    from patency.flow.lumen_paths import LumenKey


def gap_of_calculation(load_flow: LoadFlow, day: date) -> str:
    """Say what the calculation lacks as a whole.

    Parameters
    ----------
    load_flow
        The water in a load.
    day
        Day of the decision.

    Returns
    -------
    str
        The first gap in words; empty where it lacks nothing.
    """
    if not load_flow.with_intervals:
        return "intervals were not computed"
    if load_flow.network.unstated.of_all:
        return "; ".join(load_flow.network.unstated.of_all)
    for name, limit in load_flow.defaults.items():
        if limit is None:
            return f"the site states no {name.replace('_', ' ')}"
        if not limit.holds_on(day):
            return f"the site's {name.replace('_', ' ')} is out of date"
    return ""


def gap_of_lumen(load_flow: LoadFlow, key: LumenKey) -> str:
    """Say what the description of a lumen and its chain lacks. What is mated narrows the way to it.

    Parameters
    ----------
    load_flow
        The water in a load.
    key
        The lumen.

    Returns
    -------
    str
        The gap in words; empty where it lacks nothing, or where the lumen is not connected.
    """
    return "; ".join(load_flow.network.unstated.of_lumens.get(key, ()))
