"""Lets no fit be made from what drifts, unless somebody says why it shall be."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

CYCLES_BETWEEN_FALSE_ALARMS = 1000.0
"""Mean number of readings of one port or sensor until it is taken to drift though nothing happened."""
_LONGEST = 120


def refuse_nobody(by: str, where: str = "by", expected: str = "a name") -> None:
    """Stop where nobody answers for a fit, or no reason is given.

    Parameters
    ----------
    by
        The name or reason given.
    where
        Where it was given.
    expected
        What it should be.

    Raises
    ------
    InputError
        If it is none.
    """
    if not (by.strip() == by and by.isprintable() and 0 < len(by) <= _LONGEST):
        raise InputError(where, f"{by[:20]!r}", f"{expected} of one line, at most {_LONGEST} signs")


def taken_despite(drifts: Sequence[str], reason: str | None, others: str) -> str:
    """Stop where something drifts and nobody says why it shall be taken.

    Parameters
    ----------
    drifts
        What drifts, in words.
    reason
        Why it shall be taken all the same; None where nobody says.
    others
        What could be given in its place.

    Returns
    -------
    str
        What the fit's source says of it; empty where nothing drifts.

    Raises
    ------
    InputError
        If something drifts without a reason, or a reason is given and nothing drifts.
    """
    if reason is not None:
        refuse_nobody(reason, "--despite-drift", "a reason")
        if not drifts:
            raise InputError("--despite-drift", "nothing drifts", "it left out")
        return f", although {'; '.join(drifts)}: {reason}"
    if drifts:
        raise InputError("drift", "; ".join(drifts), f"{others}, or --despite-drift with the reason")
    return ""
