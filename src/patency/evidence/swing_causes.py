"""What makes a circulation pressure swing: foam, cavitation, or air past a low water level, as far as a record tells.

Foam needs an agent in the water. Cavitation by heat needs water that boils easily at the suction of the pump. Air past
a low level needs neither and is never excluded: no sensor of a record shows the level.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.criteria import limit_fault, shown
from patency.evidence.process import part_of
from patency.quantities import saturation_pressure_pa

if TYPE_CHECKING:
    from patency.evidence.case import Case
    from patency.evidence.found_stages import StageSpan
    from patency.evidence.record import Trace

# Below a third of the pressure of the surroundings (71 °C) the vapour of hot water leaves the pump more than 6 m of its
# suction head. A choice of method: common pumps ask for 1 m to 5 m (from memory, not verified).
_VAPOUR_SHARE = 1 / 3
_SURROUNDINGS_PA = 101_325.0


def causes_of_swings(case: Case, span: StageSpan, trace: Trace) -> str:
    """Tell what may make the pressure of a stage swing, and what of it the record excludes.

    Parameters
    ----------
    case
        The case.
    span
        The stage.
    trace
        The pressure sensor.

    Returns
    -------
    str
        One sentence; where more than one cause is left it says that the record does not tell them apart.
    """
    agent, foam_told = _agent(case, span)
    hot, heat_told = _hot(case, span)
    causes = ["foam"] * agent + ["cavitation"] * hot + ["air past a low water level"]
    words = f"{', '.join(causes[:-1])}{' or ' if len(causes) > 1 else ''}{causes[-1]}"
    apart = ", which the record does not tell apart" if len(causes) > 1 else ""
    return f"{words}{apart} ({foam_told}; {heat_told}; {_rhythm(case, span, trace)})"


def _agent(case: Case, span: StageSpan) -> tuple[bool, str]:
    """Tell whether the water holds an agent that may foam: dosed, or seen by what the water conducts."""
    if span.stage.doses is None or span.stage.doses:
        return True, "an agent is dosed in it" if span.stage.doses else "nobody has stated what is dosed in it"
    pure = case.limits.final_rinse_conductivity
    if pure is None or limit_fault(pure, "uS/cm", case.on):
        return True, "how pure its water is cannot be judged"
    found = [part_of(case, probe, span, (0.0, 1.0)) for probe in case.record.of("conductivity")]
    highest = max((float(part.max()) for part in found if part.size), default=None)
    if highest is None:
        return True, "no sensor shows how pure its water is"
    told = f"its water conducts up to {shown(highest, 'uS/cm')}"
    return highest > pure.value, told if highest > pure.value else f"{told}: no agent is left to foam"


def _hot(case: Case, span: StageSpan) -> tuple[bool, str]:
    """Tell whether the water is hot enough to boil at the suction of the pump."""
    found = [part_of(case, one, span, (0.0, 1.0)) for one in case.thermometers]
    hottest_c = max((float(part.max()) for part in found if part.size), default=None)
    if hottest_c is None:
        return True, "no thermometer shows how hot its water is"
    share = saturation_pressure_pa(min(max(hottest_c, 1.0), 200.0)) / _SURROUNDINGS_PA
    told = f"at {shown(hottest_c, 'degC')} its vapour has {share:.0%} of the pressure of the surroundings"
    return share >= _VAPOUR_SHARE, told if share >= _VAPOUR_SHARE else f"{told}: too little to boil in the pump"


def _rhythm(case: Case, span: StageSpan, trace: Trace) -> str:
    """Tell whether neighbouring readings swing together, as slugs of foam and air do, or each for itself."""
    values = part_of(case, trace, span, (0.1, 0.9))
    off = values - values.mean() if values.size > 2 else values
    spread = float(off @ off)
    if not spread:
        return "no rhythm"
    alike = float(off[1:] @ off[:-1]) / spread
    every = f"{case.record.axis.usual_s:.3g} s"
    return (
        f"readings {every} apart swing {'together' if alike > 0.5 else 'each for itself'} (r = {np.round(alike, 2):g})"
    )
