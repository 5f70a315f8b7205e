"""The lock files pin what pyproject.toml asks for, with hashes, the same in both, and name no index."""

from __future__ import annotations

import re
import tomllib

import pytest
from packaging.requirements import Requirement

from tests.house.source import ROOT

PIN = re.compile(
    r"^(?P<requirement>[A-Za-z0-9][^\\\n]*?) \\\n(?P<hashes>(?:    --hash=sha256:[0-9a-f]{64}(?: \\)?\n)+)",
    re.MULTILINE,
)


def name_of(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def pins(text: str) -> dict[str, list[Requirement]]:
    """Read a lock file: for each package its pinned versions, one for each range of Pythons."""
    found: dict[str, list[Requirement]] = {}
    for match in PIN.finditer(text):
        requirement = Requirement(match["requirement"])
        found.setdefault(name_of(requirement.name), []).append(requirement)
    return found


def unpinned(wanted: list[str], locked: dict[str, list[Requirement]]) -> list[str]:
    """Name what is asked for and not pinned, or pinned to a version that was not asked for."""
    faults = []
    for line in wanted:
        requirement = Requirement(line)
        versions = [str(next(iter(pin.specifier)).version) for pin in locked.get(name_of(requirement.name), [])]
        if not versions or not all(requirement.specifier.contains(version) for version in versions):
            faults.append(line)
    return faults


RUNTIME = (ROOT / "requirements.lock").read_text(encoding="utf-8")
DEVELOPMENT = (ROOT / "requirements-dev.lock").read_text(encoding="utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def test_both_locks_pin_what_the_package_needs() -> None:
    extras = PROJECT["optional-dependencies"]
    wanted = PROJECT["dependencies"] + extras["build"]
    assert unpinned(wanted, pins(RUNTIME)) == []
    assert unpinned(wanted + [line for line in extras["dev"] if "patency[" not in line], pins(DEVELOPMENT)) == []


def test_both_locks_pin_the_same_versions() -> None:
    development = pins(DEVELOPMENT)
    differing = [name for name, pinned in pins(RUNTIME).items() if pinned != development.get(name)]
    assert differing == []
    assert len(development) > len(pins(RUNTIME)) > len(PROJECT["dependencies"])


@pytest.mark.parametrize("text", [RUNTIME, DEVELOPMENT])
def test_every_line_of_a_lock_is_a_pin_with_hashes(text: str) -> None:
    assert PIN.sub("", text) == ""


def test_a_missing_and_a_wrong_pin_are_found() -> None:
    text = "click==8.0.0 \\\n    --hash=sha256:" + "0" * 64 + "\n"
    assert unpinned(["click>=8.1", "numpy>=2", "Click>=8"], pins(text)) == ["click>=8.1", "numpy>=2"]
    assert PIN.sub("", "--index-url https://example.org\n" + text) == "--index-url https://example.org\n"
