"""Reading and writing files."""

from __future__ import annotations

from pathlib import Path

import pytest

from patency.errors import InputError
from patency.steps import read_text, write_all


def test_text_is_read_with_or_without_a_byte_order_mark(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"\xef\xbb\xbf4.2 \xc2\xb1 0.1 mm")
    assert read_text(tmp_path / "a") == "4.2 ± 0.1 mm"


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="nowhere: No such file"):
        read_text(tmp_path / "nowhere")


def test_a_folder_is_no_text(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="directory"):
        read_text(tmp_path)


def test_bytes_that_are_not_utf8_are_counted_out(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"abc\xff")
    with pytest.raises(InputError, match="byte 4 is not UTF-8"):
        read_text(tmp_path / "a")


def test_files_are_written_into_folders_made_for_them_and_leave_no_drafts(tmp_path: Path) -> None:
    written = write_all(tmp_path / "new", {"a.txt": b"1", "deep/b.txt": b"2"})
    assert [path.read_bytes() for path in written] == [b"1", b"2"]
    assert sorted(path.name for path in (tmp_path / "new").rglob("*") if path.is_file()) == ["a.txt", "b.txt"]


def test_a_folder_that_is_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("here first", encoding="utf-8")
    with pytest.raises(InputError, match="taken"):
        write_all(tmp_path / "taken", {"a.txt": b"1"})
    assert (tmp_path / "taken").read_text(encoding="utf-8") == "here first"


def test_a_file_larger_than_one_cycle_or_plan_can_be_is_refused_before_it_is_read(tmp_path: Path) -> None:
    huge = tmp_path / "huge.csv"
    with huge.open("wb") as file:
        file.truncate(1_200_000_000)  # a hole: it takes no room
    with pytest.raises(
        InputError, match=r"huge\.csv: 1144 MiB, which is more than one cycle or plan can hold"
    ) as refused:
        read_text(huge)
    assert refused.value.expected.startswith("at most 64 MiB, one cycle or test in a file; patency evidence cut")
