"""The department the bench works in: its description, plan, ledger, accounts and clock, opened once."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from patency.bench.people import open_people
from patency.bench.people.sessions import find_session
from patency.ledger import InstrumentSet, Kind, LoadRecord, Person, Versions, open_ledger
from patency.steps import KeptReach, Workplace, read_meshes, read_planned, read_text

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from patency.bench.people import People
    from patency.bench.people.sessions import Session
    from patency.catalogue import Department
    from patency.ledger import Ledger
    from patency.load import Plan


@dataclass(frozen=True, slots=True)
class Clock:
    """What tells the time, and what it is called in the ledger.

    Parameters
    ----------
    now
        Returns the moment, with its zone.
    name
        Such as ``station clock``.
    """

    now: Callable[[], datetime]
    name: str


def station_clock() -> Clock:
    """Return the clock of this computer.

    Returns
    -------
    Clock
        In UTC.
    """
    return Clock(lambda: datetime.now(UTC), "station clock")


def shifted_clock(folder: Path, stands_at: datetime | None = None) -> Clock:
    """Return the clock of a demo, which runs as fast as any other and shows the demo's day.

    Parameters
    ----------
    folder
        Where its shift is kept, so that it goes on over a restart.
    stands_at
        What it shows now; None to go on as kept.

    Returns
    -------
    Clock
        The clock of this computer where no shift is kept.
    """
    kept = folder / "clock.json"
    if stands_at is not None:
        shift_s = (stands_at - datetime.now(UTC)).total_seconds()
        kept.write_text(json.dumps({"shift_s": shift_s}), encoding="utf-8")
    if not kept.exists():
        return station_clock()
    shift_s = float(json.loads(read_text(kept))["shift_s"])
    return Clock(lambda: datetime.fromtimestamp(datetime.now(UTC).timestamp() + shift_s, UTC), "demo clock")


@dataclass(frozen=True, slots=True)
class Opened:
    """Everything a page may ask for.

    Parameters
    ----------
    folder
        Where it all is; cycle records lie in ``records`` below it.
    department
        The department.
    plan
        The plan of its day.
    ledger
        What happened.
    people
        Accounts and sessions.
    clock
        What tells the time.
    versions
        Of plan, catalogue and limits, for every event.
    sheets
        Load sheets that were worked out.
    judged
        Records that were judged.
    reach
        What jets strike of loads, as far as it was computed.
    """

    folder: Path
    department: Department
    plan: Plan
    ledger: Ledger
    people: People
    clock: Clock
    versions: Versions
    sheets: dict[Any, Any] = field(default_factory=dict)
    judged: dict[Any, Any] = field(default_factory=dict)
    reach: KeptReach = field(default_factory=lambda: KeptReach({}))

    @property
    def workplace(self) -> Workplace:
        """What steps at the bench work with."""
        return Workplace(self.ledger, self.department, self.plan, self.sheets)

    def programme_name(self, key: str) -> str:
        """Say what people call a programme.

        Parameters
        ----------
        key
            Of a washer's or a sterilizer's programme.

        Returns
        -------
        str
            Its name in the department; the key itself where the department does not describe it.
        """
        washing, steaming = self.department.programmes.get(key), self.department.steam_programmes.get(key)
        named = washing or steaming
        return named.name if named else key

    def knows(self, about: Kind, key: str) -> bool:
        """Say whether there is such a set or load.

        Parameters
        ----------
        about
            A set or a load.
        key
            Which one.

        Returns
        -------
        bool
            True also for a load that is planned and was not begun.
        """
        if about is Kind.SET:
            return self.ledger.find(InstrumentSet, key) is not None
        planned = any(load.id == key for load in self.plan.loads)
        return planned or self.ledger.find(LoadRecord, key) is not None

    def behind(self, token: str, now: datetime) -> tuple[Session | None, Person | None]:
        """Find the session of a token, and the person who acts in it.

        Parameters
        ----------
        token
            Of a browser or a program; empty for none.
        now
            The moment.

        Returns
        -------
        tuple[Session | None, Person | None]
            The session, None where there is none; the person, None also where the session is locked.
        """
        session = find_session(self.people, token, now) if token else None
        return session, self.ledger.find(Person, session.person) if session and not session.locked else None

    def close(self) -> None:
        """Close ledger and accounts."""
        self.ledger.close()
        self.people.close()


def open_folder(folder: Path, clock: Clock) -> Opened:
    """Open the folder the bench works in.

    Parameters
    ----------
    folder
        Holds ``site``, ``plan.json``, ``records`` and ``ledger.sqlite``; ``people.sqlite`` is made.
    clock
        What tells the time.

    Returns
    -------
    Opened
        To be closed when done with.

    Raises
    ------
    InputError
        When something is missing or cannot be read.
    """
    department, plan = read_planned(folder / "plan.json", folder / "site")
    ledger = open_ledger(str(folder / "ledger.sqlite"))
    versions = Versions(
        plan=_digest(read_text(folder / "plan.json")),
        catalogue=_digest(department.model_dump_json()),
        limits=_digest(department.limits.model_dump_json()),
    )
    people = open_people(folder / "people.sqlite")
    reach = KeptReach(read_meshes(department, folder / "site"))
    return Opened(folder, department, plan, ledger, people, clock, versions, reach=reach)


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:16]
