"""Counts of things as people say them."""

from __future__ import annotations


def people_count(count: int, one: str, several: str | None = None) -> str:
    """Say how many of a thing there are.

    Parameters
    ----------
    count
        How many.
    one
        The thing, of one.
    several
        The thing, of none or several; with an s where it is left out.

    Returns
    -------
    str
        Number and thing.
    """
    return f"{count} {one if count == 1 else several or f'{one}s'}"
