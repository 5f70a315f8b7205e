"""Turns the glances that a load needs into the lines of its sheet, and marks the connections whose loss harms most."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from patency.flow import FaultKind, Look, When, alarm_of_site
from patency.papers import LookLine, SheetWatch
from patency.steps.fault_finding import faults_of_one, loss_of_others
from patency.steps.kept_baselines import baseline_for
from patency.texts import assumed_alarm_words, harm_words, look_words, unseen_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.catalogue import Carrier, Department
    from patency.evidence import BaselineFile
    from patency.flow import BlindSpots, EyeCheck, FaultEffects
    from patency.load import Load, Plan

# Losing a connection can take two forms; the worse one counts.
_LOST = {FaultKind.HOSE_OFF_PORT, FaultKind.HOSE_OFF_PIECE, FaultKind.PIECE_OFF_PORT}
_MOST_MARKED = 3
_LEAST_MARKED = 0.005  # a loss that a sheet, which prints whole percents, would call nothing marks no connection
# What can be looked at only while it is still bare, and the glances that stand in the rows of the pieces themselves;
# when unloading these are one look at every port.
_WHILE_BARE = {Look.NOZZLES, Look.STRAINERS, Look.SIEVE}
_AT_PIECES = {Look.LUMENS, Look.CONNECTIONS, Look.OVER_NOZZLES}
_WITHOUT_PLACES = {Look.CAPS, Look.ARMS, Look.SIEVE, Look.PORTS}


def sheet_watch(department: Department, plan: Plan, load: Load, baselines: Sequence[BaselineFile] = ()) -> SheetWatch:
    """Work out what a load's sheet asks people to look at.

    Parameters
    ----------
    department
        The department.
    plan
        The plan.
    load
        One of its loads.
    baselines
        Every baseline of earlier cycles that is kept.

    Returns
    -------
    SheetWatch
        Glances when loading and when unloading, with the alarm they assume, what nobody sees, and the connections whose
        loss harms most.
    """
    alarm, baseline = alarm_of_site(department.limits.cycle), baseline_for(load, baselines)
    held = None if baseline is None else (baseline.cycles, baseline.machine)
    found = faults_of_one(department, load, plan.day, alarm, baseline)
    carrier = department.carriers[load.carrier]
    loading = [check for check in found.spots.checks if check.when is When.LOADING]
    unloading = [check for check in found.spots.checks if check.when is When.UNLOADING]
    return SheetWatch(
        looks=tuple(sorted({check.look.name for check in loading})),
        before=_lines(carrier, [check for check in loading if check.look in _WHILE_BARE]),
        light=_ports_of(loading, Look.LUMENS),
        pull=_ports_of(loading, Look.CONNECTIONS),
        over_nozzle=_ports_of(loading, Look.OVER_NOZZLES),
        loading=_lines(carrier, [check for check in loading if check.look not in _WHILE_BARE | _AT_PIECES]),
        unloading=_lines(carrier, [check for check in unloading if check.look not in _AT_PIECES]),
        assumes=assumed_alarm_words(alarm.false_alarms, held),
        seen_by_nobody=_seen_by_nobody(found.spots),
        harms=harms_of_ports(found.effects),
    )


def _ports_of(checks: list[EyeCheck], look: Look) -> tuple[str, ...]:
    """Name the ports that one kind of glance is about, each once."""
    return tuple(dict.fromkeys(port for check in checks if check.look is look for port in check.places))


def _lines(carrier: Carrier, checks: list[EyeCheck]) -> tuple[LookLine, ...]:
    """Write glances at more than a single piece as lines."""
    return tuple(
        LookLine(
            words=look_words(check.look.name, check.when.name, _level_name(carrier, check.level)),
            places=() if check.look in _WITHOUT_PLACES else check.places,
        )
        for check in checks
    )


def _level_name(carrier: Carrier, level: str) -> str:
    """Name a level where the carrier has ports on several."""
    several = len({port.level for port in carrier.ports.values()}) > 1
    return carrier.levels[level].name if several and level else ""


def _seen_by_nobody(spots: BlindSpots) -> tuple[str, ...]:
    kinds: dict[FaultKind, list[str]] = {}
    for place in spots.unseen:
        if spots.faults[place].kind is FaultKind.PUMP_AT_80 and FaultKind.PUMP_AT_90 in kinds:
            continue  # a slower pump shows more; the line on the faster one says what is done
        kinds.setdefault(spots.faults[place].kind, []).append(spots.faults[place].place)
    return tuple(unseen_words(kind.value, places) for kind, places in kinds.items())


def harms_of_ports(effects: FaultEffects) -> dict[str, str]:
    """Find the connections whose loss harms the other lumens most.

    Parameters
    ----------
    effects
        What the faults of a load do.

    Returns
    -------
    dict[str, str]
        Port to a few words: how many other lumens fall short, or what the one that loses most loses. At most three,
        worst first; none where no other lumen loses more than half a percent of its water.
    """
    worst: dict[str, tuple[int, float]] = {}
    for row, fault in enumerate(effects.faults):
        if fault.kind in _LOST:
            harm = (int(effects.others_short[row].sum()), loss_of_others(effects, row))
            worst[fault.place] = max(worst.get(fault.place, (0, 0.0)), harm)
    marked = sorted(worst.items(), key=lambda item: item[1], reverse=True)[:_MOST_MARKED]
    return {port: harm_words(*harm) for port, harm in marked if harm > (0, _LEAST_MARKED)}


def unseen_summary(spots: BlindSpots) -> str:
    """Say which single faults of a load its sensors cannot show, and what is looked at instead.

    Parameters
    ----------
    spots
        What the sensors see of the load's faults.

    Returns
    -------
    str
        Three sentences: how many of which kind, the looks when loading and when unloading, what nobody sees.
    """
    kinds = Counter(spots.faults[row].kind.value for row in spots.blind)
    told = ", ".join(f"{kind} ({count})" if count > 1 else kind for kind, count in kinds.items())
    first = f"{len(spots.blind)} of {len(spots.faults)} single faults ({spots.comparison}): {told}."
    looks = "; ".join(
        f"{when.value}: {', '.join(dict.fromkeys(one.look.value for one in spots.checks if one.when is when))}"
        for when in When
        if any(one.when is when for one in spots.checks)
    )
    nobody = dict.fromkeys(spots.faults[row].kind.value for row in spots.unseen)
    last = f" Seen by nobody: {', '.join(nobody)}." if nobody else ""
    return f"{first} Looked at instead, {looks}.{last}" if looks else f"{first}{last}"
