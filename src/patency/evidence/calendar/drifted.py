"""A sensor that was found to have drifted: which loads would still meet what they met, and what was used since."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from patency.catalogue import CalendarDay, read_described
from patency.evidence.calendar.stated import Moment
from patency.evidence.correction import SensorCorrection
from patency.evidence.criteria import CriterionState
from patency.evidence.description import Word

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.evidence.criteria import Criterion


class _Stated(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, use_attribute_docstrings=True)


class Use(_Stated):
    """What of a load was used."""

    what: Word
    """Set or piece; its case, where a ledger tells."""
    at: Moment


class ReleasedLoad(_Stated):
    """A load that was released, its record and what of it was used."""

    load: Word | None = None
    """Its id in the plan, for a washed load."""
    programme: Word | None = None
    """Key of its programme, for a load of a steam sterilizer."""
    record: Word
    """File of the record, as seen from this file."""
    description: Word
    on: CalendarDay
    """Day of the cycle and of the decision."""
    in_ledger: Word | None = None
    """Its key in the ledger; None where that is its id in the plan."""
    used: tuple[Use, ...] | None = Field(default=None, strict=False)
    """What of it was used; None where nobody says, and then it is not known unless a ledger tells."""

    @model_validator(mode="after")
    def _one_of_both(self) -> ReleasedLoad:
        if (self.load is None) == (self.programme is None):
            raise ValueError("needs one of load and programme|load for washing, programme for steam")
        return self

    @property
    def name(self) -> str:
        """What it is called in answers."""
        return self.load or self.in_ledger or self.record

    @property
    def ledger_key(self) -> str | None:
        """What the ledger calls it; None where nobody says."""
        return self.in_ledger or self.load


class DriftedSensor(_Stated):
    """What was found of a sensor, and the loads released since it was last known to be right."""

    format: Literal["patency-drifted/1"]
    sensor: SensorCorrection
    """The sensor, what it shows too much, since when, and who found it."""
    loads: Annotated[tuple[ReleasedLoad, ...], Field(min_length=1, strict=False)]


def read_drifted(text: str, name: str = "drifted sensor") -> DriftedSensor:
    """Read what was found of a sensor.

    Parameters
    ----------
    text
        YAML, format ``patency-drifted/1``.
    name
        What the text is called in messages.

    Returns
    -------
    DriftedSensor
        The sensor and the loads.

    Raises
    ------
    InputErrors
        With every fault at once.
    """
    return read_described(DriftedSensor, text, name)


@dataclass(frozen=True, slots=True)
class LoadLookedAt:
    """What a corrected sensor makes of a load.

    Parameters
    ----------
    name
        What it is called.
    record
        File of its record; empty where none was named.
    lost
        What was met as recorded and is not met with the corrected readings, one line each; empty where all still is.
    why_not
        Why it could not be judged again; empty where it was.
    used
        What of it was used since; None where that is not known.
    not_used
        Its released sets that a ledger knows not to have been used since, each to where it is now.
    """

    name: str
    record: str
    lost: tuple[str, ...] = ()
    why_not: str = ""
    used: tuple[Use, ...] | None = None
    not_used: tuple[tuple[str, str], ...] = ()

    @property
    def stands(self) -> bool:
        """Whether it would still meet what it met; not judged again counts as no."""
        return not self.lost and not self.why_not


def lost_criteria(before: Sequence[Criterion], after: Sequence[Criterion]) -> tuple[str, ...]:
    """List what was met and is no more.

    Parameters
    ----------
    before
        Criteria as recorded.
    after
        Criteria with corrected readings.

    Returns
    -------
    tuple
        Name, stage, sensor, new state and why, one line each.
    """
    now = {(one.name, one.stage, one.sensor): one for one in after}
    lost = []
    for one in before:
        # Which stage or sensor decides may change: the same question without an answer of its own counts as lost.
        other = now.get((one.name, one.stage, one.sensor)) or next((two for two in after if two.name == one.name), None)
        if one.state is CriterionState.MET and (other is None or other.state is not CriterionState.MET):
            of = ", ".join(word for word in (one.stage, one.sensor) if word)
            told = "not asked any more" if other is None else f"{other.state.value}; {other.why}"
            lost.append(f"{one.name}{f' ({of})' if of else ''}: {told}")
    return tuple(lost)


def drifted_document(looked: Sequence[LoadLookedAt]) -> dict[str, Any]:
    """Return what a corrected sensor makes of loads as plain values for JSON, format ``patency-drifted-loads/1``.

    Parameters
    ----------
    looked
        The loads.

    Returns
    -------
    dict
        Mappings, lists and text only.
    """
    return {
        "format": "patency-drifted-loads/1",
        "loads": [
            {
                "load": one.name,
                "record": one.record,
                "stands": one.stands,
                "lost": list(one.lost),
                "why_not": one.why_not,
                "used": None
                if one.used is None
                else [{"what": use.what, "at": use.at.isoformat()} for use in one.used],
                "not_used": [{"what": what, "is": state} for what, state in one.not_used],
            }
            for one in looked
        ],
    }
