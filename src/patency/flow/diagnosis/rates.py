"""How often each thing goes wrong: what is assumed before anything is observed."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from patency.flow.faults.fault import FaultKind

if TYPE_CHECKING:
    from collections.abc import Mapping

NO_SOURCE = "assumption, no source: replace by what the department counts"
_EACH = {
    FaultKind.HOSE_OFF_PORT: 1e-3,
    FaultKind.HOSE_OFF_PIECE: 2e-3,
    FaultKind.PIECE_OFF_PORT: 1e-3,
    FaultKind.PIECE_OFF_NOZZLE: 1e-3,
    FaultKind.BLOCKED: 1e-3,
    FaultKind.HALF_BLOCKED: 2e-3,
    FaultKind.CAP_MISSING: 1e-3,
    FaultKind.END_CAP_MISSING: 1e-3,
    FaultKind.WRONG_NOZZLE: 1e-3,
    FaultKind.ROD_LYING: 2e-3,
    FaultKind.STRAINER_CLOGGED: 2e-3,
    FaultKind.ARM_STUCK: 1e-3,
    FaultKind.ARM_LOST: 1e-4,
}


@dataclass(frozen=True, slots=True)
class Rates:
    """What is assumed before anything is observed; each number is a plain statement that a site can replace.

    Parameters
    ----------
    faults
        Probability of each kind of fault in one cycle, for each place it can be at; 0 for one that cannot happen. A
        kind that is left out and that a load can have is refused [-].
    pump_worn
        That the pump turns or pumps too little [-].
    sieve_clogged
        That the machine's sieve clogs [-].
    foam
        Foam or cavitation, for each wet stage [-].
    sensor_offset
        That a sensor is off by more than its stated uncertainty, for each sensor [-].
    arm_misread
        That an arm's sensor says the arm stands when it turns, or turns when it stands [-].
    source
        Where the numbers come from.
    """

    faults: Mapping[FaultKind, float] = field(default_factory=lambda: dict(_EACH))
    pump_worn: float = 5e-3
    sieve_clogged: float = 5e-3
    foam: float = 1e-3
    sensor_offset: float = 5e-3
    arm_misread: float = 5e-3
    source: str = NO_SOURCE
