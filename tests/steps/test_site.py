"""A department's folder: which files are read, what is refused, what the check finds."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from patency.errors import InputErrors
from patency.steps import check_site, read_site
from tests.small_site import SMALL_SITE, changed, small_department

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path


def written(folder: Path, texts: Mapping[str, str] = SMALL_SITE) -> Path:
    """Write the files of a department into a folder."""
    for name, text in texts.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def faults(folder: Path) -> list[str]:
    """Read a folder that cannot be used and return the lines."""
    with pytest.raises(InputErrors) as refused:
        read_site(folder)
    return [fault.line for fault in refused.value.faults]


def test_files_in_folders_below_are_read_and_hidden_ones_and_others_are_not(tmp_path: Path) -> None:
    texts = {f"below/{name.replace('.yaml', '.yml')}": text for name, text in SMALL_SITE.items()}
    more = {".hidden.yaml": "x: [", ".git/x.yaml": "x: [", "notes.txt": "x: [", "folder.yaml/readme.md": "x"}
    reading = read_site(written(tmp_path, {**texts, **more}))
    line = SMALL_SITE["instruments.yaml"].split("\n  Noon:")[0].count("\n") + 2
    assert reading.department == small_department()
    assert reading.place(("sets", "Noon")) == f"below/instruments.yml:{line}"


def test_a_byte_order_mark_and_line_ends_of_other_systems_change_nothing(tmp_path: Path) -> None:
    for name, text in SMALL_SITE.items():
        (tmp_path / name).write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert read_site(tmp_path).department == small_department()


def test_what_is_no_folder_or_holds_no_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file.yaml").write_text("x", encoding="utf-8")
    (tmp_path / "empty").mkdir()
    assert faults(tmp_path / "none") == [
        f"{tmp_path}/none: no such folder (expected: a folder with the YAML files of a department)"
    ]
    assert "not a folder" in faults(tmp_path / "file.yaml")[0]
    assert "no YAML file in it" in faults(tmp_path / "empty")[0]


def test_every_file_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_bytes("site: Krankenhaus\nx: ä".encode("latin-1"))
    (tmp_path / "b.yaml").symlink_to(tmp_path / "gone.yaml")
    assert faults(tmp_path) == [
        "a.yaml:2: a character that is not UTF-8 (expected: text saved as UTF-8)",
        "b.yaml: cannot be read: No such file or directory (expected: a file that may be read)",
    ]


def test_every_fault_of_every_file_is_told_at_once(tmp_path: Path) -> None:
    broken = changed(changed(SMALL_SITE, "mass: 25 g", "mass: 25"), "docks: [Wren]", "docks: [Robin]")
    assert [line.split(":")[0] for line in faults(written(tmp_path, broken))] == ["instruments.yaml", "machines.yaml"]


def test_a_whole_department_is_counted_and_nothing_is_unknown(tmp_path: Path) -> None:
    found = check_site(written(tmp_path))
    assert found.site == "Small Infirmary (invented)"
    assert (found.counts["sets"], found.counts["carriers"], found.counts["ports"]) == (2, 1, 6)
    assert found.unknowns == ()


def test_the_check_counts_where_the_sites_defaults_stand_in(tmp_path: Path) -> None:
    texts = changed(SMALL_SITE, "bore: 4.2 ± 0.05 mm", "bore: 4.2 mm")
    before = {one.limit: one.count for one in check_site(written(tmp_path)).defaults}
    after = {one.limit: one.count for one in check_site(written(tmp_path, texts)).defaults}
    bore = "limits.flow.bore_tolerance"
    assert set(before) == {bore, "limits.flow.rod_tolerance", "limits.flow.roughness", "limits.flow.default_loss"}
    assert after == {**before, bore: before[bore] + 1}
