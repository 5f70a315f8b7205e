"""The limits of the site: every one a value with source and validity, every one editable."""

from __future__ import annotations

from patency.catalogue.fields import Described
from patency.catalogue.stated_limits import (
    AngleLimit,
    AreaLimit,
    ConductivityLimit,
    FlowLimit,
    LengthLimit,
    NumberLimit,
    PressureLimit,
    RotationLimit,
    ShareLimit,
    TemperatureDifferenceLimit,
    TemperatureLimit,
    TimeLimit,
    VelocityLimit,
    VolumeLimit,
)
from patency.catalogue.steam import SteamLimits


class LoadLimits(Described):
    """Limits on how a load is arranged."""

    drain_angle: AngleLimit | None = None
    """Least slope at which a hollow or a bore counts as draining."""
    arm_clearance: LengthLimit | None = None
    """Least distance between a piece and the volume swept by an arm."""
    hose_bend_ratio: NumberLimit | None = None
    """Least bend radius of a hose as a multiple of its outer diameter."""
    nozzle_share_of_bore: ShareLimit | None = None
    """Widest injector nozzle as a share of the bore it stands in."""
    nozzle_depth: LengthLimit | None = None
    """Least depth by which an injector nozzle stands inside a bore."""
    tipping_reserve: NumberLimit | None = None
    """Least ratio of holding to tipping moment of a piece in an inclined position."""
    longest_chain: NumberLimit | None = None
    """Most adapters in one connector chain."""
    struck_share: ShareLimit | None = None
    """Least share of a piece's outer surface that jets strike directly."""
    push_share: ShareLimit | None = None
    """Largest share of its weight with which jets may push a piece that lies free."""
    contact_area: AreaLimit | None = None
    """Largest area with which one piece may lie on another."""
    kept_water: VolumeLimit | None = None
    """Most water that may stay in the hollows of a piece."""


class FlowLimits(Described):
    """Limits and default tolerances of the flow calculation."""

    least_shear: PressureLimit | None = None
    """Wall shear stress a connected lumen should have where its instructions state nothing."""
    least_flow: FlowLimit | None = None
    least_velocity: VelocityLimit | None = None
    least_exchanges: NumberLimit | None = None
    """Exchanges of the lumen's volume per minute."""
    bore_tolerance: ShareLimit | None = None
    """Half width of the tolerance of a bore where none is stated."""
    rod_tolerance: ShareLimit | None = None
    roughness: LengthLimit | None = None
    """Equivalent sand roughness of drawn tube where none is stated."""
    default_loss: NumberLimit | None = None
    """Most that a fitting of a port, an adapter or a stretch of a lumen loses where its loss is not stated, in velocity
    heads; reckoned as anything from nothing to this much."""
    roughness_factor: NumberLimit | None = None
    """Factor by which roughness may be larger or smaller."""
    loss_tolerance: ShareLimit | None = None
    """Half width of the tolerance of local losses."""
    pump_tolerance: ShareLimit | None = None
    """Half width of the tolerance of the pump's head."""


class CycleLimits(Described):
    """Limits for the verdict on a cycle."""

    a0_target: TimeLimit | None = None
    disinfection_band: TemperatureDifferenceLimit | None = None
    """Widest excess over the set temperature during disinfection."""
    calibration_interval: TimeLimit | None = None
    """How long the calibration of a sensor counts."""
    first_rinse_highest: TemperatureLimit | None = None
    """Highest temperature of the first rinse, below which blood protein does not fix."""
    cleaning_temperature_tolerance: TemperatureDifferenceLimit | None = None
    dose_tolerance: ShareLimit | None = None
    final_rinse_conductivity: ConductivityLimit | None = None
    last_water_share: ShareLimit | None = None
    """Last share of the last circulation in which its conductivity counts; before it water still mixes."""
    rinse_carry_over: ShareLimit | None = None
    """Most that a rinse without a dose may conduct at its end, as a share of the wet stage before."""
    fastest_heating: TemperatureDifferenceLimit | None = None
    """Most by which a thermometer may rise within a minute of a wet stage."""
    slowest_heating: TemperatureDifferenceLimit | None = None
    """Least by which every thermometer rises in a minute on average while a stage heats up to its temperature."""
    rinse_temperature_tolerance: TemperatureDifferenceLimit | None = None
    """How far the water at the end of a rinse may lie below or above its set temperature."""
    arm_rotation_least: RotationLimit | None = None
    arm_rotation_highest: RotationLimit | None = None
    arm_readings_aside: ShareLimit | None = None
    """Share of an arm's readings in a stage that may lie below its least speed, so that no single one decides."""
    arm_speed_tolerance: ShareLimit | None = None
    """How far an arm's speed may lie off the one expected of it at the pressure predicted for the load."""
    unsteady_share: ShareLimit | None = None
    """First and last share of a stage's circulation, in which pump and arms start and stop; not judged."""
    running_share: ShareLimit | None = None
    """Share of its high level above which the circulation's signal counts as water that circulates."""
    pressure_swing: ShareLimit | None = None
    """Largest standard deviation of the circulation pressure in a stage, as a share of it: more is foam or air."""
    drying_temperature_tolerance: TemperatureDifferenceLimit | None = None
    """How far the drying air may lie below or above its set temperature."""
    longest_gap: TimeLimit | None = None
    """Longest gap in a record that can still be judged."""
    false_alarms: ShareLimit | None = None
    """Share of cycles without fault in which the alarm on the water's readings and those of the arms may go off, all
    together."""
    false_rejects: ShareLimit | None = None
    """Share of cycles without fault that these alarms may refuse, all together; a weaker alarm asks for a look. Every
    alarm refuses where it is not stated."""
    fixed_pressure_window: ShareLimit | None = None
    """A fixed window on pressure, reported for comparison only; it decides nothing."""


class WorkLimits(Described):
    """Limits and rules of the work by hand."""

    soil_age: TimeLimit | None = None
    """Longest time from the end of use to the wash: a clock of the site, not a law of nature."""
    flush_exchanges: NumberLimit | None = None
    """Least volume of a flush by hand, as a multiple of the lumen's volume, where the instructions state none."""
    brush_oversize: ShareLimit | None = None
    """How much wider than the bore a brush may be; it is never narrower."""
    shelf_life: TimeLimit | None = None
    """How long after packing a set may be issued."""


class SiteLimits(Described):
    """All limits of a site. One left out is unknown, and what depends on it stays unanswered."""

    load: LoadLimits = LoadLimits()
    flow: FlowLimits = FlowLimits()
    cycle: CycleLimits = CycleLimits()
    steam: SteamLimits = SteamLimits()
    work: WorkLimits = WorkLimits()
