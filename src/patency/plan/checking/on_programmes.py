"""Rules on programme and machine: what every instrument tolerates and needs, and what the machine offers."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from patency.catalogue import StageKind, WaterQuality
from patency.plan.checking.finding import Observation
from patency.plan.checking.on_sets import in_force

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue import Cleaning, Disinfection, Drying, InstructionsVersion, Programme, Stage
    from patency.load import Load
    from patency.plan.checking.case import Case

_NEUTRAL_PH = 7.0
_ROUNDING = 1e-9


def machine_offers_programme(case: Case) -> Iterator[Observation]:
    """Find loads with a programme their machine does not offer."""
    for load in case.plan.loads:
        machine = case.machine(load)
        if machine is not None and case.programme(load) is not None and load.programme not in machine.programmes:
            yield Observation(f"{load.machine} does not offer the programme {load.programme}", load.id)


def machine_docks_carrier(case: Case) -> Iterator[Observation]:
    """Find carriers that do not dock in their machine."""
    for load in case.plan.loads:
        machine = case.machine(load)
        if machine is not None and case.carrier(load) is not None and load.carrier not in machine.docks:
            yield Observation(f"{load.carrier} does not dock in {load.machine}", load.id)


def machine_is_of_the_kind(case: Case) -> Iterator[Observation]:
    """Find machines of another kind than the load was planned for."""
    for load in case.plan.loads:
        machine = case.machine(load)
        if machine is not None and case.kind(load) is not None and machine.kind != load.machine_kind:
            sentence = f"{load.machine} is of kind {machine.kind}, the load was planned for {load.machine_kind}"
            yield Observation(sentence, load.id)


def water_for_lumens(case: Case) -> Iterator[Observation]:
    """Find pieces with lumens in a programme that drives no water through the ports."""
    for place in case.places():
        programme = case.programme(place.load)
        if programme is not None and place.type.lumens and not programme.for_lumens:
            sentence = f"it has lumens and {place.load.programme} drives no water through the ports"
            yield Observation(sentence, place.load.id, place.placed.set, place.placed.piece)


def temperatures(case: Case) -> Iterator[Observation]:
    """Find stages hotter than the instructions of an instrument allow; what is not stated is not allowed."""
    for load, instrument, version, programme in _instruments(case):
        for stage in programme.stages:
            activity = {StageKind.DRY: "drying", StageKind.DISINFECT: "disinfection"}.get(stage.kind, "cleaning")
            rules: Cleaning | Disinfection | Drying | None = getattr(version, activity)
            if rules is None:
                continue  # incomplete instructions have a rule of their own
            highest = rules.highest_temperature_c
            if highest is None or stage.temperature_c > highest + _ROUNDING:
                allowed = "no highest temperature is stated" if highest is None else f"allowed are {highest:g} °C"
                has = f"{stage.name} has {stage.temperature_c:g} °C"
                yield Observation(f"{instrument}: {has}, for its {activity} {allowed}", load.id)


def ph(case: Case) -> Iterator[Observation]:
    """Find process chemicals outside the pH an instrument tolerates; beyond neutral only what is stated is allowed."""
    for load, instrument, version, programme in _instruments(case):
        if version.cleaning is None:
            continue
        lowest = _NEUTRAL_PH if version.cleaning.lowest_ph is None else version.cleaning.lowest_ph
        highest = _NEUTRAL_PH if version.cleaning.highest_ph is None else version.cleaning.highest_ph
        for stage in programme.stages:
            for dose in stage.doses or ():
                if dose.ph is None:
                    yield Observation(f"{instrument}: the pH of {dose.agent} in {stage.name} is not known", load.id)
                elif not lowest <= dose.ph <= highest:
                    has = f"{dose.agent} in {stage.name} has pH {dose.ph:g}"
                    yield Observation(f"{instrument}: {has}, allowed is {lowest:g} to {highest:g}", load.id)


def agents(case: Case) -> Iterator[Observation]:
    """Find process chemicals that the instructions of an instrument forbid or say nothing about."""
    for load, instrument, version, programme in _instruments(case):
        forbidden = version.cleaning.forbidden_agents if version.cleaning else []
        for stage in programme.stages:
            if stage.kind.wet and stage.doses is None:
                yield Observation(f"{instrument}: what is dosed in {stage.name} is not known", load.id)
            for dose in stage.doses or ():
                if forbidden is None:
                    yield Observation(f"{instrument}: whether {dose.agent} is allowed is not stated", load.id)
                elif dose.agent.casefold() in {agent.casefold() for agent in forbidden}:
                    yield Observation(f"{instrument}: {dose.agent} in {stage.name} is forbidden", load.id)


def water(case: Case) -> Iterator[Observation]:
    """Find wet stages with lesser water than an instrument asks for; where nothing is stated it asks for the purest."""
    for load, instrument, version, programme in _instruments(case):
        if version.cleaning is not None:
            for stage in programme.stages:
                if stage.kind.wet and _impure(stage.water, version.cleaning.water):
                    yield Observation(_water_words(instrument, stage, version.cleaning.water), load.id)


def final_rinse(case: Case) -> Iterator[Observation]:
    """Find programmes whose last water is lesser than an instrument asks for."""
    for load, instrument, version, programme in _instruments(case):
        if version.cleaning is None:
            continue
        wet = [stage for stage in programme.stages if stage.kind.wet]
        asked = version.cleaning.final_rinse_water
        if not wet:
            yield Observation(f"{instrument}: it is to be rinsed and {load.programme} has no water", load.id)
        elif _impure(wet[-1].water, asked):
            yield Observation(f"{_water_words(instrument, wet[-1], asked)} at the end", load.id)


def disinfection(case: Case) -> Iterator[Observation]:
    """Find programmes whose A0 stays below what an instrument, or else the site, asks for."""
    site = case.department.limits.cycle.a0_target
    for load, instrument, version, programme in _instruments(case):
        if version.disinfection is None:
            continue
        least = version.disinfection.least_a0_s
        if least is None:
            least = site.value if site else math.inf
        held = _a0_s(programme)
        reaches = held if programme.a0_target_s is None else min(held, programme.a0_target_s)
        if reaches < least - 1e-6 * least:
            needed = "neither its instructions nor the site say what is needed"
            needed = f"{least:g} s are needed" if least < math.inf else needed
            yield Observation(f"{instrument}: A0 of {load.programme} is {reaches:.0f} s, {needed}", load.id)


def drying(case: Case) -> Iterator[Observation]:
    """Find programmes that do not dry instruments to be dried in the machine."""
    for load, instrument, version, programme in _instruments(case):
        if version.drying is not None and all(stage.kind is not StageKind.DRY for stage in programme.stages):
            yield Observation(f"{instrument}: it is to be dried and {load.programme} does not dry", load.id)


def _instruments(case: Case) -> Iterator[tuple[Load, str, InstructionsVersion, Programme]]:
    """Walk through the instruments of each load that have instructions in force."""
    for load in case.plan.loads:
        programme = case.programme(load)
        sets = [case.department.sets[name] for name in load.sets if name in case.department.sets]
        for instrument in dict.fromkeys(name for described in sets for name in described.contents):
            version = in_force(case, instrument)
            if version is not None and programme is not None:
                yield load, instrument, version, programme


def _impure(has: WaterQuality | None, asked: WaterQuality | None) -> bool:
    """Compare two kinds of water, from the worse side each: unknown water is the least, an unknown wish the most."""
    if has is None:
        return True
    return has is WaterQuality.UTILITY and asked is not WaterQuality.UTILITY


def _water_words(instrument: str, stage: Stage, asked: WaterQuality | None) -> str:
    needed = "what it asks for is not stated" if asked is None else f"it asks for {asked} water"
    has = "water of unknown quality" if stage.water is None else f"{stage.water} water"
    return f"{instrument}: {stage.name} has {has}, {needed}"


def _a0_s(programme: Programme) -> float:
    """Return the A0 of the disinfection as prescribed: hold time times ten for each 10 K above 80 °C (ISO 15883-1)."""
    stages = [stage for stage in programme.stages if stage.kind is StageKind.DISINFECT]
    return sum(stage.hold_s * 10 ** ((stage.temperature_c - 80.0) / 10.0) for stage in stages)
