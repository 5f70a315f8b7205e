"""All that is so now, as far as one decision asks: things fetched when asked for, changes kept aside."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.ledger.things import NAMES, address

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

    from patency.ledger.things import T, Thing


def _nothing(_places: Sequence[tuple[str, str]]) -> Mapping[tuple[str, str], Thing]:
    return {}


class State:
    """What is so now.

    Parameters
    ----------
    fetch
        Finds things by the names of their kinds and their keys; what it leaves out is not there. Asked once for each.
    """

    def __init__(
        self, fetch: Callable[[Sequence[tuple[str, str]]], Mapping[tuple[str, str], Thing]] = _nothing
    ) -> None:
        self._fetch = fetch
        self._known: dict[tuple[str, str], Thing | None] = {}
        self._changed: dict[tuple[str, str], int] = {}

    def copy(self) -> State:
        """Return a state that knows the same and goes its own way from here.

        Returns
        -------
        State
            The copy.
        """
        made = State(self._fetch)
        made._known, made._changed = dict(self._known), dict(self._changed)
        return made

    def want(self, kind: type[T], keys: Iterable[str]) -> None:
        """Fetch several things at once that will be asked for.

        Parameters
        ----------
        kind
            Their type.
        keys
            Their keys.
        """
        places = [place for key in keys if (place := (NAMES[kind], key)) not in self._known]
        if places:
            found = self._fetch(places)
            self._known.update((place, found.get(place)) for place in places)

    def find(self, kind: type[T], key: str) -> T | None:
        """Find a thing.

        Parameters
        ----------
        kind
            Its type.
        key
            Its key.

        Returns
        -------
        T or None
            None where there is none.
        """
        place = (NAMES[kind], key)
        if place not in self._known:
            self.want(kind, (key,))
        found = self._known[place]
        return found if isinstance(found, kind) else None

    def get(self, kind: type[T], key: str) -> T:
        """Return a thing that an event or another thing names.

        Parameters
        ----------
        kind
            Its type.
        key
            Its key.

        Returns
        -------
        T
            The thing.

        Raises
        ------
        KeyError
            Where there is none: then the events do not fit each other.
        """
        found = self.find(kind, key)
        if found is None:
            raise KeyError(NAMES[kind], key)
        return found

    def put(self, thing: Thing, seq: int) -> None:
        """Put a thing as it is from now on.

        Parameters
        ----------
        thing
            The thing.
        seq
            The event that made it so.
        """
        place = address(thing)
        self._known[place] = thing
        self._changed[place] = seq

    def take_changes(self) -> Iterator[tuple[Thing, int]]:
        """Hand out every thing put since the last call, once, as it is now.

        Yields
        ------
        tuple[Thing, int]
            The thing and the event that made it so.
        """
        changed, self._changed = self._changed, {}
        for place, seq in changed.items():
            thing = self._known[place]
            if thing is not None:
                yield thing, seq
