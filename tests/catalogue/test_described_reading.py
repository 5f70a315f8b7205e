"""One description that stands in one text."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ConfigDict

from patency.catalogue import CalendarDay, read_described
from patency.errors import InputErrors


class Bath(BaseModel):
    """A small thing to describe."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: str
    filled: CalendarDay
    litres: float = 5.0


def refused(text: str) -> list[str]:
    """Return the lines a text is refused with; none where it is a bath."""
    try:
        read_described(Bath, text, "bath.yaml")
    except InputErrors as refusal:
        return [fault.line for fault in refusal.faults]
    return []


def test_a_description_is_read_with_its_day() -> None:
    bath = read_described(Bath, "name: no\nfilled: 2026-03-02\n", "bath.yaml")
    assert (bath.name, bath.filled.isoformat(), bath.litres) == ("no", "2026-03-02", 5.0)


def test_every_fault_comes_at_once_those_of_the_text_first_and_then_by_line() -> None:
    assert refused("litres: much\nfilled: yesterday\nname: a\nname: b\n") == [
        "bath.yaml:4: the key 'name' a second time, first on line 3 (expected: every key once)",
        "bath.yaml:1: litres: 'much' cannot stand here (expected: a number)",
        "bath.yaml:2: filled: 'yesterday' cannot be read (expected: a day such as 2026-03-31)",
    ]


def test_a_text_at_fault_is_refused_even_where_its_values_would_do() -> None:
    twice = "bath.yaml:3: the key 'name' a second time, first on line 1 (expected: every key once)"
    assert refused("name: a\nfilled: 2026-03-02\nname: b\n") == [twice]


@pytest.mark.parametrize("text", ["", "- name\n", "name\n", "# nothing\n"])
def test_a_text_without_keys_is_refused_with_the_keys_there_are(text: str) -> None:
    assert refused(text) == ["bath.yaml:1: no mapping at the top (expected: some of the keys name, filled, litres)"]


@given(st.text(max_size=40) | st.text(alphabet="name: fildt{}[]&*!|\"'\n-2063", max_size=40))
def test_any_text_is_a_description_or_is_refused_with_its_lines(text: str) -> None:
    assert all(line.startswith("bath.yaml:") for line in refused(text))
