"""Work by hand before the wash: soak, ultrasound, flush, brush; how long, how much, how wide, and what not to do."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from patency.catalogue import AnnulusSegment
from patency.ledger import Kind, Refused, SetState
from patency.steps.at_the_bench.permission import SOILED, not_permitted
from patency.steps.at_the_bench.workplace import note, notes_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from patency.catalogue import InstrumentType, Lumen, Preparation
    from patency.ledger import Circumstances
    from patency.quantities import Limit
    from patency.steps.at_the_bench.workplace import Workplace

_NEWEST = 400
_FORM = "treatment"
CAUTIONS = (
    "Cold water first: warm water can fix protein.",
    "Baths: gloves, face shield; never mix agents; keep to the concentration on the container.",
    "Flush and brush under water, so that nothing splashes.",
)
"""Shown before work with water, chemicals and sharps (common practice)."""


@dataclass(frozen=True, slots=True)
class Flush:
    """A flush by hand.

    Parameters
    ----------
    lumen
        Which lumen.
    volume_m3
        Least volume [m³]; None where nobody states how many times the lumen's own volume it has to be.
    exchanges
        That number.
    source
        Who states it.
    """

    lumen: str
    volume_m3: float | None
    exchanges: float | None
    source: str


@dataclass(frozen=True, slots=True)
class Brush:
    """A brush for a bore.

    Parameters
    ----------
    lumen
        Which lumen.
    narrowest_m, widest_m
        Least and largest diameter of the brush [m]; ``widest_m`` is None where the site does not state it.
    length_m
        Least length of the brush with its stem [m].
    """

    lumen: str
    narrowest_m: float
    widest_m: float | None
    length_m: float


@dataclass(frozen=True, slots=True)
class Bath:
    """A time in a bath, with its timer.

    Parameters
    ----------
    name
        ``soak`` or ``ultrasound``.
    time
        Least time.
    started
        When somebody started it; None where nobody did.
    ended
        When it was over and somebody said so; None before.
    """

    name: str
    time: timedelta
    started: datetime | None
    ended: datetime | None

    def left(self, now: datetime) -> timedelta:
        """Say how much of it is left.

        Parameters
        ----------
        now
            The time.

        Returns
        -------
        timedelta
            Nothing where it is over, all of it where it was not started.
        """
        if self.ended is not None:
            return timedelta()
        gone = now - self.started if self.started else timedelta()
        return max(self.time - gone, timedelta())


@dataclass(frozen=True, slots=True)
class Treatment:
    """What one kind of instrument needs before the wash.

    Parameters
    ----------
    instrument, name, count
        Which kind, what it is called, how many the set has.
    version
        The version of its instructions; empty where none is in force, and then nothing of it is done.
    steps
        What its instructions say.
    baths
        Times in baths.
    flushes, brushes
        For each of its lumens.
    not_allowed
        What must not be done to it.
    """

    instrument: str
    name: str
    count: int
    version: str
    steps: tuple[str, ...]
    baths: tuple[Bath, ...]
    flushes: tuple[Flush, ...]
    brushes: tuple[Brush, ...]
    not_allowed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SetTreatment:
    """What a set needs before the wash: cautions first, then each kind of instrument."""

    set_key: str
    cautions: tuple[str, ...]
    treatments: tuple[Treatment, ...]


def show_treatment(workplace: Workplace, set_key: str, now: datetime) -> SetTreatment | Refused:
    """Show what a set needs before the wash.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set.
    now
        The time, with its zone.

    Returns
    -------
    SetTreatment or Refused
        One entry for each kind of instrument, in the order of the set's list.
    """
    found = workplace.set_of(set_key)
    if isinstance(found, Refused):
        return found
    timers = _timers(workplace, set_key)
    kind = workplace.department.sets.get(found.set_type)
    treatments = [
        _treatment(workplace, key, count, timers, now.date()) for key, count in (kind.contents if kind else {}).items()
    ]
    return SetTreatment(set_key, CAUTIONS, tuple(treatments))


def _treatment(
    workplace: Workplace, key: str, count: int, timers: dict[tuple[str, str], dict[str, datetime]], day: date
) -> Treatment:
    department = workplace.department
    instrument = department.instruments[key]
    instructions = department.instructions.get(instrument.instructions or "")
    version = instructions.in_force(day) if instructions else None
    said = version.preparation if version else None
    return Treatment(
        instrument=key,
        name=instrument.name,
        count=count,
        version=version.version if version else "",
        steps=tuple(said.steps) if said else (),
        baths=tuple(_baths(said, key, timers)) if said else (),
        flushes=tuple(_flushes(instrument, said, department.limits.work.flush_exchanges, day)),
        brushes=tuple(_brushes(instrument, department.limits.work.brush_oversize, day)),
        not_allowed=tuple(_not_allowed(said)),
    )


def _baths(said: Preparation, instrument: str, timers: dict[tuple[str, str], dict[str, datetime]]) -> Iterator[Bath]:
    for name, time_s in (("soak", said.soak_s), ("ultrasound", said.ultrasound_s)):
        if isinstance(time_s, float):
            timer = timers.get((instrument, name), {})
            yield Bath(name, timedelta(seconds=time_s), timer.get("started"), timer.get("ended"))


def _not_allowed(said: Preparation | None) -> Iterator[str]:
    if said is None:
        yield "no instructions in force: stop and ask"
    elif said.ultrasound_s == "forbidden":
        yield "no ultrasound: its instructions forbid it"
    elif said.ultrasound_s is None:
        yield "no ultrasound: its instructions do not mention it"


def _lumens(instrument: InstrumentType) -> Iterator[tuple[str, Lumen]]:
    for piece in instrument.pieces.values():
        for name, lumen in piece.lumens.items():
            yield f"{piece.name}, {name}" if len(instrument.pieces) > 1 else name, lumen


def _flushes(instrument: InstrumentType, said: Preparation | None, limit: Limit | None, day: date) -> Iterator[Flush]:
    exchanges, source = None, "not stated: ask"
    if said is not None and said.flush_exchanges is not None:
        exchanges, source = said.flush_exchanges, "its instructions"
    elif limit is not None and limit.holds_on(day):
        exchanges, source = limit.value, limit.source
    for name, lumen in _lumens(instrument):
        volume = volume_of(lumen)
        yield Flush(name, exchanges * volume if exchanges is not None else None, exchanges, source)


def volume_of(lumen: Lumen) -> float:
    """Compute the volume of a lumen at its largest sizes, so that a flush is never too small.

    Parameters
    ----------
    lumen
        The lumen.

    Returns
    -------
    float
        Volume [m³]: of each stretch a quarter of pi, the square of its bore less that of its rod, its length.
    """
    volume = 0.0
    for segment in lumen.segments:
        if isinstance(segment, AnnulusSegment):
            wide = segment.outer_m.nominal + (segment.outer_m.plus_minus or 0.0)
            rod = segment.inner_m.nominal - (segment.inner_m.plus_minus or 0.0)
        else:
            wide, rod = segment.bore_m.nominal + (segment.bore_m.plus_minus or 0.0), 0.0
        length = segment.length_m.nominal + (segment.length_m.plus_minus or 0.0)
        volume += math.pi / 4 * (wide**2 - rod**2) * length
    return volume


def _brushes(instrument: InstrumentType, limit: Limit | None, day: date) -> Iterator[Brush]:
    """Yield a brush for each lumen that is a plain bore; past a rod no brush goes."""
    more = limit.value if limit is not None and limit.holds_on(day) else None
    for name, lumen in _lumens(instrument):
        bores = [segment.bore_m.nominal for segment in lumen.segments if segment.shape == "bore"]
        if len(bores) == len(lumen.segments):
            widest = min(bores) * (1.0 + more) if more is not None else None
            yield Brush(name, max(bores), max(widest, *bores) if widest else None, lumen.length_m)


def _timers(workplace: Workplace, set_key: str) -> dict[tuple[str, str], dict[str, datetime]]:
    """Read the timers that were started since the set was last received."""
    story = workplace.ledger.story("set", set_key, _NEWEST)
    moves = [event for event in story if event["event"] == "set moved"]
    since = max((event["seq"] for event in moves if event["what"]["to"] == SetState.RECEIVED), default=0)
    timers: dict[tuple[str, str], dict[str, datetime]] = {}
    for one in notes_of(workplace, Kind.SET, set_key, _FORM, _NEWEST):
        if one["seq"] > since and one["act"] in {"started", "ended"}:
            at = datetime.fromisoformat(one["at"])
            timers.setdefault((one["instrument"], one["bath"]), {})[one["act"]] = at
            if one["act"] == "started":
                timers[one["instrument"], one["bath"]].pop("ended", None)
    return timers


def start_bath(
    workplace: Workplace, set_key: str, instrument: str, bath: str, around: Circumstances
) -> SetTreatment | Refused:
    """Start the timer of a bath.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set.
    instrument
        Which kind of instrument.
    bath
        ``soak`` or ``ultrasound``.
    around
        Who, when, where, under which key.

    Returns
    -------
    SetTreatment or Refused
        Everything about the set's treatment as it is now.
    """
    return _act(workplace, set_key, (instrument, bath), "started", around)


def end_bath(
    workplace: Workplace, set_key: str, instrument: str, bath: str, around: Circumstances
) -> SetTreatment | Refused:
    """End a bath, not before its time.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set.
    instrument
        Which kind of instrument.
    bath
        ``soak`` or ``ultrasound``.
    around
        Who, when, where, under which key.

    Returns
    -------
    SetTreatment or Refused
        Everything about the set's treatment as it is now; refused where time is left.
    """
    return _act(workplace, set_key, (instrument, bath), "ended", around)


def _act(
    workplace: Workplace, set_key: str, which: tuple[str, str], act: str, around: Circumstances
) -> SetTreatment | Refused:
    shown = show_treatment(workplace, set_key, around.at)
    if isinstance(shown, Refused) or workplace.did(around):
        return shown
    instrument, name = which
    baths = {(one.instrument, bath.name): bath for one in shown.treatments for bath in one.baths}
    bath = baths.get(which)
    where = f"{name} of {instrument}"
    if bath is None:
        return Refused.because(where, "is not in its instructions", "a bath that they name")
    if act == "ended" and (bath.started is None or bath.left(around.at)):
        left = math.ceil(bath.left(around.at).total_seconds())
        told = f"has {left} s left" if bath.started else "was not started"
        return Refused.because(where, told, f"{bath.time.total_seconds():.0f} s in the bath")
    refused = not_permitted(workplace, around, SOILED, {workplace.department.instruments[instrument].family})
    command = note(Kind.SET, set_key, _FORM, act=act, instrument=instrument, bath=name)
    return refused or workplace.write(around, [command]) or show_treatment(workplace, set_key, around.at)


def note_by_hand(
    workplace: Workplace, set_key: str, instrument: str, done: str, around: Circumstances
) -> SetTreatment | Refused:
    """Write down that something was done by hand: flushed, brushed, wiped.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set.
    instrument
        Which kind of instrument.
    done
        What was done, in a word or two.
    around
        Who, when, where, under which key.

    Returns
    -------
    SetTreatment or Refused
        Everything about the set's treatment as it is now.
    """
    known = workplace.department.instruments.get(instrument)
    if known is None:
        return Refused.because(f"instrument {instrument}", "is not known", "one of the set's list")
    refused = None
    if not workplace.did(around):
        refused = not_permitted(workplace, around, SOILED, {known.family}) or workplace.write(
            around, [note(Kind.SET, set_key, _FORM, act="done", instrument=instrument, done=done)]
        )
    return refused or show_treatment(workplace, set_key, around.at)
