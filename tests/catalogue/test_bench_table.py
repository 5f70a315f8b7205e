"""Readings of the bench as a table: what is read, and what is refused in one line."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from patency.catalogue import Measurements, read_described, readings_from_table
from patency.errors import InputErrors
from tests.flow.commissioning.bench_cases import MEASURED

EMPTY = read_described(Measurements, MEASURED, "bench.yaml")


@pytest.mark.parametrize("cut", [",", ";"])
def test_rows_fill_the_readings_of_their_numbers_as_often_as_they_were_made(cut: str) -> None:
    table = cut.join(["reading", "volume", "time", "pressure", "on"]) + "\n"
    table += cut.join(["1", "2 L", "52.1 s", "", "2026-03-02"]) + "\n"
    table += cut.join(["2", "", "", "640 mbar", "2026-03-02"]) + "\n" + cut * 4 + "\n"
    table += cut.join([" 1 ", "2 L", "53 s", "", "2026-04-02"]) + "\n"
    filled = readings_from_table(EMPTY, table, "bench.csv")
    assert [(one.setup, one.at) for one in filled.readings] == [("A", "H1"), ("A", "circulation"), ("A", "H1")]
    assert filled.readings[0].value == pytest.approx(2e-3 / 52.1)
    assert filled.readings[1].value == pytest.approx(64000.0)
    assert filled.readings[2].on == date(2026, 4, 2)
    assert filled.setups == EMPTY.setups


def test_the_height_of_a_tap_stays_that_of_the_measurements() -> None:
    text = MEASURED.replace("instrument: gauge, at: circulation}", "instrument: gauge, at: circulation, height: 0.3 m}")
    asked = read_described(Measurements, text, "bench.yaml")
    (reading,) = readings_from_table(asked, "reading,pressure\n2,640 mbar\n", "bench.csv").readings
    assert reading.height_m == 0.3


@pytest.mark.parametrize(
    ("table", "says"),
    [
        ("volume,time\n2 L,3 s\n", "bench.csv:1: no column 'reading' (expected: reading, volume, time"),
        ("reading,colour\n1,blue\n", "bench.csv:1: column 'colour'"),
        ("reading,volume,time\n99,2 L,3 s\n", "bench.csv:2: reading: '99' (expected: a number from 1 to 8)"),
        ("reading,volume,time\nx,2 L,3 s\n", "bench.csv:2: reading: 'x'"),
        ("reading,volume,time\n1,2 L,3 s,4\n", "bench.csv:2: more cells than columns (expected: 3 cells)"),
        ("reading,volume,time\n1,2,3 s\n", "bench.csv:2: volume: '2' has no unit"),
        ("reading,volume,time\n1,2 L,\n", "bench.csv:2: volume alone (expected: time and volume)"),
        ("reading,pressure\n1,2 mbar\n", "bench.csv:2: pressure of a bucket"),
        ("reading,volume,time,on\n1,2 L,3 s,2.3.2026\n", "bench.csv:2: on: '2.3.2026' cannot be read"),
        ("reading,volume,volume\n1,2 L,3 s\n", "bench.csv:1: column 'volume' twice"),
        ('reading,volume,time\n1,2 L,"' + "3" * 200_000 + '"\n', "bench.csv:2: not a table: field larger than"),
        ("reading,volume,time\n", "bench.csv:1: no reading in it"),
        ("", "bench.csv:1: no column 'reading'"),
    ],
)
def test_a_table_that_cannot_be_used_is_refused_in_one_line(table: str, says: str) -> None:
    with pytest.raises(InputErrors) as refused:
        readings_from_table(EMPTY, table, "bench.csv")
    lines = [fault.line for fault in refused.value.faults]
    assert len(lines) == 1
    assert says in lines[0]


@given(st.text(max_size=60) | st.text("reading,volume;time1 Ls.\n\"'", max_size=80))
def test_any_text_is_read_or_refused_in_lines(text: str) -> None:
    for table in (text, "reading,volume,time\n" + text):
        try:
            filled = readings_from_table(EMPTY, table, "bench.csv")
        except InputErrors as refused:
            assert all(fault.line.startswith("bench.csv:") for fault in refused.faults)  # noqa: PT017 - or read
        else:
            assert filled.readings


def test_every_fault_of_a_table_is_told_at_once() -> None:
    with pytest.raises(InputErrors) as refused:
        readings_from_table(EMPTY, "reading,volume,time\n0,2 L,3 s\n1,2 L,soon\n", "bench.csv")
    assert [fault.line.split(":")[1] for fault in refused.value.faults] == ["2", "3"]
