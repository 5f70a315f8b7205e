"""A record that comes as a Parquet file: read by the same description, judged the same, refused with its row."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from pathlib import Path

import duckdb
import numpy as np
import pytest

from patency.errors import InputError, InputErrors
from patency.evidence import Counted, Evidence, FindingKind, judge
from patency.steps import read_record_files
from tests.evidence.cycles import ALL_SEEN, LIMITS, MACHINE, PREDICTION, PROGRAMME, TODAY, good_cycle


def written(folder: Path, text: str, description: str, kinds: dict[str, str] | None = None) -> tuple[Path, Path, Path]:
    """Write a record as CSV and as Parquet: numbers where every cell is one, else text."""
    folder.mkdir(exist_ok=True)
    as_csv, as_parquet, beside = folder / "r.csv", folder / "r.parquet", folder / "r.yaml"
    as_csv.write_text(text, encoding="utf-8")
    beside.write_text(description, encoding="utf-8")
    header, *rows = csv.reader(io.StringIO(text))
    columns = ", ".join(f"'{name}': '{(kinds or {}).get(name, _kind(rows, at))}'" for at, name in enumerate(header))
    source = f"read_csv('{as_csv}', header=true, delim=',', nullstr='', columns={{{columns}}})"
    with duckdb.connect(":memory:") as opened:
        opened.execute(f"COPY (SELECT * FROM {source}) TO '{as_parquet}' (FORMAT parquet)")
    return as_csv, as_parquet, beside


def _kind(rows: list[list[str]], at: int) -> str:
    try:
        [float(row[at] or 0) for row in rows]
    except ValueError:
        return "VARCHAR"
    return "DOUBLE"


def judged(record: Path, description: Path) -> Evidence:
    read = read_record_files(record, description).read()
    return judge(
        read,
        PROGRAMME,
        LIMITS,
        PREDICTION,
        on=TODAY,
        eye_check=ALL_SEEN,
        programme_key="short",
        machine=MACHINE,
    )


def told(evidence: Evidence) -> dict[str, object]:
    """Leave out what differs by its nature: the digest, and that rows are counted without a header."""
    findings = [
        replace(one, counted=Counted.ROWS, lines=tuple(line - (one.counted is Counted.LINES) for line in one.lines))
        for one in evidence.findings
    ]
    return evidence.model_copy(update={"record_sha256": "", "findings": tuple(findings)}).model_dump(mode="json")


@pytest.mark.parametrize("kind", ["good", "cold", "gaps", "holes"])
def test_the_same_record_as_csv_and_as_parquet_gives_the_same_verdict_bit_for_bit(tmp_path: Path, kind: str) -> None:
    cycle = good_cycle()
    if kind == "cold":
        cycle = cycle.with_column("T2", lambda _, values: np.copyto(values, values - 3.3))
    if kind == "gaps":
        cycle = cycle.without(700, 715)
    if kind == "holes":
        cycle = cycle.with_column("T1", lambda _, values: np.copyto(values[900:905], np.nan))
    as_csv, as_parquet, beside = written(tmp_path, cycle.text(), cycle.description)
    one, other = judged(as_csv, beside), judged(as_parquet, beside)
    assert told(one) == told(other)
    assert one.record_sha256 != other.record_sha256
    assert one.verdict.value == {"good": "met", "holes": "met"}.get(kind, "not met")


DESCRIPTION = """\
format: patency-record/1
time: {column: time, unit: s}
columns:
  T1: {quantity: temperature, unit: degC, place: load, uncertainty: 0.5, range: [0, 110]}
  step: {quantity: stage}
"""
TEXT = "time,T1,step,extra\n0,20.5,flush,a\n1,21.5,flush,\n2,22.5,rinse,c\n"


def refused(tmp_path: Path, text: str, description: str = DESCRIPTION, **kinds: str) -> tuple[list[str], list[str]]:
    """Return the faults of a record as CSV and as Parquet, without the file's name."""
    as_csv, as_parquet, beside = written(tmp_path, text, description, kinds)
    lines = []
    for path in (as_csv, as_parquet):
        with pytest.raises(InputErrors) as caught:
            read_record_files(path, beside).read()
        lines.append([fault.line.replace(str(path), "r") for fault in caught.value.faults])
    return lines[0], lines[1]


def test_a_cell_that_cannot_be_read_is_named_with_its_row_and_column(tmp_path: Path) -> None:
    one, other = refused(tmp_path, TEXT.replace("21.5", "warm"))
    assert one == ["r, line 3, column T1: 'warm' cannot be read (expected: a number with '.' as decimal sign)"]
    assert other == [one[0].replace("line 3", "row 2")]


def test_a_number_without_end_is_none(tmp_path: Path) -> None:
    one, other = refused(tmp_path, TEXT.replace("21.5", "inf"))
    assert other == [one[0].replace("line 3", "row 2")]


def test_a_stage_that_is_not_known_and_a_time_that_is_missing_are_named(tmp_path: Path) -> None:
    one, other = refused(tmp_path, TEXT.replace("rinse", "soak").replace("\n1,", "\n,"))
    assert [line.replace("line 3", "row 2").replace("line 4", "row 3") for line in one] == other
    assert [line.partition(": ")[0] for line in other] == ["r, row 2, column time", "r, row 3, column step"]


def test_a_column_that_is_not_there_is_named(tmp_path: Path) -> None:
    one, other = refused(tmp_path, TEXT.replace("T1", "T9"))
    assert other == [one[0].replace("r, line 1", "r")]
    assert "no column 'T1'" in other[0]
    assert refused(tmp_path, TEXT.replace("time", "t"))[1] == [
        "r: the record has no time column (expected: a column 'time')"
    ]
    assert refused(tmp_path, "time,T1,step\n")[1] == ["r: no samples (expected: one row per sample)"]


def test_what_was_noticed_counts_rows_and_unknown_columns_are_kept_as_written(tmp_path: Path) -> None:
    _, as_parquet, beside = written(tmp_path, TEXT.replace("21.5", "500"), DESCRIPTION)
    record = read_record_files(as_parquet, beside).read()
    (outside,) = [one for one in record.findings if one.kind is FindingKind.OUT_OF_RANGE]
    assert outside.text == "T1: not a measurement; counted as missing (row 2)"
    assert record.others == {"extra": ("a", "", "c")}
    _, numbers, _ = written(tmp_path, "time,T1,step,extra\n0,20,flush,1.5\n1,20,flush,\n", DESCRIPTION)
    assert read_record_files(numbers, beside).read().others == {"extra": ("1.5", "")}


def test_moments_need_their_zone(tmp_path: Path) -> None:
    stamped = DESCRIPTION.replace("unit: s", "unit: iso8601")
    text = "time,T1,step\n2026-05-01T14:00:00.5+02:00,20,flush\n2026-05-01T12:00:02Z,21,flush\n"
    as_csv, as_parquet, beside = written(tmp_path, text, stamped, {"time": "TIMESTAMPTZ"})
    records = [read_record_files(path, beside).read() for path in (as_csv, as_parquet)]
    assert records[0].started == records[1].started
    assert [record.time_s.tolist() for record in records] == [[0.0, 1.5], [0.0, 1.5]]
    bare = "time,T1,step\n2026-05-01 14:00:00,20,flush\n2026-05-01 14:00:01,21,flush\n"
    _, other = refused(tmp_path, bare, stamped, time="TIMESTAMP")
    assert other[0].startswith(
        "r, row 1, column time: '2026-05-01 14:00:00' cannot be read (expected: a stamp with its"
    )


def test_numbers_are_no_moments(tmp_path: Path) -> None:
    _, other = refused(tmp_path, TEXT, DESCRIPTION.replace("unit: s", "unit: iso8601"))
    assert other[1].startswith("r, row 2, column time: '1.0' cannot be read (expected: a stamp with its offset")


def test_files_that_are_no_parquet_record_are_refused(tmp_path: Path) -> None:
    beside = tmp_path / "r.yaml"
    beside.write_text(DESCRIPTION, encoding="utf-8")
    for name, content, words in (
        ("a.parquet", b"PAR1 and no more", "No magic bytes"),
        ("b[1].parquet", b"", "a name with"),
    ):
        (tmp_path / name).write_bytes(content)
        with pytest.raises(InputError, match=words):
            read_record_files(tmp_path / name, beside)
    with pytest.raises(InputError, match="No such file"):
        read_record_files(tmp_path / "none.parquet", beside)


def test_more_rows_than_a_cycle_can_have_are_refused_before_they_are_read(tmp_path: Path) -> None:
    with duckdb.connect(":memory:") as opened:
        opened.execute(
            f"COPY (SELECT 0.0 AS time, 1 AS a FROM range(10000001)) TO '{tmp_path}/big.parquet' (FORMAT parquet)"
        )
    (tmp_path / "r.yaml").write_text(DESCRIPTION, encoding="utf-8")
    with pytest.raises(InputError, match="10000001 rows of 2 columns"):
        read_record_files(tmp_path / "big.parquet", tmp_path / "r.yaml")
