"""What a calculation of flow lacks, so that no number of it can be vouched for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue import FedBy

if TYPE_CHECKING:
    from datetime import date

    from patency.catalogue import Lumen
    from patency.flow.load_flow import LoadFlow


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
    for name, limit in load_flow.defaults.items():
        if limit is None:
            return f"the site states no {name.replace('_', ' ')}"
        if not limit.holds_on(day):
            return f"the site's {name.replace('_', ' ')} is out of date"
    return ""


def gap_of_lumen(lumen: Lumen) -> str:
    """Say what a lumen's description lacks. What is mated narrows the way to it.

    Parameters
    ----------
    lumen
        The lumen.

    Returns
    -------
    str
        The gap in words; empty where it lacks nothing.
    """
    unknown = lumen.fed_by is FedBy.CONNECTION and lumen.inlet is None
    return "the connector of its inlet is not stated" if unknown else ""
