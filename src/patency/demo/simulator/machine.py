"""The simulated machine: what it is made of, and how one cycle truly runs in it. All of it is invented."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import StageKind, WaterQuality
from patency.demo.simulator.faults import (
    ArmDrags,
    ArmStuck,
    Cavitation,
    Fault,
    Foam,
    MissedDose,
    PowerDip,
    PumpPause,
    ShortHold,
    WeakHeater,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from patency.catalogue import Programme, Stage

_ARM_AT_PA = 20_000.0
_WATER_HEAT_CAPACITY = 4180.0  # J/(kg K), close enough from 15 to 95 °C


@dataclass(frozen=True, slots=True)
class MachineModel:
    """A washer-disinfector as one lump of water and metal, heated and losing heat: first order in time.

    Every default is invented, of the size common in the trade.

    Parameters
    ----------
    water_kg
        Water per filling [kg].
    metal_j_k
        Heat capacity of load, carrier and chamber [J/K].
    heater_w
        Power of the water heater [W].
    loss_w_k
        Heat lost to the room [W/K].
    room_c
        Temperature of the room [°C].
    cold_c
        Temperature of the cold supply [°C].
    warm_c
        Temperature of the warm supply, taken for stages of 60 °C and more [°C].
    control_margin_k
        How far above the set temperature the controller aims [K].
    hold_starts_k
        How far below its aim the water may be when the hold timer starts [K].
    air_starts_k
        How far from its aim the drying air may be when the timer of the drying starts [K].
    fill_s
        Time to fill [s].
    drain_s
        Time to drain [s].
    dose_m3_s
        Flow of the dosing pumps [m³/s].
    utility_us_cm
        Conductivity of utility water [µS/cm].
    critical_us_cm
        Conductivity of critical water [µS/cm].
    detergent_us_cm_m3
        Rise of conductivity per volume of agent [µS/cm per m³].
    carried_over
        Share of the old water that stays when the machine drains.
    arm_rpm
        Speed of a spray arm at a pressure of 200 mbar at the circulation [rpm].
    runs_on_s
        How much longer than prescribed the pump runs in each stage [s].
    spread_s
        By how many seconds at most filling and draining take longer or shorter than usual; drawn each time [s].
    priming_s
        For how long the pump runs to fill the pipes before it rests a moment and starts in earnest; zero for never [s].
    """

    water_kg: float = 28.0
    metal_j_k: float = 45e3
    heater_w: float = 12e3
    loss_w_k: float = 25.0
    room_c: float = 22.0
    cold_c: float = 15.0
    warm_c: float = 55.0
    control_margin_k: float = 1.8
    hold_starts_k: float = 0.5
    air_starts_k: float = 5.0
    fill_s: int = 30
    drain_s: int = 20
    dose_m3_s: float = 2e-6
    utility_us_cm: float = 400.0
    critical_us_cm: float = 5.0
    detergent_us_cm_m3: float = 18e6
    carried_over: float = 0.06
    arm_rpm: float = 30.0
    runs_on_s: int = 0
    spread_s: int = 0
    priming_s: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """What truly happened in one cycle, once a second.

    Parameters
    ----------
    time_s
        Shape (n,) [s].
    chamber_c
        Temperature of the water, or of the air while drying, shape (n,) [°C].
    load_c
        Temperature of the load, shape (n,) [°C].
    pressure_pa
        Pressure at the circulation, above the surroundings, shape (n,) [Pa].
    rotation_rpm
        Speed of the spray arms, shape (n,) [rpm].
    conductivity_us_cm
        Conductivity of the water, shape (n,) [µS/cm].
    dosed_m3
        Agent to the volume dosed so far, shape (n,) [m³].
    stages
        Kind of the stage, shape (n,).
    positions
        Position of the stage in the programme, shape (n,).
    """

    time_s: NDArray[np.float64]
    chamber_c: NDArray[np.float64]
    load_c: NDArray[np.float64]
    pressure_pa: NDArray[np.float64]
    rotation_rpm: NDArray[np.float64]
    conductivity_us_cm: NDArray[np.float64]
    dosed_m3: dict[str, NDArray[np.float64]]
    stages: tuple[str, ...]
    positions: NDArray[np.int64]


def run_cycle(
    programme: Programme,
    true_pressures_pa: Mapping[str, float],
    faults: Sequence[Fault] = (),
    machine: MachineModel | None = None,
    rng: np.random.Generator | None = None,
) -> Course:
    """Run a programme in the simulated machine.

    Parameters
    ----------
    programme
        The programme.
    true_pressures_pa
        Name of each wet stage to the pressure that truly stands at the circulation in it [Pa].
    faults
        What goes wrong; errors of sensors change nothing here.
    machine
        The machine; one of common size when left out.
    rng
        Source of the spread of filling and draining; without it they take their usual time.

    Returns
    -------
    Course
        What truly happened.

    Examples
    --------
    >>> from patency.catalogue import Programme
    >>> rinse = {"name": "cold rinse", "kind": "flush", "hold": "60 s", "temperature": "20 °C"}
    >>> programme = Programme.model_validate({"name": "p", "version": "1", "for_lumens": True, "stages": [rinse]})
    >>> course = run_cycle(programme, {"cold rinse": 20000.0})
    >>> course.time_s.size, round(float(course.pressure_pa.max()))
    (111, 20000)
    """
    plant = _Plant(machine or MachineModel(), rng)
    plant.arm_share = min((fault.share for fault in faults if isinstance(fault, ArmDrags)), default=1.0)
    plant.rise_k_s = min((fault.rise_k_s for fault in faults if isinstance(fault, WeakHeater)), default=math.inf)
    for position, stage in enumerate(programme.stages):
        plant.position = position
        plant.arm_stuck |= any(isinstance(f, ArmStuck) and f.stage == stage.name for f in faults)
        if stage.kind.wet:
            plant.wash(stage, true_pressures_pa[stage.name], faults)
        else:
            plant.dry(stage)
    return plant.course()


@dataclass(slots=True)
class _Plant:
    """The state of the machine from second to second, and what it went through so far."""

    machine: MachineModel
    rng: np.random.Generator | None = None
    position: int = 0
    arm_stuck: bool = False
    arm_share: float = 1.0
    rise_k_s: float = math.inf
    chamber_c: float = 0.0
    load_c: float = 0.0
    pressure_pa: float = 0.0
    rotation_rpm: float = 0.0
    conductivity_us_cm: float = 0.0
    dosed_m3: dict[str, float] = field(default_factory=dict)
    past: list[tuple[float, ...]] = field(default_factory=list)
    past_doses: list[dict[str, float]] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    positions: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Start at the room's temperature."""
        self.chamber_c = self.load_c = self.machine.room_c
        self.conductivity_us_cm = self.machine.utility_us_cm

    def wash(self, stage: Stage, pressure_pa: float, faults: Sequence[Fault]) -> None:
        """Fill, circulate, heat, hold and drain."""
        heated = stage.kind is not StageKind.FLUSH
        aim_c = stage.temperature_c + self.machine.control_margin_k
        ours = [fault for fault in faults if getattr(fault, "stage", None) == stage.name]
        missed = {fault.agent for fault in ours if isinstance(fault, MissedDose)}
        rests = [fault for fault in ours if isinstance(fault, PowerDip | PumpPause)]
        hold_s = (
            stage.hold_s * min((fault.share for fault in ours if isinstance(fault, ShortHold)), default=1.0)
            + self.machine.runs_on_s
        )
        swings = next((fault for fault in ours if isinstance(fault, Foam | Cavitation)), None)
        self._fill(stage, pressure_pa)
        due = {dose.agent: 0.0 if dose.agent in missed else dose.volume_m3 for dose in stage.doses or ()}
        held_s, cut_out = -1, False
        while held_s < hold_s:
            if held_s >= 0 or not heated or self.chamber_c >= aim_c - self.machine.hold_starts_k:
                held_s += 1
            rest = next((fault for fault in rests if fault.after_s <= held_s < fault.after_s + fault.lasts_s), None)
            if isinstance(rest, PowerDip) and not cut_out:
                cut_out = True
                self._replace_water(rest.water_lost, self.machine.warm_c)
            power = 0.0 if rest or cut_out or not heated else min(1.0, max(0.0, aim_c - self.chamber_c))
            if not rest:
                self._dose(due)
            reached_pa = 0.0 if rest else pressure_pa * self._share_left(swings)
            self._second(stage, power * self.machine.heater_w, reached_pa)
        for _ in range(self._about(self.machine.drain_s)):
            self._second(stage, 0.0, 0.0)

    def _share_left(self, fault: Foam | Cavitation | None) -> float:
        """Return the share of the pressure that is left, swinging with periods that do not fit each other."""
        if fault is None:
            return 1.0
        periods = (7.3, 11.9, 17.7) if isinstance(fault, Foam) else (2.3, 2.9, 3.7)
        now = float(len(self.past))
        swing = sum(math.sin(2 * math.pi * now / period) for period in periods) / 3
        return max(0.0, 1.0 - fault.lost + (fault.swing if isinstance(fault, Foam) else fault.lost) * swing)

    def _about(self, usual_s: int) -> int:
        """Return a time give or take the machine's spread."""
        if self.rng is None:
            return usual_s
        return usual_s + int(self.rng.integers(-self.machine.spread_s, self.machine.spread_s + 1))

    def dry(self, stage: Stage) -> None:
        """Blow hot air until it was hot for the time prescribed; the load follows slowly."""
        aim_c, held_s = stage.temperature_c + self.machine.control_margin_k, 0
        while held_s < math.ceil(stage.hold_s) + 15:
            held_s += abs(self.chamber_c - aim_c) <= self.machine.air_starts_k
            self.chamber_c += (aim_c - self.chamber_c) / 150.0
            self.load_c += (self.chamber_c - self.load_c) / 300.0
            self._record(stage, 0.0)

    def _fill(self, stage: Stage, pressure_pa: float) -> None:
        warm = stage.temperature_c >= 60.0
        critical = stage.water is WaterQuality.CRITICAL
        fresh = self.machine.critical_us_cm if critical else self.machine.utility_us_cm
        mixed_us_cm = fresh + self.machine.carried_over * (self.conductivity_us_cm - fresh)
        supply_c = self.machine.warm_c if warm else self.machine.cold_c
        water = self.machine.water_kg * _WATER_HEAT_CAPACITY
        mixed_c = (water * supply_c + self.machine.metal_j_k * self.load_c) / (water + self.machine.metal_j_k)
        fill_s = self._about(self.machine.fill_s)
        for second in range(fill_s):
            self.chamber_c += (mixed_c - self.chamber_c) * (second + 1) / fill_s
            self.conductivity_us_cm += (mixed_us_cm - self.conductivity_us_cm) * (second + 1) / fill_s
            self._second(stage, 0.0, 0.0)
        for second in range(2 * self.machine.priming_s):
            self._second(stage, 0.0, pressure_pa if second < self.machine.priming_s else 0.0)

    def _replace_water(self, share: float, supply_c: float) -> None:
        water = share * self.machine.water_kg * _WATER_HEAT_CAPACITY
        self.chamber_c += (supply_c - self.chamber_c) * water / self._heat_capacity

    @property
    def _heat_capacity(self) -> float:
        return self.machine.water_kg * _WATER_HEAT_CAPACITY + self.machine.metal_j_k

    def _dose(self, due: dict[str, float]) -> None:
        for agent, left in due.items():
            given = min(left, self.machine.dose_m3_s)
            due[agent] = left - given
            self.dosed_m3[agent] = self.dosed_m3.get(agent, 0.0) + given
            self.conductivity_us_cm += given * self.machine.detergent_us_cm_m3

    def _second(self, stage: Stage, heat_w: float, pressure_pa: float) -> None:
        loss_w = self.machine.loss_w_k * (self.chamber_c - self.machine.room_c)
        rise_k = min((heat_w - loss_w) / self._heat_capacity, self.rise_k_s)
        self.chamber_c += rise_k
        self.load_c += (self.chamber_c - self.load_c) / 6.0
        self._record(stage, pressure_pa)

    def _record(self, stage: Stage, pressure_pa: float) -> None:
        self.pressure_pa += (pressure_pa - self.pressure_pa) / 2.0
        speed = (
            0.0
            if self.arm_stuck
            else self.arm_share * self.machine.arm_rpm * math.sqrt(max(self.pressure_pa, 0.0) / _ARM_AT_PA)
        )
        self.rotation_rpm += (speed - self.rotation_rpm) / 3.0
        now = (self.chamber_c, self.load_c, self.pressure_pa, self.rotation_rpm, self.conductivity_us_cm)
        self.past.append(now)
        self.past_doses.append(dict(self.dosed_m3))
        self.words.append(stage.kind.value)
        self.positions.append(self.position)

    def course(self) -> Course:
        """Give what was recorded."""
        chamber, load, pressure, rotation, conductivity = np.array(self.past).T
        agents = {agent: np.array([doses.get(agent, 0.0) for doses in self.past_doses]) for agent in self.dosed_m3}
        time = np.arange(float(len(self.past)))
        return Course(
            time, chamber, load, pressure, rotation, conductivity, agents, tuple(self.words), np.array(self.positions)
        )
