"""A cycle record as a value: what was measured, when, and everything that was noticed while reading it."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date, datetime

    import numpy as np
    from numpy.typing import NDArray

    from patency.evidence.description import RecordDescription
    from patency.evidence.findings import Finding
    from patency.evidence.timing import TimeAxis


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """What one sensor measured.

    Parameters
    ----------
    name
        The column's name.
    quantity
        ``temperature``, ``pressure``, ``rotation``, ``conductivity`` or ``dosed volume``.
    place
        Where it measures.
    values
        One value per kept sample, shape (n,), in °C, Pa, rpm, µS/cm or m³; not-a-number where none is usable.
    uncertainty
        Expanded uncertainty in the same unit (K for temperatures); None when not known.
    gauge
        For pressures whether they are measured against the surroundings; True for all else.
    calibrated
        Day of its last calibration; None where not known.
    beside
        Of a second recorder's pressure: the column of the machine's sensor that measures the same; None for all else.
    """

    name: str
    quantity: str
    place: str
    values: NDArray[np.float64]
    uncertainty: float | None
    gauge: bool = True
    calibrated: date | None = None
    beside: str | None = None

    def at(self, *places: str) -> bool:
        """Tell whether the sensor sits at one of the places: its place begins with that word.

        Parameters
        ----------
        places
            Words such as ``chamber`` or ``load``.

        Returns
        -------
        bool
            True for ``load`` and for ``load, upper level`` when asked for ``load``.
        """
        return _sits_at(self.place, places)


@lru_cache(maxsize=1024)
def _sits_at(place: str, words: tuple[str, ...]) -> bool:
    folded = place.casefold()
    return any(folded == word or folded.startswith((f"{word} ", f"{word},")) for word in words)


@dataclass(frozen=True, eq=False)
class CycleRecord:
    """A record, read.

    Parameters
    ----------
    description
        Its description.
    started
        Moment of the first sample; None where the record counts seconds only.
    axis
        The time axis of the n samples with a usable stamp.
    lines
        Line of each kept sample in the text, shape (n,); its row where the record is no text.
    traces
        Column name to what its sensor measured.
    stages
        The stage the machine named for each kept sample, empty where it named none; None without such a column.
    others
        Columns without description, cell by cell as written, one for every row of the text.
    findings
        What was noticed and how it was handled.
    sha256
        Digest of the record as it came, in hexadecimal.
    """

    description: RecordDescription
    started: datetime | None
    axis: TimeAxis
    lines: NDArray[np.int64]
    traces: dict[str, Trace]
    stages: tuple[str, ...] | None
    others: dict[str, tuple[str, ...]]
    findings: tuple[Finding, ...]
    sha256: str
    _asked: dict[tuple[str, ...], tuple[Trace, ...]] = field(default_factory=dict, init=False, repr=False)

    @property
    def time_s(self) -> NDArray[np.float64]:
        """Elapsed time of the samples, shape (n,), never falling [s]."""
        return self.axis.elapsed_s

    def of(self, quantity: str, *places: str) -> list[Trace]:
        """Return the traces of a quantity, at certain places where some are named.

        Parameters
        ----------
        quantity
            Such as ``temperature``.
        places
            Words such as ``chamber``; none means every place.

        Returns
        -------
        list
            In the order of the description.
        """
        found = self._asked.get((quantity, *places))
        if found is None:
            of = (trace for trace in self.traces.values() if trace.quantity == quantity)
            found = self._asked[quantity, *places] = tuple(one for one in of if not places or one.at(*places))
        return list(found)
