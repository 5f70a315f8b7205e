"""Moments as people read them."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime


def people_moment(at: datetime) -> str:
    """Write a moment to the minute, with its zone.

    Parameters
    ----------
    at
        The moment.

    Returns
    -------
    str
        Such as ``2026-11-27 08:10 UTC``; no zone where the moment has none.

    Examples
    --------
    >>> from datetime import datetime
    >>> people_moment(datetime.fromisoformat("2026-11-27T08:10:59+01:00"))
    '2026-11-27 08:10 UTC+01:00'
    """
    return f"{at:%Y-%m-%d %H:%M %Z}".rstrip()
