"""Solves one network file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.errors import InputError, InputErrors
from patency.flow import parse_network, solve
from patency.steps.files import read_text

if TYPE_CHECKING:
    from pathlib import Path

    from patency.flow import FlowResult


def solve_network(path: Path) -> FlowResult:
    """Solve a network file.

    Parameters
    ----------
    path
        A file of format ``patency-network/1``.

    Returns
    -------
    FlowResult
        Flows, heads and what happens in every segment.

    Raises
    ------
    InputErrors
        With every fault of the file, each with the file's name and the place inside.
    """
    text = read_text(path)
    try:
        network = parse_network(text)
    except InputErrors as refusal:
        raise InputErrors([_in_file(path, fault) for fault in refusal.faults]) from refusal
    except InputError as fault:
        raise _in_file(path, fault) from fault
    return solve(network)


def _in_file(path: Path, fault: InputError) -> InputError:
    return InputError(f"{path}: {fault.where}", fault.what, fault.expected)
