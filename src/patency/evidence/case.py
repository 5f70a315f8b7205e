"""All that one verdict rests on, in one value."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeVar

from patency.evidence.criteria import limit_fault
from patency.evidence.machine_sensors import sensors_of_columns
from patency.evidence.running import circulating, running
from patency.evidence.stage_calls import stage_calls
from patency.evidence.timing import GAP_FACTOR

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable
    from datetime import date

    import numpy as np
    from numpy.typing import NDArray

    from patency.catalogue import CycleLimits, Programme
    from patency.evidence.found_stages import StagesFound, StageSpan
    from patency.evidence.moist import Moist
    from patency.evidence.prediction import EyeCheck, LoadMachine, PressurePrediction
    from patency.evidence.record import CycleRecord, Trace
    from patency.evidence.running import Stretch
    from patency.evidence.tap_readings import TapReading
    from patency.quantities import Limit

T = TypeVar("T")


@dataclass(frozen=True, eq=False)
class BareCase:
    """A record with what it can be judged against when nobody says which programme ran.

    Parameters
    ----------
    record
        The record.
    limits
        The site's limits.
    on
        The day of the decision, on which limits must hold.
    moist
        The moist heat found in the record.
    """

    record: CycleRecord
    limits: CycleLimits
    on: date
    moist: Moist

    @property
    def spans(self) -> tuple[StageSpan, ...]:
        """The stages found: none where nobody says which programme ran."""
        return ()

    @property
    def pump_ran(self) -> NDArray[np.bool_] | None:
        """At which samples the circulation pump ran as far as its time counts; None where that is not asked."""
        return None

    @cached_property
    def thermometers(self) -> list[Trace]:
        """The temperature sensors in the chamber and in the load, on which the disinfection is judged."""
        return self.record.of("temperature", "chamber", "load")

    @cached_property
    def a0_target(self) -> Limit | None:
        """The A0 to reach: the site's limit."""
        return self.limits.a0_target

    @cached_property
    def tolerated_gap_s(self) -> float:
        """Longest gap that does not break a stretch of time; without a limit none but the usual interval's jitter."""
        usual = GAP_FACTOR * self.record.axis.usual_s
        limit = self.limits.longest_gap
        if limit is None or limit_fault(limit, "s", self.on):
            return usual
        return max(limit.value, usual)


@dataclass(frozen=True, eq=False)
class Case(BareCase):
    """A record with everything it is judged against.

    Parameters
    ----------
    record
        The record.
    limits
        The site's limits.
    on
        The day of the decision, on which limits must hold.
    moist
        The moist heat found in the record.
    programme
        The programme that should have run.
    found
        The stages found in the record.
    prediction
        The pressures predicted for this load; None where none were computed.
    eye_check
        What was seen at unloading; None where nobody has entered it.
    programme_key
        How records name the programme; None where they use its full name.
    machine
        The machine the load was planned for; None where nobody says.
    alike
        What follows from limits, day, programme, prediction, machine and the sensors described, and from no sample:
        cases that are alike in all of these may share it, so that it is worked out once.
    """

    programme: Programme
    found: StagesFound
    prediction: PressurePrediction | None = None
    eye_check: EyeCheck | None = None
    programme_key: str | None = None
    machine: LoadMachine | None = None
    alike: dict[Hashable, Any] = field(default_factory=dict)

    def once(self, what: Hashable, find: Callable[[], T]) -> T:
        """Return what follows from no sample of the record, worked out once for all cases that are alike.

        Parameters
        ----------
        what
            What it is called.
        find
            What works it out.

        Returns
        -------
        Any
            What was worked out.
        """
        if what not in self.alike:
            self.alike[what] = find()
        found: T = self.alike[what]
        return found

    @property
    def spans(self) -> tuple[StageSpan, ...]:
        """The stages found."""
        return self.found.spans

    @cached_property
    def pump_ran(self) -> NDArray[np.bool_] | None:
        """At which samples the pump ran, by the site's share of its high level; None where nothing tells."""
        share = self.limits.running_share
        return None if share is None or limit_fault(share, "1", self.on) else running(self.record, share.value)

    @cached_property
    def a0_target(self) -> Limit | None:
        """The A0 to reach: the site's limit, or what the programme is designed for where that is more."""
        return self.once("A0", self._a0_target)

    def _a0_target(self) -> Limit | None:
        site, designed = self.limits.a0_target, self.programme.a0_target_s
        if site is None or designed is None or designed <= site.value:
            return site
        return replace(site, value=designed, source=f"{self.programme_source}, more than the site's {site.value:g} s")

    @cached_property
    def programme_source(self) -> str:
        """What a criterion names as source where the programme sets the limit."""
        return self.once("source", lambda: f"programme {self.programme.name}, version {self.programme.version}")

    @cached_property
    def called(self) -> tuple[str, ...]:
        """What each stage of the programme is called."""
        return self.once("called", lambda: stage_calls(self.programme))

    @cached_property
    def sensors(self) -> dict[str, str]:
        """Column of the record to the key of the machine's sensor it stands for; empty where no machine is named."""
        if self.machine is None:
            return {}
        machine = self.machine
        return self.once("sensors", lambda: sensors_of_columns(self.record, machine))

    def circulated(self, span: StageSpan) -> Stretch:
        """Return the part of a stage from the first to the last circulation; all of it where none is known.

        Parameters
        ----------
        span
            The stage.

        Returns
        -------
        tuple
            Its first and last sample.
        """
        part = self._circulated.get(span.position)
        if part is None:
            on = self.found.running if span.stage.kind.wet else None
            found = None if on is None else circulating(on, span.first, span.last)
            part = self._circulated[span.position] = found or (span.first, span.last)
        return part

    @cached_property
    def read(self) -> dict[tuple[float | str, ...], tuple[NDArray[np.float64], NDArray[np.float64]]]:
        """Lowest and highest readings of some thermometers, kept once asked for."""
        return {}

    @cached_property
    def parts(self) -> dict[tuple[str, int, tuple[float, float]], NDArray[np.float64]]:
        """Readings of a sensor in a share of a stage, kept once asked for."""
        return {}

    @cached_property
    def taps(self) -> dict[tuple[str, int], TapReading | str]:
        """What pressure sensors showed in the stages, kept once asked for."""
        return {}

    @cached_property
    def _circulated(self) -> dict[int, Stretch]:
        return {}
