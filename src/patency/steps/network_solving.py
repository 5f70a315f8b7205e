"""Solves one network file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.errors import InputError, PhysicsError
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
    PhysicsError
        If the pump is driven beyond its run-out, with the file's name.
    """
    network = parse_network(read_text(path), str(path))
    try:
        return solve(network)
    except InputError as fault:
        raise InputError(f"{path}: {fault.where}", fault.what, fault.expected) from fault
    except PhysicsError as fault:
        raise PhysicsError(f"{path}: {fault.where}", fault.what, fault.expected) from fault
