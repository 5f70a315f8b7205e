"""The samples of a record as columns that can be kept, and the record they are samples of, to the last bit."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.description import PressureColumn, SensorColumn
from patency.evidence.reading import STAGE_WORDS
from patency.evidence.record import CycleRecord, Trace
from patency.evidence.timing import Spacing, TimeAxis
from patency.evidence.units import to_inside

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from patency.evidence.description import RecordDescription

_WORDS = ("", *sorted(frozenset.union(*STAGE_WORDS)))
_NOT_READ = np.array("not read")  # whoever computes with it fails
_NOTHING = np.array([], dtype=np.int64)


@dataclass(frozen=True, slots=True, eq=False)
class KeptAxis:
    """What beside the elapsed time makes a time axis.

    Parameters
    ----------
    usual_s
        Usual interval [s].
    clock_steps
        Intervals in which the clock was set back, as positions.
    started
        Moment of the first sample; None where the record counts seconds only.
    """

    usual_s: float
    clock_steps: tuple[int, ...]
    started: datetime | None = None

    def as_text(self) -> str:
        """Write it as JSON.

        Returns
        -------
        str
            One mapping.
        """
        started = None if self.started is None else self.started.isoformat()
        return json.dumps({"usual_s": self.usual_s, "clock_steps": self.clock_steps, "started": started})


def axis_of_text(text: str) -> KeptAxis:
    """Read what `KeptAxis.as_text` wrote.

    Parameters
    ----------
    text
        The JSON; earlier editions of the package kept no beginning.

    Returns
    -------
    KeptAxis
        The same value.
    """
    kept = json.loads(text)
    started = kept.get("started")
    at = None if started is None else datetime.fromisoformat(started)
    return KeptAxis(kept["usual_s"], tuple(kept["clock_steps"]), at)


def axis_kept(record: CycleRecord) -> KeptAxis:
    """Return what beside the elapsed time makes a record's time axis.

    Parameters
    ----------
    record
        The record.

    Returns
    -------
    KeptAxis
        Usual interval, clock steps and beginning.
    """
    steps = np.flatnonzero(record.axis.spacing == Spacing.CLOCK_STEP)
    return KeptAxis(record.axis.usual_s, tuple(steps.tolist()), record.started)


def words_as_numbers(record: CycleRecord) -> NDArray[np.int8] | None:
    """Write the machine's words for its stages as small numbers.

    Parameters
    ----------
    record
        The record.

    Returns
    -------
    numpy.ndarray or None
        One for each sample, shape (n,); None where the record has no stage column.
    """
    if record.stages is None:
        return None
    return np.array([_WORDS.index(word) for word in record.stages], dtype=np.int8)


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """What records of one description share.

    Parameters
    ----------
    description
        The description.
    traces
        Column of each sensor to what is said of it, without readings: whoever computes with them fails.
    """

    description: RecordDescription
    traces: dict[str, Trace]


def layout_of(description: RecordDescription) -> Layout:
    """Tell what records of one description share.

    Parameters
    ----------
    description
        The description.

    Returns
    -------
    Layout
        To make records of.
    """
    columns = description.columns.items()
    return Layout(description, {name: _trace(name, one) for name, one in columns if isinstance(one, SensorColumn)})


def record_of_samples(
    layout: Layout,
    kept: KeptAxis,
    time_s: NDArray[np.float64],
    values: Mapping[str, NDArray[np.float64]],
    words: NDArray[np.int8] | None = None,
    sha256: str = "",
) -> CycleRecord:
    """Make a record of its samples.

    Parameters
    ----------
    layout
        What it shares with others of its description.
    kept
        What beside the elapsed time makes its time axis.
    time_s
        Elapsed time, shape (n,) [s].
    values
        Sensor column to its readings in the unit used inside, shape (n,); those left out must not be looked at.
    words
        The machine's words for its stages as numbers; None where it named none.
    sha256
        Digest of the record as it came.

    Returns
    -------
    CycleRecord
        The record without its lines, findings and columns that nobody described: no criterion looks at them.
    """
    return CycleRecord(
        description=layout.description,
        started=kept.started,
        axis=_axis(kept, time_s),
        lines=_NOTHING,
        traces={
            name: one if (read := values.get(name)) is None else _read(one, read) for name, one in layout.traces.items()
        },
        stages=None if words is None else tuple(_WORDS[number] for number in words.tolist()),
        others={},
        findings=(),
        sha256=sha256,
    )


def _axis(kept: KeptAxis, time_s: NDArray[np.float64]) -> TimeAxis:
    """Lay out the axis; of what lies between samples only clock steps are told, for the rest follows from the time."""
    spacing = np.zeros(time_s.size - 1, dtype=np.int8)
    spacing[list(kept.clock_steps)] = Spacing.CLOCK_STEP
    return TimeAxis(_NOTHING, time_s, spacing, kept.usual_s)


def _read(one: Trace, values: NDArray[np.float64]) -> Trace:
    return Trace(one.name, one.quantity, one.place, values, one.uncertainty, one.gauge, one.calibrated)


def _trace(name: str, column: SensorColumn) -> Trace:
    factor, _ = to_inside(column.quantity, column.unit)
    uncertainty = None if column.uncertainty is None else column.uncertainty * factor
    gauge = not isinstance(column, PressureColumn) or column.reference == "gauge"
    return Trace(name, column.quantity, column.place, _NOT_READ, uncertainty, gauge, column.calibrated)


def sensor_names(description: RecordDescription) -> list[str]:
    """Name the sensors of a record, in the order in which their samples are kept.

    Parameters
    ----------
    description
        The record's description.

    Returns
    -------
    list
        Their columns.
    """
    return [name for name, column in description.columns.items() if isinstance(column, SensorColumn)]
