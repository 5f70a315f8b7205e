"""The answer to many solves of one network."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Bools = NDArray[np.bool_]
    Floats = NDArray[np.float64]


class SolveState(IntEnum):
    """What became of one scenario."""

    SOLVED = 0
    BEYOND_RUN_OUT = 1
    """The network would pull more out of the pump than its curve knows."""
    NO_BALANCE = 2
    """The numbers lie too far apart to balance."""


@dataclass(frozen=True, slots=True)
class ManyFlows:
    """Flows and heads of many scenarios; rows that are not solved hold not-a-number.

    Parameters
    ----------
    flow_m3_s
        Shape (scenarios, chains): flows in the order of the compiled network's chains, away from the sump positive
        [m³/s].
    head_m
        Shape (scenarios, nodes): total heads in the frame of the outlets' elevations [m].
    state
        Shape (scenarios,): the `SolveState` of each scenario as a number.
    """

    flow_m3_s: Floats
    head_m: Floats
    state: NDArray[np.uint8]

    @property
    def solved(self) -> Bools:
        """Shape (scenarios,): whether a scenario was solved."""
        return np.asarray(self.state == SolveState.SOLVED)
