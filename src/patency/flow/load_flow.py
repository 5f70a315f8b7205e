"""What the flow calculation says of a load: every wet stage, and for every lumen the stage that is worst for it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.flow.from_load import LoadNetwork
    from patency.flow.lumen_paths import LumenKey
    from patency.quantities import Interval, Limit


@dataclass(frozen=True, slots=True)
class JetFlow:
    """The jet of a nozzle that stands in the open end of a bore.

    What runs through such a bore is a jet in air and a film on the wall. The jet's flow and velocity are known; how
    much of it leaves by the far end and how much falls back along the wall is not, and neither is the wall's shear
    stress.

    Parameters
    ----------
    rise_m
        Height to which the jet would rise freely, at the lower end of its velocity [m].
    climb_m
        Height from the nozzle's tip to the far end of the bore [m].
    share_through_low, share_through_high
        Least and most of the water delivered into the bore that can leave by its far end [-].
    """

    rise_m: float
    climb_m: float
    share_through_low: float
    share_through_high: float

    @property
    def reaches_the_far_end(self) -> bool:
        """Whether the jet would rise freely beyond the far end of the bore."""
        return self.rise_m > self.climb_m


@dataclass(frozen=True, slots=True)
class StageLumen:
    """The water in one lumen in one stage.

    Parameters
    ----------
    flow_m3_s
        Flow into the lumen [m³/s]; over a nozzle the nozzle's water that leaves inside the bore.
    velocity_m_s
        Smallest mean velocity along the lumen [m/s]; over a nozzle the velocity of its jet.
    reynolds
        Smallest Reynolds number along the lumen [-]; over a nozzle that of its jet.
    shear_pa
        Smallest wall shear stress along the lumen, as the mean over the wall's circumference [Pa]; None over a
        nozzle, where it is not known.
    pressure_pa
        Gauge pressure at the connection, its velocity head included [Pa]; over a nozzle at the nozzle's foot.
    exchanges_per_min
        How often the flow exchanges the lumen's volume [1/min], at the nominal flow.
    filling_time_s
        Time the flow needs to fill the lumen's volume [s], at the nominal flow; infinite where nothing flows.
    jet
        The jet, where a nozzle feeds the lumen.
    """

    flow_m3_s: Interval
    velocity_m_s: Interval
    reynolds: float
    shear_pa: Interval | None
    pressure_pa: Interval
    exchanges_per_min: float
    filling_time_s: float
    jet: JetFlow | None = None


@dataclass(frozen=True, slots=True)
class StageFlow:
    """One wet stage.

    Parameters
    ----------
    temperature_c
        Temperature of its water [°C].
    circulation_pa
        Gauge pressure at the circulation sensor, its velocity head included, reckoned at the level of the sump's
        water [Pa].
    total_m3_s
        Flow of the pump [m³/s].
    arms_m3_s
        Flow of each spray arm [m³/s].
    open_ports_m3_s
        Flow of each port at which nothing stands and that no cap closes [m³/s].
    lumens
        Each connected lumen, by set, piece and lumen.
    """

    temperature_c: float
    circulation_pa: Interval
    total_m3_s: Interval
    arms_m3_s: Mapping[str, Interval]
    open_ports_m3_s: Mapping[str, Interval]
    lumens: Mapping[LumenKey, StageLumen]


@dataclass(frozen=True, slots=True)
class LumenFlow:
    """The water in one lumen over all wet stages: of each number the stage in which its lower end is lowest.

    Parameters
    ----------
    flow_m3_s, velocity_m_s, reynolds, shear_pa, pressure_pa, exchanges_per_min, filling_time_s, jet
        As of a stage.
    highest_pressure_pa
        Highest upper end of the pressure at the connection in any stage [Pa].
    volume_m3
        Volume of the lumen [m³].
    worst_stages
        Name of the stage of each number: ``flow``, ``velocity``, ``shear``, ``pressure``.
    """

    flow_m3_s: Interval
    velocity_m_s: Interval
    reynolds: float
    shear_pa: Interval | None
    pressure_pa: Interval
    exchanges_per_min: float
    filling_time_s: float
    jet: JetFlow | None
    highest_pressure_pa: float
    volume_m3: float
    worst_stages: Mapping[str, str]

    @property
    def dry(self) -> bool:
        """Whether nothing flows in its worst stage."""
        return self.flow_m3_s.nominal <= 0.0


@dataclass(frozen=True, slots=True)
class LoadFlow:
    """The water in a load.

    Parameters
    ----------
    stages
        Each wet stage by its name; a name that comes again gets a number behind it.
    lumens
        Each connected lumen, by set, piece and lumen, in the stage that is worst for it.
    hose_off_pressure_change_pa
        For each stage the lowest and the highest change of the circulation pressure when any one hose comes off its
        port or its piece [Pa], a fall negative; empty where no lumen hangs on a hose or intervals were not computed.
    network
        The load's network in its first wet stage, with the maps from lumens to it.
    defaults
        The site's defaults the calculation stands on, by name; None where the site states none.
    with_intervals
        Whether the intervals were computed; else both ends are the nominal value.
    """

    stages: Mapping[str, StageFlow]
    lumens: Mapping[LumenKey, LumenFlow]
    hose_off_pressure_change_pa: Mapping[str, tuple[float, float]]
    network: LoadNetwork
    defaults: Mapping[str, Limit | None]
    with_intervals: bool


def predicted_pressures(load_flow: LoadFlow) -> dict[str, Interval]:
    """Return the pressure to expect at the circulation sensor in each wet stage of this very load.

    Parameters
    ----------
    load_flow
        The water in the load.

    Returns
    -------
    dict[str, Interval]
        Stage to gauge pressure, reckoned at the level of the sump's water [Pa].
    """
    return {name: stage.circulation_pa for name, stage in load_flow.stages.items()}
