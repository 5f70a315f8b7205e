"""Cycles cut out of files too large for one: bit for bit, with their lines, in bounded memory."""

from __future__ import annotations

import json
import tracemalloc
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from patency.cli import main
from patency.errors import InputError
from patency.steps import cut_cycles, cut_time, record_cutting

DESCRIPTION = """\
format: patency-record/1
time: {column: time, unit: s}
columns:
  T1: {quantity: temperature, unit: degC, place: chamber, uncertainty: 0.5}
"""
HEADER = b"time,run,T1\r\n"


@pytest.fixture
def described(tmp_path: Path) -> Path:
    (tmp_path / "r.yaml").write_text(DESCRIPTION, encoding="utf-8")
    return tmp_path / "r.yaml"


def rows(cycle: str, first: int, many: int) -> bytes:
    return b"".join(f'{second},{cycle},"{20 + second}"\r\n'.encode() for second in range(first, first + many))


def test_every_cycle_is_cut_out_bit_for_bit_with_its_lines(tmp_path: Path, described: Path) -> None:
    one, two = rows("17", 0, 5), rows("a/b", 9, 3)
    path = tmp_path / "week.csv"
    path.write_bytes(b"\xef\xbb\xbf" + HEADER + one + b"5,,20\r\n" + two + b"12,a/b")
    done = cut_cycles(path, described, "run", tmp_path / "out")
    assert [(each.name, each.first_line, each.last_line) for each in done.records] == [
        ("week-17.csv", 2, 6),
        ("week-a%2Fb.csv", 8, 11),
    ]
    assert done.faults == ()
    assert (tmp_path / "out" / "week-17.csv").read_bytes() == b"\xef\xbb\xbf" + HEADER + one
    assert (tmp_path / "out" / "week-a%2Fb.csv").read_bytes() == b"\xef\xbb\xbf" + HEADER + two + b"12,a/b"
    assert [each.size for each in done.records] == [
        path.stat().st_size for path in sorted((tmp_path / "out").iterdir())
    ]


def test_a_cycle_that_lies_in_two_places_is_not_cut_out(tmp_path: Path, described: Path) -> None:
    path = tmp_path / "week.csv"
    path.write_bytes(HEADER + rows("1", 0, 2) + rows("2", 2, 2) + rows("1", 4, 2) + rows("3", 6, 1))
    done = cut_cycles(path, described, "run", tmp_path / "out")
    assert [each.name for each in done.records] == ["week-2.csv", "week-3.csv"]
    assert done.faults == (
        f"{path}: cycle '1' stands in lines 2 to 3 and begins again at line 6 (expected: each cycle in one piece)",
    )
    assert sorted(each.name for each in (tmp_path / "out").iterdir()) == ["week-2.csv", "week-3.csv"]


def test_a_cycle_larger_than_a_record_is_not_cut_out_and_the_next_is(
    tmp_path: Path, described: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(record_cutting, "LARGEST_BYTES", 100)
    path = tmp_path / "week.csv"
    path.write_bytes(HEADER + rows("1", 0, 20) + rows("2", 20, 2))
    done = cut_cycles(path, described, "run", tmp_path / "out")
    assert [each.name for each in done.records] == ["week-2.csv"]
    assert "cycle '1' from line 2 on is larger than" in done.faults[0]
    with pytest.raises(InputError, match="from line 2 to line 21"):
        cut_time(path, described, "0", "19", tmp_path / "out")


def test_a_record_is_cut_out_by_its_time(tmp_path: Path, described: Path) -> None:
    path = tmp_path / "week.csv"
    path.write_bytes(HEADER + rows("1", 0, 3) + b"x,1,20\r\n" + rows("1", 3, 7))
    done = cut_time(path, described, "2", "4.5", tmp_path / "out")
    (one,) = done.records
    assert (one.name, one.first_line, one.last_line) == ("week-lines-4-7.csv", 4, 7)
    assert (tmp_path / "out" / one.name).read_bytes() == HEADER + rows("1", 2, 1) + b"x,1,20\r\n" + rows("1", 3, 2)


def test_stamps_are_cut_at_moments_with_their_offset(tmp_path: Path, described: Path) -> None:
    described.write_text(DESCRIPTION.replace("unit: s", "unit: iso8601"), encoding="utf-8")
    path = tmp_path / "week.csv"
    path.write_bytes(b"time;T1\n" + b"".join(b"2026-05-01T14:00:0%d+02:00;20\n" % second for second in range(9)))
    done = cut_time(path, described, "2026-05-01T12:00:03Z", "2026-05-01T14:00:05+02:00", tmp_path / "out")
    assert (done.records[0].first_line, done.records[0].last_line) == (5, 7)
    for begin, what in (("2026-05-01T12:00:03", "cannot be read"), ("2026-05-02T12:00:03Z", "no row from")):
        with pytest.raises(InputError, match=what):
            cut_time(path, described, begin, "2026-05-03T12:00:03Z", tmp_path / "out")


def test_decimal_commas_are_read_as_described(tmp_path: Path, described: Path) -> None:
    described.write_text(DESCRIPTION.replace("columns:", 'decimal: ","\ncolumns:'), encoding="utf-8")
    path = tmp_path / "week.csv"
    path.write_bytes(b"time;T1\n0,5;20\n1,5;21\n2,5;22\n")
    assert cut_time(path, described, "1,0", "2,0", tmp_path / "out").records[0].first_line == 3


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"t,run,T1\n0,1,20\n", "line 1: the header has no time column"),
        (b"time,T1\n0,20\n", "line 1: no column 'run'"),
        (b"", "line 1: the header has no time column"),
        (HEADER + b"0" * (2**20 + 5), "line 2: longer than 1 MiB"),
    ],
)
def test_what_cannot_be_cut_is_refused_with_its_line(
    tmp_path: Path, described: Path, content: bytes, said: str
) -> None:
    path = tmp_path / "week.csv"
    path.write_bytes(content)
    with pytest.raises(InputError, match=said):
        cut_cycles(path, described, "run", tmp_path / "out")


def test_a_file_that_is_not_there_is_named(tmp_path: Path, described: Path) -> None:
    with pytest.raises(InputError, match="No such file"):
        cut_cycles(tmp_path / "no", described, "run", tmp_path)
    with pytest.raises(InputError, match="No such file"):
        cut_time(tmp_path / "no", described, "0", "1", tmp_path)


def test_a_row_with_broken_quotes_belongs_to_no_cycle(tmp_path: Path, described: Path) -> None:
    path = tmp_path / "week.csv"
    path.write_bytes(HEADER + b'0,1,20\n1,"1"x"\n2\n' + b'"3","1","20"\n')
    done = cut_cycles(path, described, "run", tmp_path / "out")
    assert done.records == ()
    assert "begins again" in done.faults[0]


def call(*words: str) -> Result:
    return CliRunner().invoke(main, ["evidence", "cut", *words])


def test_what_is_cut_can_be_judged(tmp_path: Path, described: Path) -> None:
    path = tmp_path / "week.csv"
    path.write_bytes(HEADER + rows("1", 0, 30) + rows("2", 40, 30))
    out = tmp_path / "out"
    words = [str(path), "--description", str(described), "--out", str(out)]
    result = call(*words, "--cycle-column", "run", "--json")
    assert (result.exit_code, len(json.loads(result.stdout)["records"])) == (0, 2)
    judged = CliRunner().invoke(main, ["evidence", "judge", str(out / "week-2.csv"), "--description", str(described)])
    assert (judged.exit_code, "A0" in judged.stdout) == (1, True)
    assert call(*words, "--from", "40", "--until", "50").stdout.startswith("week-lines-32-42.csv: lines 32 to 42")
    for wrong in ([], ["--from", "1"], ["--cycle-column", "run", "--from", "1", "--until", "2"]):
        assert call(*words, *wrong).exit_code == 2


def test_memory_does_not_grow_with_the_file(tmp_path: Path, described: Path) -> None:
    def peak(cycles: int) -> int:
        path = tmp_path / "week.csv"
        body = b"".join(b"%d,*,20.00\r\n" % second for second in range(3600))
        path.write_bytes(HEADER + b"".join(body.replace(b",*,", b",%d," % number) for number in range(cycles)))
        tracemalloc.start()
        done = cut_cycles(path, described, "run", tmp_path / "out")
        _, most = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        assert len(done.records) == cycles
        return most

    small, large = peak(2), peak(40)
    assert (tmp_path / "week.csv").stat().st_size > 2_000_000
    assert large < 4 * 2**20  # two buffers of 1 MiB
    assert large - small < 2**18
