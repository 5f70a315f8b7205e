"""Many ask at once, one writes: commands that wait are written together, each acknowledged after the common commit.

Whoever finds nobody writing writes for all who wait by then, in one transaction and in the order in which they came; so
a disk that takes long for a commit is asked once for all of them, and nobody waits behind somebody who came later. Each
request stands alone: one that is refused, or that fails, takes no other with it.
"""

from __future__ import annotations

import threading
from collections import deque
from typing import TYPE_CHECKING

from sqlalchemy.exc import OperationalError

from patency.errors import StoreError
from patency.ledger.writing import Batch

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.ledger.commands import Command
    from patency.ledger.fields import Circumstances
    from patency.ledger.refusing import Refused
    from patency.ledger.store import Store
    from patency.ledger.writing import Appended

_MOST = 500
"""How many commands are written in one transaction, so that the first who waits does not wait for too many others."""


class _Request:
    """Commands of which all or none are written, and what became of them."""

    def __init__(self, commands: Sequence[tuple[Command, Circumstances]]) -> None:
        self.commands = commands
        self.outcome: list[Appended] | Refused | None = None
        self.fault: BaseException | None = None
        self.turn = threading.Event()  # answered, or first in the queue with nobody writing

    @property
    def answered(self) -> bool:
        return self.outcome is not None or self.fault is not None


class Queue:
    """The requests that wait to be written into a store.

    Parameters
    ----------
    store
        The store.
    """

    def __init__(self, store: Store) -> None:
        self._store = store
        self._guard = threading.Lock()
        self._waiting: deque[_Request] = deque()
        self._somebody_writes = False

    def write(self, commands: Sequence[tuple[Command, Circumstances]]) -> list[Appended] | Refused:
        """Write commands, all or none, together with what others ask at the same time.

        Parameters
        ----------
        commands
            In order, each with who, when, where, under which key.

        Returns
        -------
        list[Appended] or Refused
            For each command the numbers of its events, which are on the disk; or why the first that was refused was.

        Raises
        ------
        StoreError
            When they could not be written; then nothing was.
        """
        mine = _Request(commands)
        with self._guard:
            self._waiting.append(mine)
            i_write, self._somebody_writes = not self._somebody_writes, True
        try:
            if not i_write:
                mine.turn.wait()
        except BaseException:  # stopped from the keyboard while waiting
            self._give_up(mine)
            raise
        if not mine.answered:
            self._write_for_all()
        if mine.fault is not None:
            raise mine.fault
        assert mine.outcome is not None  # noqa: S101 - answered without a fault
        return mine.outcome

    def _write_for_all(self) -> None:
        """Write what waits, answer it, and leave the next turn to whoever came first meanwhile."""
        with self._guard:
            together = [self._waiting.popleft()]
            count = len(together[0].commands)
            while self._waiting and count + len(self._waiting[0].commands) <= _MOST:
                together.append(self._waiting.popleft())
                count += len(together[-1].commands)
        try:
            self._answer(together)
        except BaseException as fault:
            _fail(together, StoreError(self._store.name, f"was interrupted: {fault!r}", "the same under the same key"))
            raise
        finally:
            for one in together:
                one.turn.set()
            with self._guard:
                self._leave_the_turn()

    def _leave_the_turn(self) -> None:
        self._somebody_writes = bool(self._waiting)
        if self._waiting:
            self._waiting[0].turn.set()

    def _give_up(self, mine: _Request) -> None:
        with self._guard:
            if mine in self._waiting:
                self._waiting.remove(mine)
                if mine.turn.is_set():
                    self._leave_the_turn()

    def _answer(self, together: list[_Request]) -> None:
        try:
            outcomes = self._in_one_transaction(together)
        except Exception as fault:  # noqa: BLE001 - told to whoever asked
            if len(together) == 1 or _concerns_all(fault):
                _fail(together, fault)
                return
            for one in together:  # somebody's fault: find out whose, so that the others do not suffer it
                self._answer([one])
        else:
            for one, outcome in zip(together, outcomes, strict=True):
                one.outcome = outcome

    def _in_one_transaction(self, together: list[_Request]) -> list[list[Appended] | Refused]:
        with self._store.writing() as connection:
            batch = Batch(connection, [around.command for one in together for _, around in one.commands])
            outcomes = [batch.add_all(one.commands) for one in together]
            batch.write()
        return outcomes


def _concerns_all(fault: Exception) -> bool:
    """Tell whether the store failed, whatever it was asked to write: busy, full, away."""
    return isinstance(fault, StoreError) and isinstance(fault.__cause__, OperationalError)


def _fail(together: list[_Request], fault: Exception) -> None:
    """Give everybody a fault of their own; one that several raised would mix up their tracebacks."""
    first, *others = (one for one in together if not one.answered)
    first.fault = fault
    for one in others:
        if isinstance(fault, StoreError):
            one.fault = StoreError(fault.where, fault.what, fault.expected)
            one.fault.__cause__ = fault.__cause__
        else:
            one.fault = fault
