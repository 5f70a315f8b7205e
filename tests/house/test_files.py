"""What the repository holds: nothing of one machine, no broken link, and a wheel that carries every file it needs."""

from __future__ import annotations

import re
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.house.source import PACKAGE, ROOT, place, repository_files, text_of

HOSTS = re.compile("|".join(["py" + r"pi\.org", "python" + "hosted", r"registry\.npm" + "js", r"deb\.deb" + "ian"]))
MACHINE = re.compile(r"(?<![\w.*-])/(work|root|farm|tmp|home|Users)/(?=\w)")
LINK = re.compile(r"\]\((?!https?:|mailto:|#)([^)#\s]+)")
MODULE = re.compile(r"`([\w/]+/\w+\.py)`")


def strangers(text: str) -> list[str]:
    """Find places of one machine and hosts of package indexes."""
    return [found.group(0) for pattern in (HOSTS, MACHINE) for found in pattern.finditer(text)]


def test_no_file_names_a_place_of_one_machine_or_the_host_of_an_index() -> None:
    own = Path(__file__)
    found = [f"{place(file)} {what}" for file in repository_files() if file != own for what in strangers(text_of(file))]
    assert found == []


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("see /home/somebody", 1),
        ("cd /home/anna/x", 1),
        ("https://py" + "pi.org/simple", 1),
        ("net/home/out and ~/home", 0),
        ("docs/home/page", 0),
    ],
)
def test_a_place_of_one_machine_is_found(text: str, count: int) -> None:
    assert len(strangers(text)) == count


def broken_links(page: Path) -> list[str]:
    """Find links to files that are not there."""
    return [target for target in LINK.findall(text_of(page)) if not (page.parent / target).exists()]


def test_links_between_pages_lead_somewhere() -> None:
    pages = [file for file in repository_files() if file.suffix == ".md"]
    assert pages
    assert [f"{place(page)} {target}" for page in pages for target in broken_links(page)] == []


def test_a_link_to_nothing_is_found(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text("[itself](page.md#top), [outside](https://example.org), ![gone](gone.svg)")
    assert broken_links(page) == ["gone.svg"]


@pytest.mark.slow
def lost_modules(text: str, modules: list[str]) -> list[str]:
    """Find modules that a page names by their path and that are in no room."""
    return [name for name in MODULE.findall(text) if not any(f"/{module}".endswith(f"/{name}") for module in modules)]


def test_a_module_named_on_a_page_is_where_the_page_says() -> None:
    pages = [file for file in repository_files() if file.suffix == ".md"]
    modules = [place(file) for file in repository_files() if file.suffix == ".py"]
    assert [f"{place(page)} {name}" for page in pages for name in lost_modules(text_of(page), modules)] == []


def test_a_module_that_moved_is_found() -> None:
    assert lost_modules("see `flow/solver.py` and `flow/gone.py`", ["src/patency/flow/solver.py"]) == ["flow/gone.py"]


def test_the_wheel_carries_every_file_of_the_package(tmp_path: Path) -> None:
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(tmp_path), str(ROOT)],
        check=True,
        capture_output=True,
    )
    with zipfile.ZipFile(next(tmp_path.glob("*.whl"))) as wheel:
        carried = set(wheel.namelist())
    needed = {
        str(file.relative_to(PACKAGE.parent))
        for file in PACKAGE.rglob("*")
        if file.is_file() and "__pycache__" not in file.parts
    }
    assert sorted(needed - carried) == []
    assert any(name.endswith("licenses/LICENSE") for name in carried)
