"""What would buy it: the smallest changes of the equipment with which a load's lumens stay fed in the chosen faults."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from patency.errors import PhysicsError
from patency.flow import FaultKind, effects_of_faults
from patency.plan.time_limit import TimeLimit

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date

    from patency.catalogue import Department
    from patency.flow import Fault, FaultEffects
    from patency.load import Load

# Faults that open a port: a narrower passage of its fitting holds them in check.
_OPEN_A_PORT = frozenset({FaultKind.CAP_MISSING, FaultKind.PIECE_OFF_PORT, FaultKind.HOSE_OFF_PORT})
_NARROWER_STEP_M = 0.5e-3
_NARROWEST_M = 1.0e-3
_MOST_STEPS = 100
_STRONGER_STEP = 0.05
_STRONGEST = 2.0


@dataclass(frozen=True, slots=True)
class Remedy:
    """One change with which every lumen of a load stays fed in the faults it is for.

    Parameters
    ----------
    load
        The load's id.
    what
        The change, in words.
    faults
        Names of the faults it is for.
    """

    load: str
    what: str
    faults: tuple[str, ...]

    @property
    def told(self) -> str:
        """The remedy in one line."""
        return f"load {self.load}: {self.what} ({', '.join(self.faults)})"


@dataclass(frozen=True, slots=True)
class Remedies:
    """What would let the lumens of a load stay fed.

    Parameters
    ----------
    found
        Changes that are enough for the faults they name.
    none_found
        Faults for which none of the changes tried was enough, each with what was tried.
    """

    found: tuple[Remedy, ...]
    none_found: tuple[str, ...]


def remedies_for(
    department: Department, load: Load, day: date, kinds: frozenset[FaultKind], limit: TimeLimit | None = None
) -> Remedies:
    """Find what would let every lumen of a load stay fed in every single fault of chosen kinds.

    Two things are tried, each computed anew: a narrower passage in the fitting of a port that a fault opens, in steps
    of half a millimetre, and a stronger pump, whose whole curve is raised in steps of a twentieth up to twice its head.

    Parameters
    ----------
    department
        The department.
    load
        The load as arranged.
    day
        Day of the decision.
    kinds
        The kinds of fault.
    limit
        How long it may take. The pump is tried first, since it is for all faults; faults that are not got round to are
        in neither list.

    Returns
    -------
    Remedies
        Empty where every lumen stays fed as it is.

    Raises
    ------
    InputError
        If the load names something the department does not have.
    PhysicsError
        If the load as planned draws more from the pump than its curve knows.
    """
    limit = limit or TimeLimit()
    if limit.over(_what_is_cut(load)):
        return Remedies((), ())
    trial = _Trial(load, day, kinds, limit)
    starving = trial.starving(department)
    found: list[Remedy] = []
    none_found: list[str] = []

    def tell(faults: list[Fault], remedy: str | None, tried: str) -> None:
        names = tuple(fault.name for fault in faults)
        if remedy is not None:
            found.append(Remedy(load.id, remedy, names))
        elif not limit.over(_what_is_cut(load)):
            none_found.append(f"load {load.id}, {', '.join(names)}: {tried} is enough")

    if starving:
        tell(starving, _stronger_pump(department, trial), f"no pump of up to {_STRONGEST:g} times the head")
    opening = [fault for fault in starving if fault.kind in _OPEN_A_PORT]
    for port in dict.fromkeys(fault.place for fault in opening):
        here = [fault for fault in opening if fault.place == port]
        tried = f"no passage down to {_NARROWEST_M * 1e3:g} mm in port {port}"
        tell(here, _narrower_port(department, trial, port), tried)
    return Remedies(tuple(found), tuple(none_found))


def _what_is_cut(load: Load) -> str:
    return f"load {load.id}: the search for what would buy it"


@dataclass(frozen=True, slots=True)
class _Trial:
    """A load that is asked about again and again, with other equipment."""

    load: Load
    day: date
    kinds: frozenset[FaultKind]
    limit: TimeLimit

    def starving(self, department: Department) -> list[Fault]:
        """List the faults in which a lumen falls short that does not hang on what has failed itself."""
        return self._starving(effects_of_faults(department, self.load, self.day))

    def first_enough(self, steps: Sequence[float], enough: Callable[[float], bool]) -> float | None:
        """Find the smallest change that is enough; a larger one may be too much, as it harms the load as planned."""
        for step in steps:
            if self.limit.over(_what_is_cut(self.load)):
                return None
            if enough(step):
                return step
        return None

    def is_enough(self, department: Department, port: str | None = None) -> bool:
        """Tell whether all stay fed as planned and in every fault; with a port named, in the faults of that port."""
        try:
            effects = effects_of_faults(department, self.load, self.day)
        except PhysicsError:
            return False
        if (effects.planned_margin < 1.0).any():
            return False
        return all(port is not None and fault.place != port for fault in self._starving(effects))

    def _starving(self, effects: FaultEffects) -> list[Fault]:
        short = np.flatnonzero(effects.others_short.any(axis=1))
        return [fault for fault in (effects.faults[row] for row in short) if fault.kind in self.kinds]


def _narrower_port(department: Department, trial: _Trial, port: str) -> str | None:
    """Find the widest passage of a port's fitting with which all stay fed when it is open, and as planned."""
    carrier = department.carriers[trial.load.carrier]
    bore = carrier.ports[port].bore_m
    widths = [bore.nominal - step * _NARROWER_STEP_M for step in range(1, _MOST_STEPS)]
    widths = [width for width in widths if width >= _NARROWEST_M]

    def with_width(width_m: float) -> Department:
        narrow = carrier.ports[port].model_copy(update={"bore_m": replace(bore, nominal=width_m)})
        changed = carrier.model_copy(update={"ports": {**carrier.ports, port: narrow}})
        return department.model_copy(update={"carriers": {**department.carriers, trial.load.carrier: changed}})

    width = trial.first_enough(widths, lambda width_m: trial.is_enough(with_width(width_m), port))
    if width is None:
        return None
    was = f"{bore.nominal * 1e3:g} mm"
    return f"a passage of {width * 1e3:g} mm in the fitting of port {port} of {trial.load.carrier}, which has {was} now"


def _stronger_pump(department: Department, trial: _Trial) -> str | None:
    """Find the weakest pump with which all stay fed in every fault, and as planned."""
    name = trial.load.machine_kind
    kind = department.machine_kinds[name]

    def with_head(factor: float) -> Department:
        points = [point.model_copy(update={"head_m": factor * point.head_m}) for point in kind.pump.points]
        pump = kind.pump.model_copy(update={"points": points})
        kinds = {**department.machine_kinds, name: kind.model_copy(update={"pump": pump})}
        return department.model_copy(update={"machine_kinds": kinds})

    factors = [1.0 + step * _STRONGER_STEP for step in range(1, round((_STRONGEST - 1.0) / _STRONGER_STEP) + 1)]
    factor = trial.first_enough(factors, lambda one: trial.is_enough(with_head(one)))
    return None if factor is None else f"a circulation pump of {factor:.2f} times the head of that of {name}"
