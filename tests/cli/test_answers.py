"""How commands answer: text or JSON, exit status, one line for each fault."""

from __future__ import annotations

import json

import click
import pytest
from click.testing import CliRunner, Result

from patency.cli import Answer, Outcome, PatencyGroup, main
from patency.errors import InputError, InputErrors


@click.group(cls=PatencyGroup)
def department() -> None:
    """Stand in for the real group."""


@department.command()
@click.argument("load", type=int)
def weigh(load: int) -> Answer:
    """Answer with a mass."""
    outcome = Outcome.ACCEPTABLE if load < 10 else Outcome.FALLS_SHORT
    return Answer(text=f"{load} kg: größer", data={"mass_kg": load, "word": "größer"}, outcome=outcome)


@department.command()
def stumble() -> Answer:
    """Meet one fault."""
    where, what, expected = "site.yaml:3", "no such port 'P9'", "P0 to P8"
    raise InputError(where, what, expected)


@department.command()
def stumble_often() -> Answer:
    """Meet several faults."""
    raise InputErrors([InputError("a.yaml:1", "unknown key"), InputError("b.yaml:2", "negative bore", "a length")])


@department.command()
def serve() -> None:
    """Answer nothing."""


@department.group()
def shelf() -> None:
    """Hold commands below a name."""


@shelf.command()
def look() -> Answer:
    """Answer from below a name."""
    return Answer(text="three", data={"sets": 3})


def run(*words: str) -> Result:
    return CliRunner().invoke(department, words)


def test_an_acceptable_answer_is_printed_as_text_and_ends_with_0() -> None:
    result = run("weigh", "3")
    assert (result.exit_code, result.stdout, result.stderr) == (0, "3 kg: größer\n", "")


def test_an_answer_that_falls_short_is_printed_and_ends_with_1() -> None:
    result = run("weigh", "30")
    assert (result.exit_code, result.stdout) == (1, "30 kg: größer\n")


def test_json_is_one_object_and_nothing_else_on_standard_output() -> None:
    result = run("weigh", "30", "--json")
    assert json.loads(result.stdout) == {"mass_kg": 30, "word": "größer"}
    assert result.exit_code == 1
    assert result.stderr == ""


def test_a_fault_is_one_line_on_standard_error_and_ends_with_2() -> None:
    result = run("stumble")
    assert result.stderr == "site.yaml:3: no such port 'P9' (expected: P0 to P8)\n"
    assert (result.exit_code, result.stdout) == (2, "")


def test_several_faults_are_one_line_each() -> None:
    result = run("stumble-often", "--json")
    assert result.stderr == "a.yaml:1: unknown key\nb.yaml:2: negative bore (expected: a length)\n"
    assert (result.exit_code, result.stdout) == (2, "")


def test_a_command_without_answer_prints_nothing_and_ends_with_0() -> None:
    result = run("serve")
    assert (result.exit_code, result.output) == (0, "")


def test_commands_below_a_name_share_the_behaviour() -> None:
    assert run("shelf", "look").stdout == "three\n"
    assert json.loads(run("shelf", "look", "--json").stdout) == {"sets": 3}


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (["weigh"], "department weigh: Missing argument 'LOAD'.\n"),
        (["weigh", "heavy"], "department weigh: Invalid value for 'LOAD': 'heavy' is not a valid integer.\n"),
        (["weigh", "3", "--loud"], "department weigh: No such option '--loud'.\n"),
        (["lift"], "department: No such command 'lift'.\n"),
        (["--loud"], "department: No such option '--loud'.\n"),
        (["shelf", "lift"], "department shelf: No such command 'lift'.\n"),
    ],
)
def test_words_the_command_line_does_not_know_are_refused_with_one_line(words: list[str], line: str) -> None:
    result = run(*words)
    assert (result.exit_code, result.stdout, result.stderr) == (2, "", line)


def test_without_a_command_the_help_is_shown() -> None:
    assert "Usage:" in CliRunner().invoke(main, []).output
    assert "Usage:" in run("shelf").output


def test_the_version_is_the_packages() -> None:
    result = CliRunner().invoke(main, ["--version"])
    assert result.exit_code == 0
    assert result.output.startswith("patency, version 0.")


def test_commands_for_one_load_or_all_describe_the_option_in_the_same_words() -> None:
    told = {
        option.help
        for name in ("envelope", "faults", "flow", "margin")
        for option in main.commands[name].params
        if isinstance(option, click.Option) and option.name == "load_id"
    }
    assert told == {"One load of the plan only; all where left out."}
