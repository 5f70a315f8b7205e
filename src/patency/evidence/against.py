"""What a cycle was judged against, as one value that can be kept beside its verdict and read again to the last bit."""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING

from pydantic import BaseModel, ConfigDict, TypeAdapter

from patency.catalogue import CycleLimits, Programme
from patency.evidence.prediction import EyeCheck, LoadMachine, PressurePrediction
from patency.evidence.verdict import judge, judge_alone

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from patency.evidence.record import CycleRecord
    from patency.evidence.verdict import Evidence

_KEPT = 4096


class CycleAgainst(BaseModel):
    """What the cycle of a washer-disinfector is judged against, beside its record."""

    model_config = ConfigDict(frozen=True, extra="forbid", use_attribute_docstrings=True)

    limits: CycleLimits
    on: date
    """The day on which limits must hold."""
    programme: Programme | None = None
    """The programme that should have run; None where nobody says, and then the record is judged by itself."""
    programme_key: str | None = None
    prediction: PressurePrediction | None = None
    machine: LoadMachine | None = None
    eye_check: EyeCheck | None = None

    def judge(self, record: CycleRecord) -> Evidence:
        """Judge a record against this.

        Parameters
        ----------
        record
            The record.

        Returns
        -------
        Evidence
            The evidence.
        """
        if self.programme is None:
            return judge_alone(record, self.limits, on=self.on)
        return judge(
            record,
            self.programme,
            self.limits,
            self.prediction,
            on=self.on,
            eye_check=self.eye_check,
            programme_key=self.programme_key,
            machine=self.machine,
        )

    def texts(self) -> dict[str, str]:
        """Write every part as JSON by itself, so that what many cycles share is kept and read once.

        Returns
        -------
        dict
            Name of the part to its text.
        """
        return {name: adapter.dump_json(getattr(self, name)).decode("utf-8") for name, adapter in _adapters().items()}


@lru_cache(maxsize=1)
def _adapters() -> dict[str, TypeAdapter[Any]]:
    return {name: TypeAdapter(field.rebuild_annotation()) for name, field in CycleAgainst.model_fields.items()}


@lru_cache(maxsize=_KEPT)
def _read(name: str, text: str) -> Any:  # noqa: ANN401 - each part has a type of its own
    return _adapters()[name].validate_json(text)


def against_of_texts(texts: Mapping[str, str]) -> CycleAgainst:
    """Read again what `CycleAgainst.texts` wrote.

    Parameters
    ----------
    texts
        Name of each part to its text.

    Returns
    -------
    CycleAgainst
        The same value.
    """
    parts: dict[str, Any] = {name: _read(name, texts[name]) for name in CycleAgainst.model_fields}
    return CycleAgainst.model_construct(**parts)
