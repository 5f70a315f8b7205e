"""From arrays to names: what was read off a stage, and of each lumen the stage that is worst for it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from patency.flow.load_flow import JetFlow, LumenFlow, StageFlow, StageLumen
from patency.quantities import STANDARD_GRAVITY_M_S2, Interval

if TYPE_CHECKING:
    from patency.flow.from_load import LoadNetwork
    from patency.flow.lumen_paths import LumenKey, LumenPath
    from patency.flow.readings import Readings


def _interval(low: float, nominal: float, high: float) -> Interval:
    return Interval(min(float(low), float(nominal)), float(nominal), max(float(high), float(nominal)))


def _not_below_zero(low: float, nominal: float, high: float) -> Interval:
    """Bound a size that cannot be negative; the first order may reach below zero."""
    return _interval(max(float(low), 0.0), nominal, high)


def stage_flow(
    load_network: LoadNetwork, temperature_c: float, nominal: Readings, ends: tuple[Readings, Readings]
) -> StageFlow:
    """Put names and intervals to what was read off a stage.

    Parameters
    ----------
    load_network
        The load's network.
    temperature_c
        Temperature of the stage [°C].
    nominal
        What was read at nominal sizes.
    ends
        Lower and upper ends.

    Returns
    -------
    StageFlow
        The stage.
    """
    low, high = ends
    lumens = {
        key: _stage_lumen(path, low, nominal, high, row) for row, (key, path) in enumerate(load_network.lumens.items())
    }
    arms, open_ports = (
        {name: _not_below_zero(*(float(end[row]) for end in ends_of)) for row, name in enumerate(names)}
        for names, ends_of in (
            (load_network.arms, (low.arm_flow_m3_s, nominal.arm_flow_m3_s, high.arm_flow_m3_s)),
            (load_network.open_ports, (low.open_flow_m3_s, nominal.open_flow_m3_s, high.open_flow_m3_s)),
        )
    )
    return StageFlow(
        temperature_c=temperature_c,
        circulation_pa=_interval(low.circulation_pa[0], nominal.circulation_pa[0], high.circulation_pa[0]),
        total_m3_s=_not_below_zero(low.total_m3_s[0], nominal.total_m3_s[0], high.total_m3_s[0]),
        arms_m3_s=arms,
        open_ports_m3_s=open_ports,
        lumens=lumens,
    )


def _stage_lumen(path: LumenPath, low: Readings, nominal: Readings, high: Readings, row: int) -> StageLumen:
    """Put names and intervals to one lumen."""
    flow = _not_below_zero(low.flow_m3_s[row], nominal.flow_m3_s[row], high.flow_m3_s[row])
    velocity = _not_below_zero(low.velocity_m_s[row], nominal.velocity_m_s[row], high.velocity_m_s[row])
    shear = None
    if path.jet is None:
        shear = _not_below_zero(low.shear_pa[row], nominal.shear_pa[row], high.shear_pa[row])
    return StageLumen(
        flow_m3_s=flow,
        velocity_m_s=velocity,
        reynolds=float(nominal.reynolds[row]),
        shear_pa=shear,
        pressure_pa=_interval(low.pressure_pa[row], nominal.pressure_pa[row], high.pressure_pa[row]),
        exchanges_per_min=60.0 * flow.nominal / path.volume_m3,
        filling_time_s=path.volume_m3 / flow.nominal if flow.nominal > 0.0 else math.inf,
        jet=_jet_flow(path, velocity),
    )


def _jet_flow(path: LumenPath, velocity: Interval) -> JetFlow | None:
    """Say how far a nozzle's jet rises, and what share of its water can leave by the far end.

    At most all of the tip's water goes through; at least none, where the jet meets the wall and runs back as a film.
    """
    if path.jet is None:
        return None
    rise_m = velocity.low**2 / (2.0 * STANDARD_GRAVITY_M_S2)
    most = path.jet.share_tip / path.jet.share_inside if rise_m > path.jet.climb_m else 0.0
    return JetFlow(rise_m, path.jet.climb_m, 0.0, most)


def worst_of_stages(load_network: LoadNetwork, stages: dict[str, StageFlow]) -> dict[LumenKey, LumenFlow]:
    """Take of each number of each lumen the stage in which its lower end is lowest.

    Parameters
    ----------
    load_network
        The load's network.
    stages
        Its wet stages by name; at least one.

    Returns
    -------
    dict[LumenKey, LumenFlow]
        Each connected lumen.
    """
    return {
        key: _worst_of_lumen({name: stage.lumens[key] for name, stage in stages.items()}, path)
        for key, path in load_network.lumens.items()
    }


def _worst_of_lumen(stages: dict[str, StageLumen], path: LumenPath) -> LumenFlow:
    flow = min(stages, key=lambda name: stages[name].flow_m3_s.low)
    velocity = min(stages, key=lambda name: stages[name].velocity_m_s.low)
    pressure = min(stages, key=lambda name: stages[name].pressure_pa.low)
    worst_stages = {"flow": flow, "velocity": velocity, "pressure": pressure}
    shear = None
    if path.jet is None:
        shears = {name: lumen.shear_pa for name, lumen in stages.items() if lumen.shear_pa is not None}
        worst_stages["shear"] = min(shears, key=lambda name: shears[name].low)
        shear = shears[worst_stages["shear"]]
    slowest = stages[flow]
    return LumenFlow(
        flow_m3_s=slowest.flow_m3_s,
        velocity_m_s=stages[velocity].velocity_m_s,
        reynolds=slowest.reynolds,
        shear_pa=shear,
        pressure_pa=stages[pressure].pressure_pa,
        exchanges_per_min=slowest.exchanges_per_min,
        filling_time_s=slowest.filling_time_s,
        jet=stages[velocity].jet,
        highest_pressure_pa=max(lumen.pressure_pa.high for lumen in stages.values()),
        volume_m3=path.volume_m3,
        worst_stages=worst_stages,
    )
