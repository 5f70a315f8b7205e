"""Which lumens to put into the next reference load, and where to put the probes.

Of two lumens the worse one stands for the other: it is at least as hard in every point of its geometry and gets at most
as much flow, wall shear stress and exchanges. What no other lumen stands for has to be qualified itself. That is a
preorder, so the lumens nothing stands for, one of each group that stand for each other, are the smallest choice that
leaves none out.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from patency.flow.envelope.hardness import harder_points, hardness_of
from patency.flow.envelope.load_envelope import planned_lumens

if TYPE_CHECKING:
    from collections.abc import Iterable

    from patency.catalogue import Department
    from patency.flow.envelope.comparing import PlannedLumen
    from patency.flow.load_flow import LoadFlow, LumenFlow
    from patency.load import Load

Place = tuple[str, str, str, str]
"""Load, set, piece, lumen."""


class ProbeMeasure(StrEnum):
    """What a probe at a lumen should measure or what its value stands for."""

    FLOW = "flow"
    SHEAR = "wall shear stress"
    EXCHANGES = "exchanges per minute"
    PRESSURE = "pressure at the connection"


_UNITS = {ProbeMeasure.FLOW: "m3/s", ProbeMeasure.SHEAR: "Pa", ProbeMeasure.EXCHANGES: "1", ProbeMeasure.PRESSURE: "Pa"}


@dataclass(frozen=True, slots=True)
class WorstLumen:
    """A lumen for the next reference load.

    Parameters
    ----------
    place
        Load, set, piece and lumen.
    port
        The port that feeds it there.
    flow_m3_s, exchanges_per_min
        What it is predicted to get at least, in the stage that is worst for it [m³/s], [1/min].
    shear_pa
        The same of wall shear stress [Pa]; None over a nozzle, where it is not known.
    stands_for
        Every other lumen that it is at least as hard as, and that gets at least as much.
    """

    place: Place
    port: str
    flow_m3_s: float
    exchanges_per_min: float
    shear_pa: float | None
    stands_for: tuple[Place, ...]


@dataclass(frozen=True, slots=True)
class Probe:
    """Where to measure, because nothing gets less there.

    Parameters
    ----------
    measured
        What is lowest there.
    place
        Load, set, piece and lumen.
    port
        The port that feeds it.
    stage
        The stage in which it is lowest; empty for exchanges, which go with the flow.
    low
        Lower end of the predicted interval, in ``unit``.
    unit
        SI unit, ``1`` for exchanges per minute.
    """

    measured: ProbeMeasure
    place: Place
    port: str
    stage: str
    low: float
    unit: str


@dataclass(frozen=True, slots=True)
class Requalification:
    """A proposal for the next reference load of one carrier and programme.

    Parameters
    ----------
    carrier, programme
        For which.
    loads
        The planned loads it would stand for.
    lumens
        The fewest lumens that stand for all of them, the least shear first, unknown shear last.
    probes
        The lumen that is lowest in each measure.
    not_connected
        Lumens without a port, which nothing stands for.
    """

    carrier: str
    programme: str
    loads: tuple[str, ...]
    lumens: tuple[WorstLumen, ...]
    probes: tuple[Probe, ...]
    not_connected: tuple[Place, ...]


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A connected lumen of one of the loads."""

    place: Place
    port: str
    planned: PlannedLumen
    flow: LumenFlow

    @property
    def lows(self) -> dict[ProbeMeasure, float]:
        """Lower ends of what it gets."""
        flow_m3_s = self.flow.flow_m3_s.low
        lows = {ProbeMeasure.FLOW: flow_m3_s, ProbeMeasure.EXCHANGES: 60.0 * flow_m3_s / self.flow.volume_m3}
        if self.flow.shear_pa is not None:
            lows[ProbeMeasure.SHEAR] = self.flow.shear_pa.low
        return lows

    def stands_for(self, other: _Candidate) -> bool:
        """Tell whether this one is at least as hard and gets at most as much."""
        alike = self.planned.type == other.planned.type
        if not alike and any(harder_points(hardness_of(other.planned.described), hardness_of(self.planned.described))):
            return False
        own, others = self.lows, other.lows
        return own.keys() == others.keys() and all(own[measure] <= others[measure] for measure in own)


def propose_requalification(department: Department, loads: Iterable[tuple[Load, LoadFlow]]) -> list[Requalification]:
    """Propose the worst-case lumens and the probes for the next qualification of planned loads.

    Parameters
    ----------
    department
        The department.
    loads
        Loads with the water in each.

    Returns
    -------
    list[Requalification]
        One for each pair of carrier and programme, in the order in which they come.
    """
    groups: dict[tuple[str, str], list[tuple[Load, LoadFlow]]] = {}
    for load, load_flow in loads:
        groups.setdefault((load.carrier, load.programme), []).append((load, load_flow))
    return [_propose(department, *pair, members) for pair, members in groups.items()]


def _propose(
    department: Department, carrier: str, programme: str, members: list[tuple[Load, LoadFlow]]
) -> Requalification:
    candidates, loose = [], []
    for load, load_flow in members:
        for key, planned in planned_lumens(department, load, load_flow).items():
            place = (load.id, *key)
            if planned.flow is None:
                loose.append(place)
            else:
                port = load_flow.network.lumens[key].port
                candidates.append(_Candidate(place, port, planned, planned.flow))
    lumens = [_worst(candidate, candidates) for candidate in _nothing_stands_for(candidates)]
    lumens.sort(key=lambda lumen: (lumen.shear_pa is None, lumen.shear_pa or 0.0, lumen.flow_m3_s))
    loads = tuple(load.id for load, _ in members)
    return Requalification(carrier, programme, loads, tuple(lumens), tuple(_probes(candidates)), tuple(loose))


def _nothing_stands_for(candidates: list[_Candidate]) -> list[_Candidate]:
    """Keep the lumens for which no other stands; of those that stand for each other the first."""
    return [
        one
        for place, one in enumerate(candidates)
        if not any(
            other.stands_for(one) and (before < place or not one.stands_for(other))
            for before, other in enumerate(candidates)
            if other is not one
        )
    ]


def _worst(chosen: _Candidate, candidates: list[_Candidate]) -> WorstLumen:
    lows = chosen.lows
    return WorstLumen(
        place=chosen.place,
        port=chosen.port,
        flow_m3_s=lows[ProbeMeasure.FLOW],
        exchanges_per_min=lows[ProbeMeasure.EXCHANGES],
        shear_pa=lows.get(ProbeMeasure.SHEAR),
        stands_for=tuple(other.place for other in candidates if other is not chosen and chosen.stands_for(other)),
    )


def _probes(candidates: list[_Candidate]) -> list[Probe]:
    """Find the lumen that is lowest in each measure; of equals the first."""
    probes = []
    for measured in ProbeMeasure:
        known = [(_low(candidate, measured), candidate) for candidate in candidates]
        values = [(low, candidate) for low, candidate in known if low is not None]
        if values:
            low, candidate = min(values, key=lambda value: value[0])
            stage = candidate.flow.worst_stages.get(_STAGE_OF[measured], "")
            probes.append(Probe(measured, candidate.place, candidate.port, stage, low, _UNITS[measured]))
    return probes


_STAGE_OF = {
    ProbeMeasure.FLOW: "flow",
    ProbeMeasure.SHEAR: "shear",
    ProbeMeasure.EXCHANGES: "flow",
    ProbeMeasure.PRESSURE: "pressure",
}


def _low(candidate: _Candidate, measured: ProbeMeasure) -> float | None:
    return candidate.flow.pressure_pa.low if measured is ProbeMeasure.PRESSURE else candidate.lows.get(measured)
