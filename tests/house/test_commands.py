"""Every command is described, documented and quick to ask for help; every command line in the pages exists."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from typing import TYPE_CHECKING

import click
import pytest
from click.testing import CliRunner

from patency.cli import PatencyCommand, PatencyGroup, main
from tests.house.source import ROOT, place, text_of

if TYPE_CHECKING:
    from collections.abc import Iterator

PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]
HEAVY = {"CoolProp", "matplotlib", "numba", "numpy", "ortools", "pandas", "pydantic", "scipy", "typst", "yaml"}
FENCE = re.compile(r"^```(?:console|sh|shell|bash)\n(.*?)^```", re.MULTILINE | re.DOTALL)


def commands(group: click.Group, path: str = "") -> Iterator[tuple[str, click.Command]]:
    """Walk through the commands below a group, each with its words."""
    for name, command in group.commands.items():
        yield f"{path} {name}".strip(), command
        if isinstance(command, click.Group):
            yield from commands(command, f"{path} {name}".strip())


def undocumented(group: click.Group, text: str) -> list[str]:
    """Name the commands that no page shows."""
    return [
        path
        for path, command in commands(group)
        if not isinstance(command, click.Group) and not re.search(rf"\bpatency {re.escape(path)}\b", text)
    ]


def test_every_command_is_shown_on_a_page() -> None:
    assert undocumented(main, "\n".join(text_of(page) for page in PAGES)) == []


def test_every_command_and_option_says_what_it_does_and_answers_as_json() -> None:
    for path, command in commands(main):
        assert command.help, path
        assert isinstance(command, PatencyCommand | PatencyGroup), path
        options = [option for option in command.params if isinstance(option, click.Option)]
        assert [option.name for option in options if not option.help] == [], path


def test_the_lists_of_commands_say_whole_sentences() -> None:
    groups = [("", main), *((path, one) for path, one in commands(main) if isinstance(one, click.Group))]
    for path, group in groups:
        shown = CliRunner().invoke(main, [*path.split(), "--help"], terminal_width=80).stdout.partition("Commands:")[2]
        assert len(shown.strip().splitlines()) == len(group.commands), f"{path}: {shown}"
        assert all(line.endswith(".") and not line.endswith("...") for line in shown.strip().splitlines()), shown


def unknown_words(line: str, group: click.Group) -> str:
    """Say what of a command line does not exist; empty where all does."""
    command: click.Command = group
    words = iter(shlex.split(line, comments=True)[1:])
    known = {"--help", "--version", "--json", "-h"}
    for word in words:
        if word in {"|", ">", "&&", ";"}:
            break
        if word.startswith("-"):
            if word.split("=")[0] not in known | {name for option in command.params for name in option.opts}:
                return word
        elif isinstance(command, click.Group):
            if word not in command.commands:
                return word
            command = command.commands[word]
    return ""


def shown_lines(text: str) -> Iterator[str]:
    """Walk through the calls of the program that a page shows in its command blocks."""
    for block in FENCE.findall(text):
        for line in block.replace("\\\n", " ").splitlines():
            call = re.sub(r"^\s*\$ ", "", line).strip()
            call = re.sub(r"^\S*/patency ", "patency ", call)
            if call.startswith("patency "):
                yield call


def test_every_command_line_shown_on_a_page_exists() -> None:
    found = [
        f"{place(page)} {line}: {word}"
        for page in PAGES
        for line in shown_lines(text_of(page))
        if (word := unknown_words(line, main))
    ]
    assert found == []


@click.group(cls=PatencyGroup)
def example() -> None:
    """Stand in for the program."""


@example.group()
def site() -> None:
    """Hold one command."""


@site.command()
@click.argument("folder")
@click.option("--out")
def check(folder: str, out: str) -> None:
    """Do nothing."""


def test_a_command_no_page_shows_is_found() -> None:
    assert undocumented(example, "`patency site` does things") == ["site check"]
    assert undocumented(example, "run `patency site check FOLDER`") == []


@pytest.mark.parametrize(
    ("line", "word"),
    [
        ("patency site check here --out there --json", ""),
        ("patency site check here --out=there | head --lines 3", ""),
        ("patency site survey here", "survey"),
        ("patency site check here --into there", "--into"),
    ],
)
def test_a_command_line_that_does_not_exist_is_found(line: str, word: str) -> None:
    page = f"Text\n\n```console\n$ .venv-demo/bin/{line}\nanswer\n```\n"
    assert [unknown_words(shown, example) for shown in shown_lines(page)] == [word]


def loaded_by(program: str) -> set[str]:
    """Run a program and name the top packages it imported."""
    result = subprocess.run(
        [sys.executable, "-X", "importtime", "-c", program], capture_output=True, text=True, check=True
    )
    return {line.rpartition("|")[2].strip().partition(".")[0] for line in result.stderr.splitlines()}


def test_help_loads_no_heavy_library() -> None:
    loaded = loaded_by("from patency.cli import main; main(['--help'])")
    assert "click" in loaded
    assert loaded & HEAVY == set()


def test_a_heavy_library_is_found() -> None:
    assert loaded_by("import yaml") & HEAVY == {"yaml"}
