"""Results as a table, and their charts by family, position and machine."""

from __future__ import annotations

import json
import math

import pytest

from patency.errors import InputErrors
from patency.evidence import chart_results, charts_document, read_results, read_settings

SETTINGS = """\
format: patency-charts/1
results:
  residual protein: {chart: ewma, unit: µg, run_length: 370, weight: 0.2, scale: logarithm}
  TOC: {chart: individuals, unit: mg/L, run_length: 370, step: 0.1}
  visual findings: {chart: counts, run_length: 200, acceptable: 0.02, unacceptable: 0.08}
"""
HEAD = "at,result,sample,family,machine,value,inspected,found\n"


def faults(table: str) -> list[str]:
    with pytest.raises(InputErrors) as refused:
        read_results(table, read_settings(SETTINGS), "r.csv")
    return [fault.line for fault in refused.value.faults]


def test_results_are_charted_for_each_family_and_a_signal_names_its_samples() -> None:
    rows = [f"2026-03-{day:02}T08:00+01:00,visual findings,V{day},grasper,Alder,,10,0\n" for day in range(1, 9)]
    rows += [f"2026-03-{day:02}T08:00+01:00,visual findings,V{day},grasper,Alder,,10,2\n" for day in range(9, 11)]
    rows += [f"2026-03-{day:02}T09:00+01:00,visual findings,W{day},trocar,Alder,,10,0\n" for day in range(1, 12)]
    settings = read_settings(SETTINGS)
    charts = chart_results(read_results(HEAD + "".join(reversed(rows)), settings), settings, "family")
    assert [(one.group, len(one.chart.signals)) for one in charts] == [("grasper", 1), ("trocar", 0)]
    document = json.loads(json.dumps(charts_document(charts), allow_nan=False))
    (signal,) = document["charts"][0]["signals"]
    assert signal["samples"] == ["V9", "V10"]
    (together,) = chart_results(read_results(HEAD + "".join(rows), settings), settings, "all")
    assert len(together.labels) == 21


def test_values_below_what_can_be_told_count_as_that_and_are_charted_by_their_logarithm() -> None:
    settings = read_settings(SETTINGS)
    table = HEAD + "2026-03-01T08:00Z,residual protein,P1,grasper,Alder,<5,,\n2026-03-02T08:00Z,TOC,T1,,,1.5,,\n"
    results = read_results(table, settings)
    assert results["residual protein"][0].value == pytest.approx(math.log(5))
    charts = chart_results(results, settings, "machine")
    assert [(one.result, one.group, one.shown) for one in charts] == [
        ("residual protein", "Alder", (pytest.approx(5.0),)),
        ("TOC", "not stated", (1.5,)),
    ]


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("2026-03-01T08:00,TOC,T1,,,1,,", "r.csv:2: at: '2026-03-01T08:00' (expected: a moment with its offset"),
        ("yesterday,TOC,T1,,,1,,", "r.csv:2: at: 'yesterday'"),
        ("2026-03-01T08:00Z,ATP,T1,,,1,,", "r.csv:2: result: 'ATP' (expected: one of: residual protein, TOC"),
        ("2026-03-01T08:00Z,TOC,,,,1,,", "r.csv:2: sample: empty"),
        ("2026-03-01T08:00Z,TOC,T1,,,nan,,", "r.csv:2: value: 'nan' (expected: a number"),
        ("2026-03-01T08:00Z,TOC,T1,,,1e999,,", "r.csv:2: value: '1e999'"),
        ("2026-03-01T08:00Z,TOC,T1,,,,,", "r.csv:2: value: ''"),
        ("2026-03-01T08:00Z,residual protein,T1,,,0,,", "r.csv:2: value: 0 has no logarithm"),
        ("2026-03-01T08:00Z,visual findings,T1,,,,0,0", "r.csv:2: inspected: '0' (expected: a whole number of at"),
        ("2026-03-01T08:00Z,visual findings,T1,,,,5,-1", "r.csv:2: found: '-1'"),
        ("2026-03-01T08:00Z,TOC,T1,,,1,,,,", "r.csv:2: more cells than columns"),
        ("2026-03-01T08:00Z,TOC", "r.csv:2: sample: empty"),
        ('2026-03-01T08:00Z,"TOC', "r.csv:2: not a table"),
        ("", "r.csv:1: no result in it"),
    ],
)
def test_a_bad_row_is_refused_with_its_place(row: str, says: str) -> None:
    (line,) = faults(HEAD + row + "\n")
    assert line.startswith(says)


@pytest.mark.parametrize("head", ["", "at,result\n", "at,result,sample,at\n"])
def test_a_table_without_its_columns_is_refused(head: str) -> None:
    assert faults(head)[0].startswith("r.csv:1: ")


@pytest.mark.parametrize(
    ("was", "now", "says"),
    [
        ("run_length: 370, step", "run_length: 2, step", "s.yaml:4: "),
        ("unacceptable: 0.08", "unacceptable: 0.01", "s.yaml:5: "),
        ("chart: ewma", "chart: pie", "s.yaml:3: "),
        ("patency-charts/1", "patency-charts/9", "s.yaml:1: "),
    ],
)
def test_bad_settings_are_refused_with_their_line(was: str, now: str, says: str) -> None:
    with pytest.raises(InputErrors) as refused:
        read_settings(SETTINGS.replace(was, now), "s.yaml")
    assert refused.value.faults[0].line.startswith(says)
