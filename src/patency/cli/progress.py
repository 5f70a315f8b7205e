"""What long work is doing, told on a terminal; nothing in a pipe."""

from __future__ import annotations

import sys

import click


def tell(words: str) -> None:
    """Show what is being done, in place of what was shown before.

    Parameters
    ----------
    words
        A few words; empty to clear the line.
    """
    if sys.stderr.isatty():
        click.echo(f"\r\x1b[2K{words}", err=True, nl=False)
