"""What was noticed in a record and handled: collected values with their lines, never exceptions."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

_SHOWN_LINES = 5


class Counted(StrEnum):
    """What the places of a record count."""

    LINES = "line"
    ROWS = "row"


class FindingKind(StrEnum):
    """What kind of thing was noticed."""

    EMPTY_CELL = "empty cell"
    OUT_OF_RANGE = "value out of the sensor's range"
    GAP = "gap"
    REPEATED_STAMP = "repeated time stamp"
    STRAY_STAMP = "time stamp out of order"
    CLOCK_STEP = "clock set back"
    BLANK_LINE = "blank line"
    CUT_SHORT = "last line cut short"
    UNKNOWN_COLUMN = "column without description"
    BYTE_ORDER_MARK = "byte order mark"
    UNIT_DOUBT = "unit doubtful"
    STAGE = "stage"
    INTERRUPTION = "circulation interrupted"
    SECOND_SOURCE = "second recorder"
    CORRECTED = "sensor corrected"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing noticed.

    Parameters
    ----------
    kind
        What kind of thing.
    message
        What it is and how it was handled, in one sentence.
    column
        The column it concerns; None where it concerns the rows.
    lines
        Lines of the record's text, counted from 1; empty where it concerns the whole record.
    counted
        What ``lines`` counts: lines of a text, or rows of a record that is no text.
    """

    kind: FindingKind
    message: str
    column: str | None = None
    lines: tuple[int, ...] = ()
    counted: Counted = Counted.LINES

    @property
    def text(self) -> str:
        """The finding in one line with its first few places."""
        column = f"{self.column}: " if self.column else ""
        shown = ", ".join(str(line) for line in self.lines[:_SHOWN_LINES])
        more = f" and {len(self.lines) - _SHOWN_LINES} more" if len(self.lines) > _SHOWN_LINES else ""
        word = self.counted.value if len(self.lines) == 1 else f"{self.counted.value}s"
        place = f" ({word} {shown}{more})" if self.lines else ""
        return f"{column}{self.message}{place}"
