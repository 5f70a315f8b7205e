"""Laws of reading and judging cycle records, for any record at all."""

from __future__ import annotations

import math
from functools import partial
from hashlib import sha256
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from patency.errors import InputError, InputErrors
from patency.evidence import a0, lethal_rate, read_description, read_record
from patency.evidence.lethality import integrate
from patency.evidence.timing import Spacing, lay_out_time
from tests.reference.slow_a0 import slow_a0

if TYPE_CHECKING:
    from collections.abc import Callable

DESCRIPTION = read_description("""\
format: patency-record/1
time: {column: time, unit: s}
columns:
  T1: {quantity: temperature, unit: degC, place: load, uncertainty: 0.5}
  step: {quantity: stage}
""")
COMMA = DESCRIPTION.model_copy(update={"decimal": ","})

temperatures = st.floats(-50, 150, allow_nan=False)
stamps = st.lists(st.floats(-1e6, 1e6, allow_nan=False), max_size=40)
intervals = st.lists(st.floats(0.1, 60), min_size=1, max_size=40)


@given(st.lists(st.tuples(temperatures, st.sampled_from(["flush", "clean", "dry", ""])), min_size=2, max_size=30))
def test_what_is_written_is_what_is_read(rows: list[tuple[float, str]]) -> None:
    lines = [f"{second};{value!r};{step}" for second, (value, step) in enumerate(rows)]
    text = "\n".join(["time;T1;step", *lines]) + "\n"
    for description, written in ((DESCRIPTION, text), (COMMA, text.replace(".", ","))):
        record = read_record(written, description)
        assert record.traces["T1"].values.tolist() == [value for value, _ in rows]
        assert record.stages == tuple(step for _, step in rows)
        assert record.sha256 == sha256(written.encode()).hexdigest()


def refusals(read: Callable[[], object]) -> list[InputError]:
    """Return the faults for which something was refused; none where it was read."""
    try:
        read()
    except InputErrors as refused:
        return list(refused.faults)
    return []


@given(st.text())
def test_any_text_is_read_as_a_description_or_refused_with_its_place(text: str) -> None:
    faults = refusals(lambda: read_description(text, "d"))
    assert all(fault.where.startswith("d") and "\n" not in fault.line for fault in faults)


@given(st.text(alphabet="0123456789.,;-eE\n\r\"' \tabnT\x00é", max_size=200))
def test_any_text_is_read_as_a_record_or_refused_with_its_place(body: str) -> None:
    for text in (body, f"time,T1,step\n{body}", f"time;T1;step\n0;1;flush\n1;2;flush\n{body}"):
        faults = refusals(partial(read_record, text, DESCRIPTION, "r"))
        assert all(fault.where.startswith("r, line ") and "\n" not in fault.line for fault in faults)
        if not faults:
            record = read_record(text, DESCRIPTION)
            assert (np.diff(record.time_s) >= 0).all()
            assert record.traces["T1"].values.size == record.time_s.size == record.lines.size


@given(st.recursive(st.none() | st.booleans() | st.floats() | st.text(), st.lists), st.sampled_from(range(8)))
def test_any_value_in_the_place_of_another_is_refused_or_fits(value: object, place: int) -> None:
    parts = ["patency-record/1", "t", "s", ".", "temperature", "degC", "load", "0.5"]
    parts[place] = str(value).replace("\n", " ")
    text = (
        f"format: {parts[0]}\ntime: {{column: {parts[1]}, unit: {parts[2]}}}\ndecimal: '{parts[3]}'\n"
        f"columns:\n  T1: {{quantity: {parts[4]}, unit: {parts[5]}, place: {parts[6]}, uncertainty: {parts[7]}}}\n"
    )
    faults = refusals(lambda: read_description(text))
    assert all("\n" not in fault.line for fault in faults)
    if not faults:
        assert read_description(text).time.unit in {"s", "iso8601"}


@given(stamps)
def test_elapsed_time_never_falls_and_never_exceeds_what_the_stamps_cover(values: list[float]) -> None:
    axis = lay_out_time(np.array(values))
    if axis is None:
        return
    steps = np.diff(np.array(values)[axis.kept])
    assert (np.diff(axis.elapsed_s) >= 0).all()
    assert axis.elapsed_s[-1] == pytest.approx(steps[steps > 0].sum())
    assert (axis.spacing == Spacing.CLOCK_STEP).sum() == (steps < 0).sum()
    assert axis.usual_s > 0


@given(intervals, st.data())
def test_a0_lies_between_the_sums_of_the_lower_and_of_the_higher_neighbours(
    steps: list[float], data: st.DataObject
) -> None:
    time = np.concatenate(([0.0], np.cumsum(steps)))
    values = np.array(data.draw(st.lists(temperatures, min_size=time.size, max_size=time.size)))
    rate, length = lethal_rate(values), np.diff(time)
    lower = float((np.minimum(rate[:-1], rate[1:]) * length).sum())
    higher = float((np.maximum(rate[:-1], rate[1:]) * length).sum())
    total = a0(time, values)
    assert lower * (1 - 1e-9) <= total.a0_s <= higher * (1 + 1e-9)
    assert 0 <= total.in_long_gaps_s <= lower * (1 + 1e-9)


@given(stamps, st.data())
def test_the_quick_integral_is_the_one_added_up_interval_by_interval(values: list[float], data: st.DataObject) -> None:
    axis = lay_out_time(np.array(values))
    if axis is None:
        return
    size = axis.kept.size
    series = data.draw(st.lists(temperatures | st.just(math.nan), min_size=size, max_size=size))
    counted = data.draw(st.lists(st.sampled_from([True, True, True, False]), min_size=size, max_size=size))
    quick = integrate(axis, np.array(series), np.array(counted)).a0_s
    assert quick == pytest.approx(slow_a0(axis, series, counted), rel=1e-9, abs=1e-9)


@given(st.lists(st.floats(65, 120), min_size=2, max_size=50))
def test_ten_kelvin_more_is_ten_times_the_worth(values: list[float]) -> None:
    time, series = np.arange(float(len(values))), np.array(values)
    assert a0(time, series + 10).a0_s == pytest.approx(10 * a0(time, series).a0_s)


@given(st.lists(temperatures, min_size=2, max_size=50), st.floats(0, 5))
def test_subtracting_an_uncertainty_never_adds_worth(values: list[float], uncertainty: float) -> None:
    time, series = np.arange(float(len(values))), np.array(values)
    assert a0(time, series - uncertainty).a0_s <= a0(time, series).a0_s * (1 + 1e-12)


@given(st.lists(temperatures, min_size=4, max_size=50), st.data())
def test_a_series_is_worth_the_sum_of_its_parts(values: list[float], data: st.DataObject) -> None:
    time, series = np.arange(float(len(values))), np.array(values)
    cut = data.draw(st.integers(1, len(values) - 2))
    parts = a0(time[: cut + 1], series[: cut + 1]).a0_s + a0(time[cut:], series[cut:]).a0_s
    assert math.isclose(a0(time, series).a0_s, parts, rel_tol=1e-9, abs_tol=1e-12)
