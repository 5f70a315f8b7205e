"""What the lumens of a load still reach with something of it off, as people find it when the load comes out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import reduce
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from patency.errors import PhysicsError
from patency.flow.faults.effects import run_of_faults
from patency.flow.faults.fault import FaultCase, FaultKind
from patency.flow.faults.listing import faults_of_load
from patency.flow.solved_load import solve_load

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from patency.catalogue import Department
    from patency.flow.lumen_paths import LumenKey
    from patency.load import Load

_OFF = frozenset(
    {FaultKind.HOSE_OFF_PORT, FaultKind.HOSE_OFF_PIECE, FaultKind.PIECE_OFF_PORT, FaultKind.PIECE_OFF_NOZZLE}
)
_MOST_OFF = 8  # a hose comes off at either of its ends: 256 ways together


@dataclass(frozen=True, slots=True)
class StillReached:
    """What the lumens of a load still reach with something of it off.

    Parameters
    ----------
    margin
        Of each connected lumen what it reaches over what it has to reach [-], in the stage and in the way of coming off
        that are worst for it, and never more than as planned: below 1 it falls short, 0 is dry, not-a-number is held
        against nothing that is known.
    left_open
        Of each connected lumen what leaves open whether it is fed, in words, however much it reaches.
    not_computed
        Why nothing can be said of any lumen, in words; empty where it can.
    """

    margin: Mapping[LumenKey, float]
    left_open: Mapping[LumenKey, tuple[str, ...]]
    not_computed: str = ""

    def doubt(self, key: LumenKey) -> str:
        """Say why a lumen does not count as fed.

        Parameters
        ----------
        key
            The lumen.

        Returns
        -------
        str
            In words; empty where it reaches all that it has to reach.
        """
        if self.not_computed or key not in self.margin:
            return self.not_computed or "was not computed"
        margin = self.margin[key]
        if margin < 1.0:
            return f"reaches {margin:.0%} of what it has to reach"
        if np.isnan(margin):
            return "is held against nothing that is known"
        return "; ".join(self.left_open[key])


def still_reached(department: Department, load: Load, ports: Sequence[str], day: date) -> StillReached:
    """Work out what the lumens of a load still reach with what hung on some ports off.

    Nobody knows when it came off, nor at which of its ends a hose did: the worst of all these ways counts, and the load
    as planned is one of them.

    Parameters
    ----------
    department
        The department.
    load
        The load as it was put together.
    ports
        At which ports something was found off; at least one.
    day
        Day of the decision.

    Returns
    -------
    StillReached
        Of every connected lumen. What hung on these ports is dry.

    Raises
    ------
    InputError
        If the load names something the department does not have, or its programme has no wet stage.
    """
    try:
        solved = solve_load(department, load)
    except PhysicsError as error:
        return StillReached({}, {}, str(error))
    listed = faults_of_load(department, load, solved.network)
    ways = [[one for one in listed.cases if one.fault.place == port and one.fault.kind in _OFF] for port in ports]
    if missing := [port for port, each in zip(ports, ways, strict=True) if not each]:
        return StillReached({}, {}, f"what comes off at {', '.join(missing)} cannot be computed")
    if len(ports) > _MOST_OFF:
        return StillReached({}, {}, f"more than {_MOST_OFF} came off")
    together = replace(listed, cases=tuple(reduce(_both, way) for way in product(*ways)))
    effects = run_of_faults(department, load, day, solved, together).effects()
    least = np.minimum(effects.margin.min(axis=0), effects.planned_margin).tolist()
    return StillReached(
        dict(zip(effects.lumens, least, strict=True)), dict(zip(effects.lumens, effects.left_open, strict=True))
    )


def _both(one: FaultCase, other: FaultCase) -> FaultCase:
    return FaultCase(one.fault, one.change + other.change)
