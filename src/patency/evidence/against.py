"""What a cycle was judged against, as one value that can be kept beside its verdict and read again to the last bit."""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from pydantic import BaseModel, ConfigDict, TypeAdapter

from patency.catalogue import CycleLimits, Programme, SteamLimits, SteamProgramme
from patency.evidence.prediction import EyeCheck, LoadMachine, PressurePrediction
from patency.evidence.steam import EnteredChecks, judge_steam
from patency.evidence.verdict import judge, judge_alone

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from patency.evidence.record import CycleRecord
    from patency.evidence.steam import SteamEvidence
    from patency.evidence.verdict import Evidence

_KEPT = 4096


class _Against(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", use_attribute_docstrings=True)

    def texts(self) -> dict[str, str]:
        """Write every part as JSON by itself, so that what many cycles share is kept and read once.

        Returns
        -------
        dict
            Name of the part to its text.
        """
        adapters = _adapters(type(self))
        return {name: adapter.dump_json(getattr(self, name)).decode("utf-8") for name, adapter in adapters.items()}


class CycleAgainst(_Against):
    """What the cycle of a washer-disinfector is judged against, beside its record."""

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


class SteamAgainst(_Against):
    """What the cycle of a steam sterilizer is judged against, beside its record."""

    kind: Literal["steam sterilizer"] = "steam sterilizer"
    limits: SteamLimits
    on: date
    """The day on which limits must hold."""
    programme: SteamProgramme
    """The programme that should have run."""
    programme_key: str
    entered: EnteredChecks | None = None
    """The machine's tests and the look at the load; None where nothing was entered."""

    def judge(self, record: CycleRecord) -> SteamEvidence:
        """Judge a record against this.

        Parameters
        ----------
        record
            The record.

        Returns
        -------
        SteamEvidence
            The evidence.
        """
        return judge_steam(
            record,
            self.programme,
            self.limits,
            on=self.on,
            programme_key=self.programme_key,
            entered=self.entered,
        )


@lru_cache(maxsize=2)
def _adapters(kind: type[_Against]) -> dict[str, TypeAdapter[Any]]:
    return {name: TypeAdapter(field.rebuild_annotation()) for name, field in kind.model_fields.items()}


@lru_cache(maxsize=_KEPT)
def _read(kind: type[_Against], name: str, text: str) -> Any:  # noqa: ANN401 - each part has a type of its own
    return _adapters(kind)[name].validate_json(text)


def against_of_texts(texts: Mapping[str, str]) -> CycleAgainst | SteamAgainst:
    """Read again what `CycleAgainst.texts` or `SteamAgainst.texts` wrote.

    Parameters
    ----------
    texts
        Name of each part to its text.

    Returns
    -------
    CycleAgainst
        The same value.
    """
    kind = SteamAgainst if "kind" in texts else CycleAgainst
    parts: dict[str, Any] = {name: _read(kind, name, texts[name]) for name in kind.model_fields}
    return kind.model_construct(**parts)
