"""What a calculation of flow lacks, so that no number of it can be vouched for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.flow.needs import NOT_KNOWN_OVER_A_NOZZLE, Measure, criteria_for
from patency.load import pieces_of_set

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from patency.catalogue import Department, Need
    from patency.flow.from_load import LoadNetwork
    from patency.flow.load_flow import LoadFlow
    from patency.flow.lumen_paths import LumenKey
    from patency.flow.needs import Criterion
    from patency.load import Load


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


def gap_of_criterion(criterion: Criterion, day: date, *, over_a_nozzle: bool) -> str:
    """Say why a number cannot be held against its limit.

    Parameters
    ----------
    criterion
        What the number is held against.
    day
        Day of the decision.
    over_a_nozzle
        Whether a nozzle feeds the lumen.

    Returns
    -------
    str
        The gap in words; empty where it can.
    """
    if over_a_nozzle and criterion.measure in NOT_KNOWN_OVER_A_NOZZLE:
        return f"{criterion.measure} in a bore over a nozzle is not known"
    return "" if criterion.limit.holds_on(day) else f"the limit of {criterion.measure} is out of date"


def gap_of_criteria(criteria: Sequence[Criterion]) -> str:
    """Say that nothing is stated which a lumen's flow could be held against; a highest pressure is not enough.

    Parameters
    ----------
    criteria
        What decides about the lumen.

    Returns
    -------
    str
        The gap in words; empty where something is.
    """
    only_highest = all(criterion.measure is Measure.HIGHEST_PRESSURE for criterion in criteria)
    return "nothing is stated that its flow could be held against" if only_highest else ""


def left_open_of_lumens(
    department: Department, load: Load, network: LoadNetwork, day: date
) -> dict[LumenKey, tuple[str, ...]]:
    """Say of each lumen what leaves open whether it is fed, however much its numbers reach.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    network
        The load's network.
    day
        Day of the decision.

    Returns
    -------
    dict[LumenKey, tuple[str, ...]]
        Every connected lumen to its gaps in words, those of which ``fed`` answers ``unknown``; empty where there is
        none.
    """
    pieces = {(piece.set, piece.key): piece for name in load.sets for piece in pieces_of_set(department, name)}
    whole = gap_of_network(network, day)
    found = {}
    for key, path in network.lumens.items():
        piece = pieces[key[0], key[1]]
        criteria = criteria_for(department, load, piece, key[2], day)
        points = [whole, gap_of_lumen(network, key), gap_of_need(piece.lumens[key[2]].need), gap_of_criteria(criteria)]
        points += [gap_of_criterion(one, day, over_a_nozzle=path.jet is not None) for one in criteria]
        found[key] = tuple(point for point in points if point)
    return found
