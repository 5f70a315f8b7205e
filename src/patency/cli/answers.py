"""How every command answers: as text for people, as JSON for programs, with a status for both.

Every command answers with an `Answer`. What a person reads and what a program reads are two views
of it, and the exit status follows from it: 0 done and acceptable, 1 done and something falls short,
2 the input could not be used. Commands import what they need inside themselves, so that
``patency --help`` stays quick.
"""

from __future__ import annotations

import enum
import json
from contextlib import contextmanager
from dataclasses import dataclass
from typing import IO, TYPE_CHECKING

import click

from patency.errors import InputErrors, PatencyError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence


class Outcome(enum.IntEnum):
    """How a command that could use its input ended; the value is the exit status."""

    ACCEPTABLE = 0
    FALLS_SHORT = 1


@dataclass(frozen=True)
class Answer:
    """What a command found.

    Parameters
    ----------
    text
        The answer for people, printed on standard output.
    data
        The same for programs, printed there in its place under ``--json``; keys and values as JSON knows them.
    outcome
        Whether everything asked for is acceptable.
    """

    text: str
    data: Mapping[str, object]
    outcome: Outcome = Outcome.ACCEPTABLE


class Refusal(click.ClickException):
    """The input could not be used: one line for each fault on standard error, exit status 2.

    Parameters
    ----------
    lines
        The faults, each saying where it lies and what was expected.
    """

    exit_code = 2

    def __init__(self, lines: Sequence[str]) -> None:
        super().__init__("\n".join(lines))

    def show(self, file: IO[str] | None = None) -> None:
        """Print the faults.

        Parameters
        ----------
        file
            Where to print; standard error where nothing is given.
        """
        click.echo(self.message, file=file, err=file is None)


@contextmanager
def _refusing() -> Iterator[None]:
    """Turn what is wrong with the input into a `Refusal`."""
    try:
        yield
    except click.exceptions.NoArgsIsHelpError:
        raise
    except click.UsageError as error:
        place = error.ctx.command_path if error.ctx else "patency"
        raise Refusal([f"{place}: {error.format_message()}"]) from error
    except InputErrors as error:
        raise Refusal([fault.line for fault in error.faults]) from error
    except PatencyError as error:
        raise Refusal([error.line]) from error


_JSON_OPTION = click.Option(["--json", "as_json"], is_flag=True, help="Answer with one JSON object.")


class PatencyCommand(click.Command):
    """A command that takes ``--json`` and prints the `Answer` its function returns."""

    def get_params(self, ctx: click.Context) -> list[click.Parameter]:
        """List the command's own parameters and the option all commands share.

        Parameters
        ----------
        ctx
            The call.

        Returns
        -------
        list
            The parameters.
        """
        return [*super().get_params(ctx), _JSON_OPTION]

    def invoke(self, ctx: click.Context) -> None:
        """Run the command and print its answer.

        Parameters
        ----------
        ctx
            The call.
        """
        as_json = ctx.params.pop("as_json", False)
        answer = super().invoke(ctx)
        if isinstance(answer, Answer):
            click.echo(_as_json(answer.data) if as_json else answer.text)
            ctx.exit(answer.outcome)


def _as_json(data: Mapping[str, object]) -> str:
    return json.dumps(data, ensure_ascii=False, indent=2, allow_nan=False)


class PatencyGroup(click.Group):
    """A group whose commands take ``--json`` and refuse input they cannot use with one line for each fault."""

    command_class = PatencyCommand
    group_class = type

    def make_context(
        self,
        info_name: str | None,
        args: list[str],
        parent: click.Context | None = None,
        **extra: object,
    ) -> click.Context:
        """Read the group's own options.

        Parameters
        ----------
        info_name
            The name the group was called by.
        args
            What follows it.
        parent
            The call of the group around it.
        **extra
            Settings of the call.

        Returns
        -------
        click.Context
            The call.
        """
        with _refusing():
            return super().make_context(info_name, args, parent, **extra)

    def invoke(self, ctx: click.Context) -> None:
        """Read the command's name and options and run it.

        Parameters
        ----------
        ctx
            The call.
        """
        with _refusing():
            super().invoke(ctx)
