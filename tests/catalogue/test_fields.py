"""Names, days and times: what they take and what they refuse."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from pydantic import TypeAdapter, ValidationError

from patency.catalogue.fields import CalendarDay, LocalTime, Name

DAY, TIME, NAME = TypeAdapter(CalendarDay), TypeAdapter(LocalTime), TypeAdapter(Name)


@pytest.mark.parametrize("text", ["2026-03-31T11:50", "2026-03-31 11:50", "2026-03-31T11:50:00"])
def test_a_local_time_reads_with_or_without_seconds(text: str) -> None:
    assert TIME.validate_python(text, strict=True) == datetime(2026, 3, 31, 11, 50)  # noqa: DTZ001


@pytest.mark.parametrize(
    "text", ["20260331", "86400", "2026-3-31", "2026-02-30", "31.03.2026", "2026-03-31T00:00", "٢٠٢٦-٠٣-٣١"]
)
def test_a_day_is_written_in_one_way_only(text: str) -> None:
    with pytest.raises(ValidationError):
        DAY.validate_python(text)


@pytest.mark.parametrize("value", ["1700000000", "11:50", "2026-03-31", "2026-03-31T11:50Z", "2026-03-31T11:50+01:00"])
def test_a_time_needs_its_day_and_takes_no_zone(value: str) -> None:
    with pytest.raises(ValidationError):
        TIME.validate_python(value)


def test_a_day_may_also_come_as_a_day() -> None:
    assert DAY.validate_python(date(2026, 3, 31), strict=True) == date(2026, 3, 31)


@pytest.mark.parametrize("text", ["HF cable", "naïve œuvre", "5 ± 0.5", "日本語", "a\u00a0b"])
def test_a_name_may_be_any_line_of_text(text: str) -> None:
    assert NAME.validate_python(text) == text


@pytest.mark.parametrize("text", ["", " ", " a", "a ", "a\nb", "a\tb", "a\u2028b", "a\x1b[31m", "x" * 121])
def test_a_name_is_one_line_without_spaces_around_it(text: str) -> None:
    with pytest.raises(ValidationError):
        NAME.validate_python(text)
