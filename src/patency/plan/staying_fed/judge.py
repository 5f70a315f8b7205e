"""Whether the lumens of a load stay fed in every single fault of chosen kinds: a sharper question to the search."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.errors import PhysicsError
from patency.flow import FaultKind, effects_of_faults
from patency.plan.water import FlowJudge, Verdict

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from patency.catalogue import Department
    from patency.flow import Fault, FaultEffects, LumenKey
    from patency.load import Load

# Faults at a port that is not used. A load with more sets has fewer of them, so that a lumen which falls short in one
# of them need not fall short in the company of more sets.
_AT_UNUSED_PORTS = frozenset({FaultKind.CAP_MISSING})


@dataclass(frozen=True, slots=True)
class StaysFedJudge:
    """The judge that computes the flow as planned and in every single fault of chosen kinds.

    A lumen that hangs on what has failed itself is not asked about: no arrangement feeds it then.

    Parameters
    ----------
    department
        The department.
    day
        Day of the decision.
    kinds
        The kinds of fault, at least one.
    """

    department: Department
    day: date
    kinds: frozenset[FaultKind]
    _latest: list[_Worst] = field(default_factory=list, init=False, repr=False, compare=False)

    @property
    def holds_in_company(self) -> bool:
        """Whether what falls short in a load falls short in every load with more sets on the same carrier, too."""
        return not self.kinds & _AT_UNUSED_PORTS

    def thoroughly(self, load: Load) -> Verdict:
        """Judge a load by the lower ends of the predicted intervals, as planned and in every fault.

        Parameters
        ----------
        load
            The load.

        Returns
        -------
        Verdict
            What falls short, with the fault that is worst for it, and the margins, in the worst fault each. A piece
            that is not in it is not thereby fed: it may be one of those ``FaultEffects.not_judged`` names.
        """
        return self._with_faults(load, self._as_planned.thoroughly(load))

    def quickly(self, load: Load) -> Verdict:
        """Judge a load at nominal sizes as planned, and by the lower ends of the intervals in every fault.

        Parameters
        ----------
        load
            The load.

        Returns
        -------
        Verdict
            As of ``thoroughly``.
        """
        return self._with_faults(load, self._as_planned.quickly(load))

    @property
    def _as_planned(self) -> FlowJudge:
        return FlowJudge(self.department, self.day)

    def _with_faults(self, load: Load, planned: Verdict) -> Verdict:
        """Add to what falls short as planned what falls short in a fault."""
        short, margins = dict(planned.short), dict(planned.margins)
        for (set_name, piece, lumen), fault, margin in self._worst(load):
            key = (set_name, piece)
            margins[key] = min(margins.get(key, margin), margin)
            if margin < 1.0 and key not in planned.short:
                told = f"{lumen}: {100 * margin:.4g} % of what it needs in the fault {fault.name!r}"
                short[key] = f"{short[key]}; {told}" if key in short else told
        return Verdict(short, margins)

    def _worst(self, load: Load) -> list[tuple[LumenKey, Fault, float]]:
        """Find the worst faults of a load, or recall them: most are judged quickly and thoroughly in turn."""
        if not self._latest or self._latest[0].load is not load:
            try:
                found = list(worst_faults(effects_of_faults(self.department, load, self.day), self.kinds))
            except PhysicsError:
                found = []  # beyond the pump's run-out even as planned: all fall short there already
            self._latest[:] = [_Worst(load, found)]
        return self._latest[0].found


class _Worst(NamedTuple):
    """A load with the worst fault of each lumen."""

    load: Load
    found: list[tuple[LumenKey, Fault, float]]


def worst_faults(effects: FaultEffects, kinds: frozenset[FaultKind]) -> Iterator[tuple[LumenKey, Fault, float]]:
    """Find for each lumen the fault of chosen kinds that is worst for it.

    Parameters
    ----------
    effects
        What every single fault of a load does.
    kinds
        The kinds.

    Yields
    ------
    tuple
        Lumen, fault, and how far the lumen is from falling short in it; below 1 it does. Faults of what the lumen
        hangs on itself do not count, and a lumen that is held against nothing is left out.
    """
    chosen = [row for row, fault in enumerate(effects.faults) if fault.kind in kinds]
    for column, key in enumerate(effects.lumens):
        rows = [row for row in chosen if effects.faults[row].lumen != key and not np.isnan(effects.margin[row, column])]
        if rows:
            worst = min(rows, key=lambda row: effects.margin[row, column])
            yield key, effects.faults[worst], float(effects.margin[worst, column])
