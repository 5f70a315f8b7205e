"""Broken descriptions and records: each is refused with one line that names the place."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from patency.errors import InputErrors
from patency.evidence import read_description, read_record

DESCRIPTION = """\
format: patency-record/1
time: {column: time, unit: s}
decimal: "."
columns:
  T1: {quantity: temperature, unit: degC, place: chamber, uncertainty: 0.5, range: [0, 110], calibrated: 2026-05-01}
  T2: {quantity: temperature, unit: degC, place: load}
  P1: {quantity: pressure, unit: mbar, reference: gauge, place: circulation, uncertainty: 2}
  step: {quantity: stage}
"""
RECORD = "time,T1,T2,P1,step\n0,20,19,0,flush\n1,20.5,19.5,0,flush\n2,21,20,0,flush\n3,21.5,20.5,0,flush\n"


def table(file: str) -> list[dict[str, str]]:
    entries: list[dict[str, str]] = yaml.safe_load(
        (Path(__file__).parent / "broken" / file).read_text(encoding="utf-8")
    )
    return entries


def test_the_whole_description_and_record_are_read() -> None:
    record = read_record(RECORD, read_description(DESCRIPTION))
    assert record.findings == ()
    assert record.traces["T1"].values.tolist() == [20.0, 20.5, 21.0, 21.5]


@pytest.mark.parametrize("entry", table("descriptions.yaml"), ids=lambda entry: entry["what"])
def test_a_broken_description_is_refused(entry: dict[str, str]) -> None:
    assert DESCRIPTION.count(entry["was"]) >= 1
    with pytest.raises(InputErrors) as caught:
        read_description(DESCRIPTION.replace(entry["was"], entry["now"], 1), "d.yaml")
    assert caught.value.line == entry["says"]
    assert "\n" not in caught.value.line


@pytest.mark.parametrize("entry", table("records.yaml"), ids=lambda entry: entry["what"])
def test_a_broken_record_is_refused(entry: dict[str, str]) -> None:
    assert RECORD.count(entry["was"]) >= 1
    with pytest.raises(InputErrors) as caught:
        read_record(RECORD.replace(entry["was"], entry["now"], 1), read_description(DESCRIPTION), "r.csv")
    assert caught.value.line == entry["says"]
    assert "\n" not in caught.value.line


def test_all_faults_of_a_description_come_at_once_in_the_order_of_the_lines() -> None:
    broken = DESCRIPTION.replace("unit: s}", "unit: h}").replace("place: load", "place: 3").replace("gauge", "none")
    with pytest.raises(InputErrors) as caught:
        read_description(broken)
    assert [fault.where for fault in caught.value.faults] == [
        "description:2: time.unit",
        "description:6: columns.T2.place",
        "description:7: columns.P1.reference",
    ]


def test_all_faults_of_a_record_come_at_once_in_the_order_of_the_lines() -> None:
    broken = RECORD.replace("20.5,19.5", "x,y").replace("21,20,0", "21,20,z")
    with pytest.raises(InputErrors) as caught:
        read_record(broken, read_description(DESCRIPTION))
    assert [fault.where for fault in caught.value.faults] == [
        "record, line 3, column T1",
        "record, line 3, column T2",
        "record, line 4, column P1",
    ]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "d:1: no mapping at the top (expected: some of the keys format, time, decimal, columns, "),
        ("- 1\n- 2\n", "d:1: no mapping at the top (expected: some of the keys format, time, decimal, columns, "),
        ("[" * 5000, "d:1: "),
        ("a: 1\n---\nb: 2\n", "d:2: a second document begins (expected: one document in a file)"),
        ("a: \x00", "d:1: the character '\\x00' (expected: printable text)"),
        ("a: !!float x", "d:1: the tag 'tag:yaml.org,2002:float' (expected: a value without a tag)"),
    ],
)
def test_what_is_no_description_at_all_is_refused(text: str, says: str) -> None:
    with pytest.raises(InputErrors) as caught:
        read_description(text, "d")
    assert caught.value.line.startswith(says)


def test_a_record_of_many_faults_names_the_first_fifty() -> None:
    rows = "".join(f"{second},x,20,0,flush\n" for second in range(200))
    with pytest.raises(InputErrors) as caught:
        read_record("time,T1,T2,P1,step\n" + rows, read_description(DESCRIPTION))
    assert len(caught.value.faults) == 50
