"""The calendar of a site: which tests have to be done how often, what each blocks, and which were done."""

from __future__ import annotations

from datetime import datetime, timedelta
from enum import StrEnum
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from patency.catalogue import CalendarDay, read_described
from patency.errors import InputError
from patency.evidence.description import Word
from patency.evidence.statistics import read_moment


class TestResult(StrEnum):
    """How a test came out."""

    __test__ = False  # no test of the package itself

    PASSED = "passed"
    FAILED = "failed"


class Subject(StrEnum):
    """What is tested."""

    MACHINE = "machine"
    WATER = "water"
    SEALING = "sealing device"
    TESTER = "tester"
    SENSOR = "sensor"


def _moment(value: object) -> object:
    if not isinstance(value, str):
        return value
    try:
        return read_moment(value, "")
    except InputError as fault:
        raise ValueError(f"{fault.what}|{fault.expected}") from None


def _with_zone(value: datetime) -> datetime:
    if value.tzinfo is None:
        raise ValueError(f"{value} has no offset|a moment with its offset, such as 2026-03-31T06:30+02:00")
    return value


Moment = Annotated[datetime, BeforeValidator(_moment), AfterValidator(_with_zone)]

_UNITS = {"h": timedelta(hours=1), "d": timedelta(days=1), "week": timedelta(weeks=1)}


def _interval(value: object) -> object:
    """Read ``7 d``: hours, days or weeks; months differ in length and are written as days."""
    if not isinstance(value, str):
        return value
    number, _, unit = value.partition(" ")
    unit = unit.removesuffix("s") if unit != "s" else unit
    if number.isascii() and number.isdigit() and 0 < int(number) < 100_000 and unit in _UNITS:
        return int(number) * _UNITS[unit]
    raise ValueError(f"{value!r} is no interval|whole hours, days or weeks, such as 24 h, 7 d or 13 weeks")


class _Stated(BaseModel):
    model_config = ConfigDict(
        frozen=True, extra="forbid", strict=True, allow_inf_nan=False, use_attribute_docstrings=True
    )


class TestLimit(_Stated):
    """Between what the measured value of a test has to lie."""

    __test__ = False

    lowest: float | None = None
    highest: float | None = None
    unit: Word
    valid_until: CalendarDay | None = None
    """Last day on which it holds; None where open."""

    @model_validator(mode="after")
    def _has_an_end(self) -> TestLimit:
        if self.lowest is None and self.highest is None:
            raise ValueError("neither lowest nor highest|one end at least")
        if self.lowest is not None and self.highest is not None and self.lowest > self.highest:
            raise ValueError(f"lowest {self.lowest:g} above highest {self.highest:g}|lowest below highest")
        return self


class Blocks(_Stated):
    """What may not be used while a test is overdue or failed; names as records and plans use them."""

    machines: tuple[Word, ...] = Field(default=(), strict=False)
    programmes: tuple[Word, ...] = Field(default=(), strict=False)
    uses: tuple[Word, ...] = Field(default=(), strict=False)
    """Anything else, in words: a sealing device, a tester, a water outlet."""

    @model_validator(mode="after")
    def _something(self) -> Blocks:
        if not (self.machines or self.programmes or self.uses):
            raise ValueError("blocks nothing|machines, programmes or uses")
        return self


class RequiredTest(_Stated):
    """A test that has to be done again and again."""

    of: Annotated[Subject, Field(strict=False)]
    name: Word
    """Which machine, water, device, tester or sensor."""
    interval: Annotated[timedelta, BeforeValidator(_interval)]
    """How long one result counts, from the moment of the test."""
    limit: TestLimit | None = None
    """Of the measured value; None where a test has none, such as a look."""
    blocks: Blocks
    source: Word
    """Who asks for it: standard with edition, instructions, site's policy."""


class TestDone(_Stated):
    """A test that was done."""

    __test__ = False

    test: Word
    at: Moment
    by: Word
    result: Annotated[TestResult, Field(strict=False)]
    value: float | None = None
    """Measured value in the unit of the limit; needed where there is one."""
    unit: Word | None = None

    @model_validator(mode="after")
    def _value_with_unit(self) -> TestDone:
        if (self.value is None) != (self.unit is None):
            raise ValueError("value and unit belong together|both or neither")
        return self


class Calendar(_Stated):
    """All tests of a site."""

    format: Literal["patency-calendar/1"]
    tests: Annotated[dict[Word, RequiredTest], Field(min_length=1)]
    done: tuple[TestDone, ...] = Field(default=(), strict=False)

    @model_validator(mode="after")
    def _known_tests(self) -> Calendar:
        for one in self.done:
            if one.test not in self.tests:
                raise ValueError(f"done: no test {one.test!r}|one of: {', '.join(self.tests)}")
        return self


def read_calendar(text: str, name: str = "calendar") -> Calendar:
    """Read the calendar of a site.

    Parameters
    ----------
    text
        YAML, format ``patency-calendar/1``.
    name
        What the text is called in messages.

    Returns
    -------
    Calendar
        The tests and what was done.

    Raises
    ------
    InputErrors
        With every fault at once.
    """
    return read_described(Calendar, text, name)
