"""Which programmes every piece of some sets tolerates and needs, and what excludes the others."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import StageKind, WaterQuality

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import date

    from patency.catalogue import Department, InstructionsVersion, InstrumentType, Programme, Stage
    from patency.quantities import Limit

# Without these activities of ISO 17664-1:2021 a set cannot be brought from the sink to the next patient.
_NEEDED = ("preparation", "cleaning", "disinfection", "drying", "inspection", "packaging", "sterilization")
_NEUTRAL_PH = 7.0
_PUREST = list(WaterQuality)[-1]  # what instructions that state no water have to be taken to ask for
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Exclusion:
    """Why a programme is not for an instrument.

    Parameters
    ----------
    programme
        Key of the programme.
    instrument
        Key of the instrument type, or of instrument type and piece.
    field
        Which field of the instructions, such as ``cleaning.highest_temperature``.
    stated
        What the instructions state there, in words; ``not stated`` where they state nothing.
    has
        What the programme has, in words.
    """

    programme: str
    instrument: str
    field: str
    stated: str
    has: str

    @property
    def line(self) -> str:
        """The exclusion as one line for people."""
        return f"{self.programme}: {self.instrument}, {self.field} {self.stated}, the programme has {self.has}"


@dataclass(frozen=True, slots=True)
class ProgrammeChoice:
    """Programmes for some sets.

    Parameters
    ----------
    allowed
        Programmes that every instrument tolerates and that do all each one needs.
    excluded
        Every reason against every other programme.
    unfit
        Instruments without approved, readable, complete instructions, each with the reason; with one of them no
        programme is allowed.
    """

    allowed: tuple[str, ...]
    excluded: tuple[Exclusion, ...]
    unfit: tuple[str, ...] = ()

    @property
    def why_none(self) -> str:
        """Why there is no programme; empty where there is one."""
        if self.allowed:
            return ""
        said = [*self.unfit, *dict.fromkeys(exclusion.line for exclusion in self.excluded)]
        return "no programme is allowed: " + ("; ".join(said) or "the department has none")


def programmes_for(department: Department, sets: Iterable[str], day: date) -> ProgrammeChoice:
    """Choose the programmes for sets that share a load.

    Parameters
    ----------
    department
        The department.
    sets
        Keys of the sets.
    day
        Which version of the instructions is in force is decided on this day.

    Returns
    -------
    ProgrammeChoice
        The intersection of what all instructions allow. A limit that is not stated counts as not kept.
    """
    instruments = dict.fromkeys(name for key in sets for name in department.sets[key].contents)
    in_force: dict[str, InstructionsVersion] = {}
    unfit = []
    for name in instruments:
        found = instructions_in_force(department, name, day)
        if isinstance(found, str):
            unfit.append(found)
        else:
            in_force[name] = found
    excluded = [
        exclusion
        for key, programme in department.programmes.items()
        for name, version in in_force.items()
        for exclusion in exclusions(department, key, programme, name, version)
    ]
    out = {exclusion.programme for exclusion in excluded}
    allowed = () if unfit else tuple(key for key in department.programmes if key not in out)
    return ProgrammeChoice(allowed, tuple(excluded), tuple(unfit))


def instructions_in_force(department: Department, instrument: str, day: date) -> InstructionsVersion | str:
    """Return the instructions an instrument is processed by on a day, or why there are none.

    Parameters
    ----------
    department
        The department.
    instrument
        Key of the instrument type.
    day
        The day.

    Returns
    -------
    InstructionsVersion | str
        The approved version in force, or the reason why it cannot be used.
    """
    key = department.instruments[instrument].instructions
    if key is None or key not in department.instructions:
        return f"{instrument} has no processing instructions"
    version = department.instructions[key].in_force(day)
    if version is None:
        return f"{instrument}: no version of the instructions {key} is approved on {day.isoformat()}"
    if version.language not in department.languages:
        return f"{instrument}: version {version.version} of {key} is in language {version.language!r}, not read here"
    missing = [activity for activity in _NEEDED if getattr(version, activity) is None]
    if missing:
        return f"{instrument}: version {version.version} of {key} says nothing of {', '.join(missing)}"
    return version


def exclusions(
    department: Department, key: str, programme: Programme, instrument: str, version: InstructionsVersion
) -> Iterator[Exclusion]:
    """Name everything that speaks against a programme for an instrument.

    Parameters
    ----------
    department
        The department.
    key
        Key of the programme.
    programme
        The programme.
    instrument
        Key of the instrument type.
    version
        Its instructions in force.

    Yields
    ------
    Exclusion
        One for each field of the instructions the programme does not keep.
    """
    found = [
        *_lumens(department.instruments[instrument], programme),
        *_cleaning(programme, version),
        *_water(programme, version),
        *_disinfection(programme, version, department.limits.cycle.a0_target),
        *_drying(programme, version),
    ]
    for field, stated, has in found:
        where = f"{instrument}/{field.partition('/')[2]}" if "/" in field else instrument
        yield Exclusion(key, where, field.partition("/")[0], stated, has)


_Fault = tuple[str, str, str]


def _lumens(instrument: InstrumentType, programme: Programme) -> Iterator[_Fault]:
    for name, piece in instrument.pieces.items():
        if piece.lumens and not programme.for_lumens:
            yield f"lumens/{name}", f"{len(piece.lumens)} to be fed", "no water through the carrier's ports"


def _cleaning(programme: Programme, version: InstructionsVersion) -> Iterator[_Fault]:
    rules = version.cleaning
    if rules is None:
        return
    stages = [stage for stage in programme.stages if stage.kind in {StageKind.FLUSH, StageKind.CLEAN, StageKind.RINSE}]
    yield from _too_hot("cleaning", rules.highest_temperature_c, stages)
    for stage in programme.stages:
        if stage.kind.wet and stage.doses is None:
            forbidden = "not stated" if rules.forbidden_agents is None else ", ".join(rules.forbidden_agents) or "none"
            yield "cleaning.forbidden_agents", forbidden, f"what is dosed in {stage.name} is not stated"
    doses = [(stage, dose) for stage in programme.stages for dose in stage.doses or ()]
    for stage, dose in doses:
        has = f"{dose.agent} in {stage.name}"
        if rules.forbidden_agents is None:
            yield "cleaning.forbidden_agents", "not stated", has
        elif dose.agent in rules.forbidden_agents:
            yield "cleaning.forbidden_agents", ", ".join(rules.forbidden_agents), has
        if dose.ph is None:
            yield "cleaning.highest_ph", _ph(rules.highest_ph), f"{has} of unknown pH"
            continue
        has = f"{has} of pH {dose.ph:g}"
        # The upper limit is about alkaline solutions, the lower about acid ones: one side alone may be stated.
        if dose.ph > _NEUTRAL_PH if rules.highest_ph is None else dose.ph > rules.highest_ph:
            yield "cleaning.highest_ph", _ph(rules.highest_ph), has
        if dose.ph < _NEUTRAL_PH if rules.lowest_ph is None else dose.ph < rules.lowest_ph:
            yield "cleaning.lowest_ph", _ph(rules.lowest_ph), has


def _water(programme: Programme, version: InstructionsVersion) -> Iterator[_Fault]:
    rules = version.cleaning
    if rules is None:
        return
    wet = [stage for stage in programme.stages if stage.kind.wet]
    yield from _lesser_water("cleaning.water", rules.water, wet)
    yield from _lesser_water("cleaning.final_rinse_water", rules.final_rinse_water, wet[-1:])
    if not wet:
        yield "cleaning.final_rinse_water", _asked(rules.final_rinse_water), "no water"


def _lesser_water(field: str, stated: WaterQuality | None, stages: list[Stage]) -> Iterator[_Fault]:
    least = _PUREST if stated is None else stated
    for stage in stages:
        if stage.water is None or not stage.water.serves(least):
            yield field, _asked(stated), f"{stage.water or 'unknown'} water in {stage.name}"


def _asked(water: WaterQuality | None) -> str:
    return "not stated" if water is None else str(water)


def _disinfection(programme: Programme, version: InstructionsVersion, site: Limit | None) -> Iterator[_Fault]:
    rules = version.disinfection
    if rules is None:
        return
    stages = [stage for stage in programme.stages if stage.kind is StageKind.DISINFECT]
    yield from _too_hot("disinfection", rules.highest_temperature_c, stages)
    least = rules.least_a0_s if rules.least_a0_s is not None else (site.value if site else None)
    target = programme.a0_target_s
    has = "an unknown A0" if target is None else f"A0 {target:g} s"
    if least is None:
        yield "disinfection.least_a0", "not stated, nor by the site", has
    elif target is None or target < least - _ROUNDING:
        yield "disinfection.least_a0", f"{least:g} s", has


def _drying(programme: Programme, version: InstructionsVersion) -> Iterator[_Fault]:
    rules = version.drying
    if rules is None:
        return
    stages = [stage for stage in programme.stages if stage.kind is StageKind.DRY]
    if not stages:
        yield "drying", "in the machine", "no drying"
    yield from _too_hot("drying", rules.highest_temperature_c, stages)


def _too_hot(activity: str, highest_c: float | None, stages: list[Stage]) -> Iterator[_Fault]:
    if not stages:
        return
    hottest = max(stages, key=lambda stage: stage.temperature_c)
    if highest_c is None or hottest.temperature_c > highest_c + _ROUNDING:
        stated = "not stated" if highest_c is None else f"{highest_c:g} °C"
        yield f"{activity}.highest_temperature", stated, f"{hottest.temperature_c:g} °C in {hottest.name}"


def _ph(limit: float | None) -> str:
    return "not stated" if limit is None else f"{limit:g}"
