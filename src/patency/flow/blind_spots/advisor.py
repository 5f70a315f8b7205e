"""Which one or two further sensors, or an orifice in every circuit, would make the most blind spots visible."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from patency.flow.blind_spots.seeing import COMPARISONS
from patency.flow.carrier_paths import circuit_entry
from patency.flow.detection.alarm import detection_probabilities, either
from patency.flow.detection.doubts import reading_doubts, stage_means, temperature_deviation_k
from patency.flow.detection.rotation import false_alarms_of_each, seen_by_rotation
from patency.flow.faults.effects import shown_in_faults
from patency.flow.faults.listing import faults_of_load
from patency.flow.faults.sensing import Measured, fitted_sensors, thought_of
from patency.flow.network import Orifice
from patency.flow.solved_load import solve_stages
from patency.flow.stretches import Stretch
from patency.flow.tolerances import OF_A_TOLERANCE

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from patency.catalogue import Carrier, Department
    from patency.flow.detection.alarm import Alarm
    from patency.flow.faults.sensing import SensorPoint
    from patency.flow.from_load import LoadNetwork
    from patency.flow.solved_load import SolvedLoad
    from patency.load import Load

    Floats = NDArray[np.float64]

# What further sensors are taken for, k = 1; assumed, no source: 1 mbar of pressure, 0.5 % of the flow there.
_PRESSURE_PA = 100.0
_FLOW_SHARE = 0.005
_ORIFICE_COEFFICIENT = 0.61  # sharp-edged, of a bore much smaller than its pipe (handbook value, from memory)
_FINE_TOLERANCES_M = ((6e-3, 0.05e-3), (30e-3, 0.1e-3), (120e-3, 0.15e-3))
"""Sizes up to which a bore is held to which half width [m]: ISO 2768-1:1989, fine (from memory, not verified)."""
ORIFICE_PRESSURE_SHARE = 0.1
"""Share of a circuit's pressure that its orifice is sized to take [-]."""


@dataclass(frozen=True, slots=True)
class Option:
    """Some sensors read besides those that are fitted.

    Parameters
    ----------
    sensors
        Their names; empty for those that are fitted alone.
    seen
        How many of the load's faults then count as seen.
    sum_of_probabilities
        Sum of the probabilities of all faults: tells options apart that show as many [-].
    """

    sensors: tuple[str, ...]
    seen: int
    sum_of_probabilities: float


@dataclass(frozen=True, slots=True)
class Advice:
    """What further sensors would show, in one comparison and one network.

    Parameters
    ----------
    comparison
        What readings are compared with.
    faults
        How many faults the load can have.
    as_fitted
        What the fitted sensors show.
    best_one, best_two
        The best choice of one and of two further sensors, every choice tried.
    greedy_two
        What comes of taking the best one and then the best besides it.
    all_pressures
        What a further pressure sensor at every place would show.
    """

    comparison: str
    faults: int
    as_fitted: Option
    best_one: Option
    best_two: Option
    greedy_two: Option
    all_pressures: Option


@dataclass(frozen=True, slots=True)
class SensorAdvice:
    """What further sensors would show of a load's faults.

    Parameters
    ----------
    as_built
        For each comparison the advice for the carrier as it is.
    with_orifices
        The same with an orifice at the beginning of every circuit that feeds ports.
    orifice_bores_m
        Bore of each circuit's orifice [m].
    largest_flow_loss
        Largest share of its flow that a lumen loses to the orifices, in any stage [-].
    """

    as_built: Mapping[str, Advice]
    with_orifices: Mapping[str, Advice]
    orifice_bores_m: Mapping[str, float]
    largest_flow_loss: float


def advise_sensors(department: Department, load: Load, solved: SolvedLoad, alarm: Alarm) -> SensorAdvice:
    """Try every choice of one and two further sensors, with and without orifices.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    solved
        The load as planned.
    alarm
        What counts as seen.

    Returns
    -------
    SensorAdvice
        The advice.

    Raises
    ------
    PhysicsError
        If the pump is driven beyond its run-out within the doubts.
    """
    carrier = department.carriers[load.carrier]
    bores = orifice_bores_m(carrier, solved)
    narrowed = solve_stages(department, load, with_orifices(solved.network, carrier, bores))
    lost = 0.0
    for name in solved.stages:
        before, after = (
            one.gauge.read(one.stages[name].compiled, one.stages[name].flow).flow_m3_s for one in (solved, narrowed)
        )
        runs = before > 0.0
        lost = max(lost, float((1.0 - after[runs] / before[runs]).max(initial=0.0)))
    return SensorAdvice(
        as_built=_advise(department, load, solved, alarm),
        with_orifices=_advise(department, load, narrowed, alarm),
        orifice_bores_m=bores,
        largest_flow_loss=lost,
    )


def orifice_bores_m(carrier: Carrier, solved: SolvedLoad) -> dict[str, float]:
    """Size an orifice for every circuit that feeds ports, so that it takes a tenth of the pressure there.

    Parameters
    ----------
    carrier
        The carrier.
    solved
        The load as planned.

    Returns
    -------
    dict[str, float]
        Circuit to bore [m]; circuits without water, or without a pipe of their own, are left out.
    """
    feeding = {port.circuit for port in carrier.ports.values()}
    bores = {}
    for name in carrier.circuits:
        node, link = circuit_entry(carrier, name)
        if name not in feeding or not link:
            continue
        squares = []
        for stage in solved.stages.values():
            compiled = stage.compiled
            flow = stage.flow.flow_m3_s[compiled.chain_names.index(link)]
            head = stage.flow.head_m[compiled.node_names.index(node)] - compiled.pump.sump_level_m
            velocity = math.sqrt(2.0 * compiled.gravity_m_s2 * max(ORIFICE_PRESSURE_SHARE * head, 0.0))
            if flow > 0.0 and velocity > 0.0:
                squares.append(4.0 / math.pi * float(flow) / (_ORIFICE_COEFFICIENT * velocity))
        if squares:
            bores[name] = math.sqrt(max(squares))
    return bores


def with_orifices(load_network: LoadNetwork, carrier: Carrier, bores_m: Mapping[str, float]) -> LoadNetwork:
    """Put an orifice at the beginning of circuits.

    Parameters
    ----------
    load_network
        The load's network.
    carrier
        The carrier.
    bores_m
        Circuit to the bore of its orifice [m].

    Returns
    -------
    LoadNetwork
        The network with them and with what is in doubt about them.
    """
    orifices: dict[str, Orifice] = {}
    doubts_m: dict[str, float] = {}
    for name, bore in bores_m.items():
        _, entered = circuit_entry(carrier, name)
        orifices[entered] = Orifice(diameter_m=bore, discharge_coefficient=_ORIFICE_COEFFICIENT)
        doubts_m[entered] = orifice_doubt_m(bore, carrier.circuits[name].bore_m.nominal)
    network, stretches = load_network.network, dict(load_network.stretches)
    links = []
    for link in network.links:
        if link.id in orifices:
            stretches[link.id] = (Stretch(orifices[link.id], doubts_m[link.id], 0.0, 0.0), *stretches[link.id])
            links.append(replace(link, segments=(orifices[link.id], *link.segments)))
        else:
            links.append(link)
    return replace(load_network, network=replace(network, links=tuple(links)), stretches=stretches)


def orifice_doubt_m(bore_m: float, pipe_m: float) -> float:
    """Say how far an orifice that somebody drills may be off, in its bore and in its coefficient.

    What an orifice passes goes with its coefficient times the square of its bore, so a doubt of the coefficient counts
    as half of it in the bore. The coefficient of a plate that was not calibrated is known as ISO 5167-2:2003, 5.3.3.1
    says (k = 2), its terms for pipes below 71.12 mm and for Reynolds numbers below 10,000 added; the standard holds
    from 50 mm and up to a ratio of 0.75 and is carried on beyond both, for want of a better one.

    Parameters
    ----------
    bore_m
        Bore of the orifice [m].
    pipe_m
        Bore of its pipe [m].

    Returns
    -------
    float
        Half width of a tolerance of the bore that stands for both [m].

    Examples
    --------
    >>> round(orifice_doubt_m(8e-3, 16e-3) * 1e3, 4)
    0.1057
    """
    ratio = bore_m / pipe_m
    percent = 0.7 - ratio if ratio < 0.2 else max(0.5, 1.667 * ratio - 0.5)
    percent += max(0.9 * (0.75 - ratio) * (2.8 - pipe_m / 25.4e-3), 0.0) + (0.5 if ratio > 0.5 else 0.0)
    coefficient_m = bore_m / 2.0 * (percent / 100.0 / 2.0) / OF_A_TOLERANCE
    drilled_m = next((half for most, half in _FINE_TOLERANCES_M if bore_m <= most), _FINE_TOLERANCES_M[-1][1])
    return math.hypot(drilled_m, coefficient_m)


def _advise(department: Department, load: Load, solved: SolvedLoad, alarm: Alarm) -> dict[str, Advice]:
    """Try the choices in one network."""
    machine, carrier = department.machine_kinds[load.machine_kind], department.carriers[load.carrier]
    fitted = fitted_sensors(department, load)
    further = thought_of(machine, carrier, {Measured.PRESSURE: _PRESSURE_PA, Measured.FLOW: _FLOW_SHARE})
    fault_list = faults_of_load(department, load, solved.network)
    planned, shown = shown_in_faults(solved, fault_list, (*fitted, *further))
    flows = np.abs(planned[:, len(fitted) :]).max(axis=0, initial=0.0)
    points = (*fitted, *(_scaled(point, float(flow)) for point, flow in zip(further, flows, strict=True)))
    doubts = reading_doubts(solved, points, temperature_deviation_k(machine))
    means = stage_means(doubts.columns, [point.name for point in points])
    each = false_alarms_of_each(department, machine, alarm)
    turning = seen_by_rotation(department, machine, fault_list.faults, each)
    moved = np.asarray((shown - planned[:, None, :]).mean(axis=0))
    base = tuple(range(len(fitted)))
    found = {}
    for comparison in COMPARISONS:
        covariance = doubts.covariance(comparison, means)

        def option(chosen: Sequence[int], covariance: Floats = covariance) -> Option:
            by_water = detection_probabilities(moved, covariance, each, [*base, *chosen])
            seen = either(by_water, turning)
            names = tuple(points[place].name for place in chosen)
            return Option(names, int((seen >= alarm.least_probability).sum()), float(seen.sum()))

        offered = range(len(fitted), len(points))
        ones = {place: option((place,)) for place in offered}
        nothing = option(())
        first = max(ones, key=lambda place: _worth(ones[place]), default=None)
        twos = [option(pair) for pair in combinations(offered, 2)]
        greedy = [option((first, place)) for place in offered if place != first] if first is not None else []
        pressures = [place for place in offered if points[place].measured is Measured.PRESSURE]
        found[comparison.name] = Advice(
            comparison=comparison.name,
            faults=len(fault_list.faults),
            as_fitted=nothing,
            best_one=max(ones.values(), key=_worth, default=nothing),
            best_two=max(twos, key=_worth, default=nothing),
            greedy_two=max(greedy, key=_worth, default=nothing),
            all_pressures=option(pressures),
        )
    return found


def _worth(option: Option) -> tuple[int, float]:
    return option.seen, option.sum_of_probabilities


def _scaled(point: SensorPoint, planned: float) -> SensorPoint:
    """Turn the deviation of a further flow sensor from a share into a flow; where no water runs it shows nothing."""
    if point.measured is Measured.PRESSURE:
        return point
    return replace(point, deviation=_FLOW_SHARE * planned if planned > 0.0 else None)
