"""What a calculation of flow lacks, so that no number of it can be vouched for."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from patency.catalogue import Need
    from patency.flow.from_load import LoadNetwork
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
    return gap_of_network(load_flow.network, day) if load_flow.with_intervals else "intervals were not computed"


def gap_of_network(network: LoadNetwork, day: date) -> str:
    """Say what leaves the water in every lumen of a load open.

    Parameters
    ----------
    network
        The load's network.
    day
        Day of the decision.

    Returns
    -------
    str
        The first gap in words; empty where there is none.
    """
    if network.unstated.of_all:
        return "; ".join(network.unstated.of_all)
    for name, limit in network.defaults.items():
        if limit is None:
            return f"the site states no {name.replace('_', ' ')}"
        if not limit.holds_on(day):
            return f"the site's {name.replace('_', ' ')} is out of date"
    return ""


def doubt_not_known(network: LoadNetwork) -> str:
    """Say why nobody can tell how far readings of a load's sensors may be off without any fault.

    Parameters
    ----------
    network
        The load's network.

    Returns
    -------
    str
        What is not stated, in words; empty where everything is.
    """
    unstated = [*network.unstated.of_all, *(words for each in network.unstated.of_lumens.values() for words in each)]
    missing = [f"the site states no {name.replace('_', ' ')}" for name, one in network.defaults.items() if one is None]
    return "; ".join(dict.fromkeys((*unstated, *missing)))


def gap_of_lumen(network: LoadNetwork, key: LumenKey) -> str:
    """Say what the description of a lumen and its chain lacks. What is mated narrows the way to it.

    Parameters
    ----------
    network
        The load's network.
    key
        The lumen.

    Returns
    -------
    str
        The gap in words; empty where it lacks nothing, or where the lumen is not connected.
    """
    return "; ".join(network.unstated.of_lumens.get(key, ()))


def gap_of_need(need: Need) -> str:
    """Say what a lumen's needs lack.

    Parameters
    ----------
    need
        What the lumen is described to need.

    Returns
    -------
    str
        The gap in words; empty where they lack nothing.
    """
    return "whether there is a highest pressure for it is not stated" if need.maximum_pressure is None else ""
