"""The records that get damaged: of each kind of machine a good one, one that must not be met, and what they rest on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from patency.errors import InputErrors
from patency.evidence import CycleAgainst, SteamAgainst, read_description, read_entered, read_record
from tests.evidence import cycles, steam_cycles

if TYPE_CHECKING:
    from patency.evidence import CycleRecord, Evidence, RecordDescription, SteamEvidence


@dataclass(frozen=True)
class Damageable:
    """Two records of a kind of machine before they are damaged, and what they are judged against."""

    description: str
    good: str
    """Meets every criterion."""
    bad: str
    """Whatever is done to it, it must not be met."""
    against: CycleAgainst | SteamAgainst

    @cached_property
    def described(self) -> RecordDescription:
        """The description, read."""
        return read_description(self.description)

    def read(self, text: str, name: str = "r.csv") -> CycleRecord:
        """Read a record."""
        return read_record(text, self.described, name)

    def judged(self, text: str) -> Evidence | SteamEvidence | list[str]:
        """Judge a record; the faults where it is refused."""
        try:
            record = self.read(text)
        except InputErrors as refused:
            return [fault.line for fault in refused.faults]
        return self.against.judge(record)


def _washed() -> Damageable:
    good = replace(cycles.good_cycle(), rows=[row for row in range(cycles.STARTS["end"]) if row % 4])

    def colder(_: object, values: np.ndarray) -> None:
        np.minimum(values, 84.0, out=values)

    against = CycleAgainst(
        limits=cycles.LIMITS,
        on=cycles.TODAY,
        programme=cycles.PROGRAMME,
        prediction=cycles.PREDICTION,
        machine=cycles.MACHINE,
        eye_check=cycles.ALL_SEEN,
    )
    return Damageable(good.description, good.text(), good.with_column("T2", colder).text(), against)


def _sterilized() -> Damageable:
    """Write every second sample; the pressure in mbar and a column of stages last, as the washer's are."""
    first, follows, last = steam_cycles.PLATEAU

    def in_mbar(values: np.ndarray) -> None:
        values *= 10.0

    good = steam_cycles.good_steam().bent("P", in_mbar)
    good = good.described("unit: kPa", "unit: mbar").described("uncertainty: 0.5", "uncertainty: 5")
    good = replace(good, time=good.time[::2], columns={name: values[::2] for name, values in good.columns.items()})

    def falls_back(values: np.ndarray) -> None:
        values[(follows + 100) // 2 : (last + 1) // 2] = 133.0

    steps = ["heat" if time < first else "hold" if time <= last else "dry" for time in good.time]
    texts = []
    for cycle in (good, good.bent("T1", falls_back)):
        header, *rows = cycle.text().splitlines()
        texts.append("\n".join([f"{header},step", *map(",".join, zip(rows, steps, strict=True)), ""]))
    against = SteamAgainst(
        limits=steam_cycles.LIMITS,
        on=steam_cycles.TODAY,
        programme=steam_cycles.PROGRAMME,
        programme_key="wrapped",
        entered=read_entered(steam_cycles.CHECKS),
    )
    description = good.description.replace("machine:", "  step: {quantity: stage}\nmachine:")
    return Damageable(description, texts[0], texts[1], against)


def _without_stages(washed: Damageable) -> Damageable:
    """Leave the machine's words for its stages undescribed, so that the signals have to tell them."""
    return replace(washed, description=washed.description.replace("  step: {quantity: stage}\n", ""))


DAMAGEABLE = {"washer-disinfector": _washed(), "steam sterilizer": _sterilized()}
WITHOUT_STAGES = _without_stages(DAMAGEABLE["washer-disinfector"])
