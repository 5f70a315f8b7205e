"""Limits as they stand in a file: value, source, validity."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Annotated

from pydantic import create_model, model_validator
from pydantic_core import core_schema

from patency.catalogue.fields import CalendarDay, Described, Source
from patency.catalogue.written import Plain
from patency.quantities import INSIDE_UNIT, Limit

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
    from pydantic.json_schema import JsonSchemaValue


class _StatedLimit(Described):
    source: Source
    """Standard with edition and clause, validation report, instructions for use, or "common practice"."""
    valid_from: CalendarDay | None = None
    """First day on which it holds; None where open."""
    valid_until: CalendarDay | None = None
    """Last day on which it holds; None where open."""

    @model_validator(mode="after")
    def _begins_before_it_ends(self) -> _StatedLimit:
        if self.valid_from is not None and self.valid_until is not None and self.valid_until < self.valid_from:
            raise ValueError(f"valid until {self.valid_until}, before {self.valid_from}|valid_until after valid_from")
        return self


@dataclass(frozen=True)
class StatedLimit:
    """Marks a field that holds a `Limit` of one dimension.

    Parameters
    ----------
    dimension
        One of the keys of ``UNITS``.
    lowest, highest
        Range of the value in the unit used inside; None where there is none.
    word
        Word that may stand in place of a limit and states that there is none; empty where none may.
    """

    dimension: str
    lowest: float | None = 0.0
    highest: float | None = None
    word: str = ""

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        """Read the keys of a limit and make one of them."""
        stated = _stated_limit(self.dimension, self.lowest, self.highest)
        writer = core_schema.plain_serializer_function_ser_schema(self._write, when_used="json")
        return core_schema.no_info_wrap_validator_function(
            self._read, handler.generate_schema(stated), serialization=writer
        )

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """Tell an editor how it is written."""
        described = handler(schema)
        return {"anyOf": [described, {"const": self.word}]} if self.word else described

    def _read(self, value: object, read: core_schema.ValidatorFunctionWrapHandler) -> Limit | str:
        if isinstance(value, Limit):
            return value
        if self.word and isinstance(value, str):
            if value != self.word:
                raise ValueError(f"{value!r} is no limit|its value and source, or the word {self.word}")
            return value
        stated = read(value)
        return Limit(stated.value, INSIDE_UNIT[self.dimension], stated.source, stated.valid_from, stated.valid_until)

    def _write(self, limit: Limit | str) -> dict[str, object] | str:
        if isinstance(limit, str):
            return limit
        value = Plain(self.dimension).write(limit.value)
        validity = {"valid_from": limit.valid_from, "valid_until": limit.valid_until}
        days = {key: day.isoformat() for key, day in validity.items() if day is not None}
        return {"value": value, "source": limit.source, **days}


@cache
def _stated_limit(dimension: str, lowest: float | None, highest: float | None) -> type[_StatedLimit]:
    name = dimension.title().replace(" ", "") + "Limit"
    value = Annotated[float, Plain(dimension, lowest=lowest, highest=highest)]
    return create_model(name, __base__=_StatedLimit, __module__=__name__, value=(value, ...))


TimeLimit = Annotated[Limit, StatedLimit("time")]
TemperatureLimit = Annotated[Limit, StatedLimit("temperature", lowest=-273.15)]
TemperatureDifferenceLimit = Annotated[Limit, StatedLimit("temperature difference")]
PressureLimit = Annotated[Limit, StatedLimit("pressure")]
FlowLimit = Annotated[Limit, StatedLimit("flow")]
VelocityLimit = Annotated[Limit, StatedLimit("velocity")]
LengthLimit = Annotated[Limit, StatedLimit("length")]
AngleLimit = Annotated[Limit, StatedLimit("angle", highest=90.0)]
AreaLimit = Annotated[Limit, StatedLimit("area")]
VolumeLimit = Annotated[Limit, StatedLimit("volume")]
ShareLimit = Annotated[Limit, StatedLimit("share")]
NumberLimit = Annotated[Limit, StatedLimit("number")]
ConductivityLimit = Annotated[Limit, StatedLimit("conductivity")]
RotationLimit = Annotated[Limit, StatedLimit("rotation")]
