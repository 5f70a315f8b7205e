"""Fits of a department: the latest of its number is in force, and one that was changed by hand is refused."""

from __future__ import annotations

import pytest

from patency.catalogue import (
    CommissionedFit,
    Measurements,
    bench_fit_of,
    content_id,
    fit_in_force,
    read_department,
    read_described,
    write_department,
    write_fit,
)
from patency.errors import InputErrors
from tests.small_site import SMALL_SITE

FIT = {
    "carrier": "Wren",
    "machine_kind": "front_loader",
    "number": 1,
    "fitted_on": "2026-03-02",
    "by": "J. Miller",
    "source": "8 readings of 2026-03-02",
    "readings": ["0" * 64],
    "pump_head_share": 0.02,
    "factors": {"dock": {"factor": 1.2, "low": 1.1, "high": 1.31}},
    "covariance": [[0.002]],
}


def made(**changes: object) -> CommissionedFit:
    """A fit with the id that belongs to it."""
    first = CommissionedFit.model_validate({**FIT, **changes, "id": "f" * 64})
    return first.model_copy(update={"id": content_id(first)})


def site_with(*fits: CommissionedFit) -> dict[str, str]:
    """The small department with the files of some fits."""
    return {**SMALL_SITE, **{f"fit-{place}.yaml": write_fit(f"fit {place}", fit) for place, fit in enumerate(fits)}}


def test_the_fit_of_the_highest_number_is_in_force_whatever_the_order_of_the_files() -> None:
    department = read_department(site_with(made(number=2, by="K. Jones"), made(number=1)))
    fit = fit_in_force(department, "Wren", "front_loader")
    assert fit is not None
    assert fit.by == "K. Jones"


def test_nothing_is_in_force_for_what_was_never_commissioned() -> None:
    department = read_department(site_with(made()))
    assert fit_in_force(department, "Heron", "front_loader") is None
    assert fit_in_force(read_department(SMALL_SITE), "Wren", "front_loader") is None


def test_a_department_with_a_fit_reads_back_equal_when_written() -> None:
    department = read_department(site_with(made()))
    assert read_department(write_department(department)) == department


@pytest.mark.parametrize(
    ("was", "now", "says"),
    [
        ("factor: 1.2", "factor: 1.21", "commissioned.fit 0.id: the entry was changed after the fit"),
        ("by: J. Miller", "by: K. Jones", "the entry was changed after the fit"),
        ("low: 1.1", "low: 1.3", "1.3, 1.2, 1.31 out of order (expected: low, factor, high in order)"),
        ("- [0.002]", "- [0.002, 0]", "not 1 rows of 1 numbers (expected: one row for each factor)"),
        ("carrier: Wren", "carrier: Heron", "commissioned.fit 0.carrier"),
        ("machine_kind: front_loader", "machine_kind: other", "commissioned.fit 0.machine_kind"),
    ],
)
def test_a_fit_that_cannot_be_used_is_refused_in_one_line(was: str, now: str, says: str) -> None:
    files = site_with(made())
    assert was in files["fit-0.yaml"]
    files["fit-0.yaml"] = files["fit-0.yaml"].replace(was, now)
    with pytest.raises(InputErrors) as refused:
        read_department(files)
    assert any(says in fault.line for fault in refused.value.faults), [fault.line for fault in refused.value.faults]


FIRST_ID = "6a14fa594b2fe72459df7c095669652dcdd8e2fc6ad92fbfe0dff35b3269f76b"
CYCLES = {"machine": "Alpha", "on_top_of": 1, "records": ["1" * 64]}


def test_what_is_known_from_the_bench_alone_is_kept_apart_from_what_cycles_said() -> None:
    department = read_department(site_with(made(), made(number=2, readings=[], cycles=CYCLES)))
    latest, bench = (find(department, "Wren", "front_loader") for find in (fit_in_force, bench_fit_of))
    assert latest is not None
    assert bench is not None
    assert (latest.number, bench.number) == (2, 1)
    assert latest.cycles is not None
    assert latest.cycles.records == ["1" * 64]
    assert read_department(write_department(department)) == department


def test_the_id_of_a_fit_to_the_bench_is_that_of_a_file_without_cycles_and_the_cycles_count_in_others() -> None:
    """Frozen from the first version that kept fits: files of that time are still taken for unchanged."""
    assert made().id == FIRST_ID
    one = made(readings=[], cycles=CYCLES)
    assert one.id != made(readings=[], cycles={**CYCLES, "records": ["2" * 64]}).id


@pytest.mark.parametrize("changes", [{"readings": []}, {"cycles": CYCLES}])
def test_a_fit_is_made_from_readings_on_the_bench_or_from_cycles(changes: dict[str, object]) -> None:
    with pytest.raises(ValueError, match="readings and cycles, or neither"):
        made(**changes)


def test_a_number_given_twice_is_refused() -> None:
    with pytest.raises(InputErrors, match="1 is that of 'fit 0' too"):
        read_department(site_with(made(), made(by="K. Jones")))


MEASURED = """\
format: patency-measurements/1
site: Small Infirmary (invented)
carrier: Wren
machine_kind: front_loader
instruments:
  bucket: {uncertainty: 2 %, source: common practice}
setups:
  A: {open: [H1], temperature: 20 °C}
readings:
- {setup: A, instrument: bucket, at: H1, volume: 1 L, time: 20 s}
"""


def test_a_bucket_and_a_stopwatch_give_a_flow() -> None:
    measured = read_described(Measurements, MEASURED, "bench.yaml")
    assert measured.readings[0].value == pytest.approx(5e-5)


@pytest.mark.parametrize(
    ("was", "now", "says"),
    [
        (", time: 20 s", "", "volume alone (expected: time and volume)"),
        ("time: 20 s", "pressure: 20 mbar", "pressure of a bucket (expected: time and volume)"),
        ("time: 20 s", "time: 0 s", "a reading of zero (expected: more than zero, or the reading left empty)"),
        ("time: 20 s", "time: 20", "20 has no unit"),
        ("instrument: bucket", "instrument: spoon", "readings[0].instrument"),
        ("uncertainty: 2 %", "uncertainty: 0 %", "'0 %' is too small"),
    ],
)
def test_a_reading_that_cannot_be_used_is_refused_in_one_line(was: str, now: str, says: str) -> None:
    with pytest.raises(InputErrors) as refused:
        read_described(Measurements, MEASURED.replace(was, now), "bench.yaml")
    lines = [fault.line for fault in refused.value.faults]
    assert any(says in line and line.startswith("bench.yaml:") for line in lines), lines


def test_a_reading_left_empty_has_no_value() -> None:
    empty = read_described(Measurements, MEASURED.replace(", volume: 1 L, time: 20 s", ""), "bench.yaml")
    assert empty.readings[0].value is None
