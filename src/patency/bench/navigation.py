"""The places of the bench, in the order in which they are offered."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Destination:
    """A place.

    Parameters
    ----------
    route
        Name of its route.
    path
        Its path.
    name
        What it is called, in English; pages say it in their language.
    """

    route: str
    path: str
    name: str

    def here(self, path: str) -> bool:
        """Say whether a page belongs to this place.

        Parameters
        ----------
        path
            Of the page.

        Returns
        -------
        bool
            Whether its path begins with the place's.
        """
        return path == self.path or path.startswith(f"{self.path}/")


PLACES = (
    Destination("board", "/board", "Board"),
    Destination("receiving", "/receiving", "Receive"),
    Destination("loading", "/loading", "Load"),
    Destination("unloading", "/unloading", "Unload"),
    Destination("clean", "/clean", "Clean side"),
    Destination("releases", "/release", "Release"),
    Destination("holds", "/holds", "Holds"),
    Destination("trace", "/trace", "Trace"),
    Destination("stock", "/stock", "Accessories"),
    Destination("laboratories", "/laboratory", "Flow laboratory"),
    Destination("reaches", "/reach", "Jet view"),
    Destination("staff", "/staff", "Staff"),
)
"""All places; a person sees those that are open to the role."""
