"""From readings to factors: what is learned, what cannot be told apart, which reading stands out, what comes later."""

from __future__ import annotations

import math

import numpy as np
import pytest

from patency.catalogue import Measurements, read_described
from patency.errors import InputError
from patency.flow.commissioning.fitting import fit_readings
from patency.flow.commissioning.model import BenchModel
from patency.flow.commissioning.parameters import Factors, described_parameters
from patency.flow.commissioning.telling_apart import cannot_tell_apart
from tests.flow.commissioning.bench_cases import MEASURED, small_bench
from tests.small_site import small_department

EMPTY = [line for line in MEASURED.splitlines() if line.startswith("- {")]


def filled(truth: dict[str, float]) -> str:
    """The small bench with readings of a department whose factors are known, written as a person does."""
    model = BenchModel(*small_bench())
    names, values = tuple(truth), np.log(list(truth.values()))
    text = MEASURED
    for line, reading, shown in zip(EMPTY, model.readings, model.predict(names, values).shown, strict=True):
        if reading.instrument == "bucket":
            value = f"volume: 2 L, time: {2e-3 / math.exp(shown):.3f} s"
        elif reading.instrument == "meter":
            value = f"flow: {math.exp(shown) * 6e4:.4f} L/min"
        else:
            value = f"pressure: {shown / 100.0:.3f} mbar"
        text = text.replace(line, f"{line[:-1]}, {value}, on: 2026-03-02}}", 1)
    return text


def fitted(text: str, before: Factors | None = None) -> tuple[BenchModel, Factors, dict[str, float]]:
    """The model of some measurements, what was known before, and the factors found."""
    department = small_department()
    model = BenchModel(department, read_described(Measurements, text, "bench.yaml"))
    known = before or described_parameters(list(model.benches.values()), department.limits.flow)
    fit = fit_readings(model, known)
    return model, fit.after, dict(zip(known.names, np.exp(fit.after.mean), strict=True))


def test_a_nozzle_with_more_resistance_than_described_is_found_out() -> None:
    _, after, factors = fitted(filled({"injector nozzle 6 mm": 1.25}))
    row = after.names.index("injector nozzle 6 mm")
    assert math.log(1.25) == pytest.approx(after.mean[row], abs=2.0 * after.spread[row])
    assert factors["injector nozzle 6 mm"] > 1.1
    assert after.spread[row] < 0.1


def test_a_department_as_described_stays_as_described() -> None:
    _, _, factors = fitted(filled({}))
    assert list(factors.values()) == pytest.approx([1.0] * len(factors), abs=2e-3)


def test_readings_in_two_parts_one_after_the_other_say_what_all_of_them_say() -> None:
    text = filled({"hoses of 3 mm": 1.1, "pump head": 0.98})
    lines = [line for line in text.splitlines() if line.startswith("- {")]
    first = "\n".join(line for line in text.splitlines() if line not in lines[4:]) + "\n"
    second = "\n".join(line for line in text.splitlines() if line not in lines[:4]) + "\n"
    department = small_department()
    whole = BenchModel(department, read_described(Measurements, text, "bench.yaml"))
    before = described_parameters(list(whole.benches.values()), department.limits.flow)
    at_once = fit_readings(whole, before).after
    _, halfway, _ = fitted(first, before)
    _, in_two, _ = fitted(second, halfway)
    assert in_two.mean == pytest.approx(at_once.mean, abs=0.05 * float(at_once.spread.min()))
    assert in_two.spread == pytest.approx(at_once.spread, rel=0.02)


def test_a_reading_that_does_not_fit_stands_out_and_makes_the_whole_improbable() -> None:
    text = filled({})
    good = fit_readings(*prepared(text))
    assert not any(one.stands_out for one in good.readings)
    assert good.improbability > 0.9
    wrong = EMPTY[0][:-1]
    broken = text.replace(wrong + ", volume: 2 L", wrong + ", volume: 4 L")
    assert broken != text
    bad = fit_readings(*prepared(broken))
    assert next(one.reading.at for one in bad.readings if one.stands_out) == "H1"
    assert bad.improbability < 1e-6


def prepared(text: str) -> tuple[BenchModel, Factors]:
    """Model and description's doubts of some measurements."""
    department = small_department()
    model = BenchModel(department, read_described(Measurements, text, "bench.yaml"))
    return model, described_parameters(list(model.benches.values()), department.limits.flow)


def test_readings_left_empty_do_not_count() -> None:
    lines = filled({}).splitlines()
    part = "\n".join(EMPTY[1] if line.startswith(EMPTY[1][:-1]) else line for line in lines) + "\n"
    assert len(fit_readings(*prepared(part)).readings) == 7
    with pytest.raises(InputError, match="nothing was read"):
        fit_readings(*prepared(MEASURED))


def test_measured_predicted_and_described_stand_in_units_of_the_quantity() -> None:
    fit = fit_readings(*prepared(filled({"hoses of 3 mm": 1.3})))
    bucket, gauge = fit.readings[0], fit.readings[1]
    assert bucket.measured == pytest.approx(bucket.predicted, rel=0.02)
    assert bucket.described > 1.02 * bucket.measured
    assert 5e4 < gauge.predicted < 8e4
    assert 0.0 < fit.pump_head_share < 0.1
    low, factor, high = fit.interval(0)
    assert low < factor < high


def test_hose_and_port_of_one_kind_cannot_be_told_apart_by_flows_through_both() -> None:
    fit = fit_readings(*prepared(filled({})))
    words = " / ".join(group.words for group in fit.confounded)
    assert "hose ports of 3 mm and hoses of 3 mm cannot be told apart" in words
    assert "arm lower" in words
    assert "pump head" not in words


def test_what_no_reading_touches_and_what_only_goes_together_is_said_in_words() -> None:
    rows = np.array([[1.0, 1.0, 0.0, 0.0], [0.0, 0.0, 0.0, 1.0]]) * 10.0
    found = cannot_tell_apart(rows, np.eye(4), ["a", "b", "c", "d"])
    assert sorted(group.words for group in found) == [
        "a and b cannot be told apart: more of a with less of b gives the same readings",
        "the readings say next to nothing about c",
    ]
    together = cannot_tell_apart(np.array([[10.0, -10.0, 0.0], [0.0, 0.0, 9.0]]), np.eye(3), ["a", "b", "c"])
    assert [group.words for group in together] == [
        "a and b cannot be told apart: more of all of them together gives the same readings"
    ]
    assert cannot_tell_apart(10.0 * np.eye(3), np.eye(3), ["a", "b", "c"]) == ()
