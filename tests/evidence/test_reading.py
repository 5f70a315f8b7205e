"""Records as loggers write them: what is handled, what is reported, what stays untouched."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime

import numpy as np
import pytest

from patency.errors import InputErrors
from patency.evidence import CycleRecord, Finding, FindingKind, read_description, read_record

DESCRIPTION = """\
format: patency-record/1
time: {column: time, unit: s}
columns:
  T1: {quantity: temperature, unit: degC, place: "load, upper level", uncertainty: 0.5, range: [0, 110]}
  P1: {quantity: pressure, unit: mbar, reference: absolute, place: circulation}
"""


def read(text: str, *changes: tuple[str, str]) -> CycleRecord:
    description = DESCRIPTION
    for old, new in changes:
        assert old in description
        description = description.replace(old, new)
    return read_record(text, read_description(description))


def finding(record: CycleRecord, kind: FindingKind) -> Finding:
    found = [finding for finding in record.findings if finding.kind is kind]
    assert len(found) == 1, record.findings
    return found[0]


def test_values_are_converted_and_the_text_stays_untouched() -> None:
    text = "time,T1,P1\n0,20.5,1013\n1,21.5,1213\n"
    record = read(text)
    assert record.sha256 == hashlib.sha256(text.encode()).hexdigest()
    assert record.time_s.tolist() == [0.0, 1.0]
    assert record.traces["T1"].values.tolist() == [20.5, 21.5]
    assert record.traces["P1"].values.tolist() == [101300.0, 121300.0]
    assert record.findings == ()


def test_an_uncertainty_is_a_difference_and_takes_no_offset() -> None:
    record = read("time,T1,P1\n0,68,1013\n1,77,1213\n", ("degC", "degF"), ("range: [0, 110]", "range: [32, 230]"))
    trace = record.traces["T1"]
    assert trace.uncertainty == pytest.approx(0.5 * 5 / 9)
    assert trace.values.tolist() == pytest.approx([20.0, 25.0])
    assert record.traces["P1"].uncertainty is None


def test_a_place_is_found_by_its_first_word() -> None:
    record = read("time,T1,P1\n0,20,1013\n1,21,1213\n")
    assert [trace.name for trace in record.of("temperature", "chamber", "load")] == ["T1"]
    assert record.of("temperature", "chamber") == []
    assert [trace.gauge for trace in record.of("pressure", "circulation")] == [False]


@pytest.mark.parametrize(("delimiter", "quote"), [(",", ""), (";", ""), ("\t", ""), (",", '"')])
def test_columns_may_be_separated_in_several_ways(delimiter: str, quote: str) -> None:
    rows = [["time", "T1", "P1"], ["0", "20.5", "1013"], ["1", "21.5", "1213"]]
    text = "\r\n".join(delimiter.join(f"{quote}{cell}{quote}" for cell in row) for row in rows) + "\r\n"
    assert read(text).traces["T1"].values.tolist() == [20.5, 21.5]


def test_decimal_commas_are_read_where_they_are_described() -> None:
    record = read("time;T1;P1\n0,0;20,5;1013\n0,5;21,5;1213,2\n", ("columns:", 'decimal: ","\ncolumns:'))
    assert record.time_s.tolist() == [0.0, 0.5]
    assert record.traces["T1"].values.tolist() == [20.5, 21.5]


def test_a_point_among_decimal_commas_is_refused_because_it_may_part_thousands() -> None:
    with pytest.raises(InputErrors, match=r"line 3, column P1: '1\.213' cannot be read"):
        read("time;T1;P1\n0;20,5;1013\n1;21,5;1.213\n", ("columns:", 'decimal: ","\ncolumns:'))


def test_stamps_with_their_offset_are_read_across_the_change_to_summer_time() -> None:
    text = (
        "time,T1,P1\n2026-03-29T01:59:59+01:00,20,1013\n2026-03-29T03:00:00+02:00,21,1013\n"
        "2026-03-29T01:00:01Z,22,1013\n"
    )
    record = read(text, ("unit: s}", "unit: iso8601}"))
    assert record.time_s.tolist() == [0.0, 1.0, 2.0]
    assert record.started == datetime(2026, 3, 29, 0, 59, 59, tzinfo=UTC)
    assert record.findings == ()


@pytest.mark.parametrize("stamp", ["2026-03-29T03:00:00", "2026-03-29", "03:00", "5", "0001-01-01T00:00:00+00:00"])
def test_a_stamp_without_offset_is_refused(stamp: str) -> None:
    with pytest.raises(
        InputErrors, match=r"line 3, column time: .* cannot be read \(expected: a stamp with its offset"
    ):
        read(
            f"time,T1,P1\n2026-03-29T01:59:59+01:00,20,1013\n{stamp},21,1013\n2026-03-29T03:00:00Z,21,1013\n",
            ("unit: s}", "unit: iso8601}"),
        )


@pytest.mark.parametrize("cell", ["", " ", "-", "--", "---", "NaN"])
def test_a_cell_without_value_is_missing_and_reported(cell: str) -> None:
    record = read(f"time,T1,P1\n0,20,1013\n1,{cell},1013\n2,22,1013\n")
    assert np.isnan(record.traces["T1"].values).tolist() == [False, True, False]
    found = finding(record, FindingKind.EMPTY_CELL)
    assert (found.column, found.lines) == ("T1", (3,))


def test_a_value_out_of_the_sensors_range_is_missing_and_reported() -> None:
    record = read("time,T1,P1\n0,20,1013\n1,850,1013\n2,-1,1013\n3,110,1013\n")
    assert np.isnan(record.traces["T1"].values).tolist() == [False, True, True, False]
    assert finding(record, FindingKind.OUT_OF_RANGE).text == "T1: not a measurement; counted as missing (lines 3, 4)"


def test_an_inconceivable_value_is_missing_even_without_a_range() -> None:
    record = read("time,T1,P1\n0,20,1013\n1,1e300,1e300\n2,-300,1013\n", (", range: [0, 110]", ""))
    assert np.isnan(record.traces["T1"].values).tolist() == [False, True, True]
    assert np.isnan(record.traces["P1"].values).tolist() == [False, True, False]


def test_gaps_repeats_and_clock_steps_are_reported_with_their_lines() -> None:
    record = read("time,T1,P1\n0,20,1\n1,20,1\n2,20,1\n9,20,1\n9,20,1\n10,20,1\n3,20,1\n4,20,1\n5,20,1\n")
    assert finding(record, FindingKind.GAP).lines == (5,)
    assert "gap of up to 7 s" in finding(record, FindingKind.GAP).text
    assert finding(record, FindingKind.REPEATED_STAMP).lines == (6,)
    assert finding(record, FindingKind.CLOCK_STEP).lines == (8,)
    assert "set back by up to 7 s" in finding(record, FindingKind.CLOCK_STEP).message


def test_a_sample_with_a_stray_stamp_is_set_aside_and_reported() -> None:
    record = read("time,T1,P1\n0,20,1\n1,21,1\n0.5,99,1\n2,22,1\n3,23,1\n")
    assert record.traces["T1"].values.tolist() == [20.0, 21.0, 22.0, 23.0]
    assert record.lines.tolist() == [2, 3, 5, 6]
    assert finding(record, FindingKind.STRAY_STAMP).lines == (4,)


@pytest.mark.parametrize("tail", ["3,2", "3", "3,20,10x", "3,20,-0.", "3,,", "3x,20,10"])
def test_a_last_line_cut_short_is_left_out_or_read_and_reported(tail: str) -> None:
    record = read(f"time,T1,P1\n0,20,1\n1,21,1\n2,22,1\n{tail}")
    kinds = {found.kind for found in record.findings}
    if tail in {"3,20,-0.", "3,,"}:  # whole as far as anybody can tell
        assert record.time_s.size == 4
        assert FindingKind.CUT_SHORT not in kinds
    else:
        assert record.time_s.size == 3
        assert finding(record, FindingKind.CUT_SHORT).lines == (5,)


def test_a_faulty_cell_in_a_last_line_that_is_ended_is_refused() -> None:
    with pytest.raises(InputErrors, match=r"line 4, column P1: '10x'"):
        read("time,T1,P1\n0,20,1\n1,21,1\n3,20,10x\n")


def test_blank_lines_and_a_byte_order_mark_are_skipped_and_reported() -> None:
    record = read("\ufefftime,T1,P1\n0,20,1\n\n1,21,1\n")
    assert record.lines.tolist() == [2, 4]
    assert finding(record, FindingKind.BLANK_LINE).lines == (3,)
    assert finding(record, FindingKind.BYTE_ORDER_MARK).lines == ()


def test_columns_without_description_are_kept_as_written() -> None:
    record = read("time,T1,P1,door\n0,20,1, shut \n1,21,1,shut\n")
    assert record.others == {"door": (" shut ", "shut")}
    assert finding(record, FindingKind.UNKNOWN_COLUMN).column == "door"


def test_stages_are_read_without_regard_to_case_and_may_be_missing() -> None:
    text = "time,T1,P1,step\n0,20,1,Flush\n1,21,1,\n2,21,1,CLEAN \n"
    record = read(text, ("columns:", "columns:\n  step: {quantity: stage}"))
    assert record.stages == ("flush", "", "clean")


def test_a_sterilizers_stages_are_read_too() -> None:
    text = "time,T1,P1,step\n0,20,1,pulse\n1,21,1,heat\n2,21,1,hold\n3,21,1,exhaust\n4,21,1,dry\n"
    record = read(text, ("columns:", "columns:\n  step: {quantity: stage}"))
    assert record.stages == ("pulse", "heat", "hold", "exhaust", "dry")


def test_the_digest_is_that_of_the_text() -> None:
    # printf 'time,T1,P1\n0,20,1\n1,21,1\n' | sha256sum
    expected = "c94dcb325a4069dae8c87e4b15a3e5d404a10256054c9de673e63aff7f67f427"
    assert read("time,T1,P1\n0,20,1\n1,21,1\n").sha256 == expected


def test_only_the_first_lines_of_many_are_shown() -> None:
    rows = "".join(f"{second},,1\n" for second in range(8))
    text = finding(read("time,T1,P1\n" + rows), FindingKind.EMPTY_CELL).text
    assert text == "T1: no value; counted as missing (lines 2, 3, 4, 5, 6 and 3 more)"
