"""The rules of the ledger alone, without a store: decisions and effects on values in memory."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from patency.ledger import Appended, Head, Refused
from patency.ledger.applying import apply
from patency.ledger.chain import canonical, digest
from patency.ledger.deciding import decide
from patency.ledger.events import Event
from patency.ledger.state import State
from patency.ledger.writing import asked_for

if TYPE_CHECKING:
    from patency.ledger import Circumstances, Command
    from patency.ledger.things import T


class Memory:
    """Takes commands as a ledger does and forgets them in the end."""

    def __init__(self) -> None:
        self._state = State()
        self._head = Head()
        self.events: list[dict[str, Any]] = []
        self.taken: list[tuple[Command, Circumstances]] = []

    def append(self, command: Command, around: Circumstances) -> Appended | Refused:
        decided = decide(self._state, command, around, events_so_far=self._head.seq)
        if isinstance(decided, Refused):
            return decided
        self.taken.append((command, around))
        first = self._head.seq + 1
        for part, payload in enumerate(decided):
            event = Event(self._head.seq + 1, part, asked_for(command, around), around, payload, self._head.digest)
            self._head = Head(event.seq, digest(canonical(event.as_data())))
            apply(self._state, event)
            self.events.append(event.as_data())
        return Appended(first, self._head.seq, self._head.digest)

    def find(self, kind: type[T], key: str) -> T | None:
        return self._state.find(kind, key)

    def head(self) -> Head:
        return self._head
