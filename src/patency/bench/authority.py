"""Which role may open which page and ask for what: one table, and the one function that reads it.

The ledger checks authority again with every command; this table keeps people from pages that are not theirs. A route
that is not in it is nobody's.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.ledger import Role

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

_R = Role
_ALL = frozenset(Role)
_SOILED = frozenset({_R.LOADER, _R.LEAD})
_CLEAN = frozenset({_R.ASSEMBLER, _R.LEAD})
_DESK = frozenset({_R.LEAD, _R.RELEASER, _R.ENGINEER, _R.COORDINATOR, _R.AUDITOR})
_WORKING = _ALL - {_R.AUDITOR, _R.ADMINISTRATOR}

OPEN = frozenset(
    {"start", "sign-in", "sign-in.badge", "sign-in.enter", "setup", "setup.make", "language", "asset", "alive"}
)
"""Routes for everybody, signed in or not: the way in, and what the browser needs to show it."""

UNATTENDED: Mapping[str, str] = {"board.rows": "/board"}
"""Routes that a page asks by itself, and the page: nobody acts, and the station locks all the same."""

MAY: Mapping[str, frozenset[Role]] = {
    "sign-out": _ALL,
    "lock": _ALL,
    "find": _ALL,
    "board": _ALL,
    "board.rows": _ALL,
    "story": _ALL,
    "label": _ALL,
    "label.code": _ALL,
    "releases": _ALL - {_R.ADMINISTRATOR},
    "release": _ALL - {_R.ADMINISTRATOR},
    "release.record": _ALL - {_R.ADMINISTRATOR},
    "release.decide": frozenset({_R.RELEASER}),
    "laboratories": _ALL - {_R.ADMINISTRATOR},
    "laboratory": _ALL - {_R.ADMINISTRATOR},
    "reaches": _ALL - {_R.ADMINISTRATOR},
    "reach": _ALL - {_R.ADMINISTRATOR},
    "reach.scene": _ALL - {_R.ADMINISTRATOR},
    "reach.moved": _ALL - {_R.ADMINISTRATOR},
    "reach.legend": _ALL - {_R.ADMINISTRATOR},
    "reach.side": _ALL - {_R.ADMINISTRATOR},
    "reach.piece": _ALL - {_R.ADMINISTRATOR},
    "holds": _ALL - {_R.ADMINISTRATOR},
    "holds.set": _WORKING,
    "holds.lift": frozenset({_R.LEAD, _R.RELEASER}),
    "overrides.grant": frozenset({_R.LEAD}),
    "trace": _DESK,
    "stock": _ALL - {_R.ADMINISTRATOR},
    "stock.broken": _SOILED | _CLEAN,
    "receiving": _ALL - {_R.ADMINISTRATOR},
    "receiving.set": _ALL - {_R.ADMINISTRATOR},
    "receiving.scan": _SOILED,
    "receiving.receive": _SOILED,
    "receiving.count": _SOILED,
    "receiving.found": _SOILED,
    "receiving.extra": _SOILED,
    "receiving.bath": _SOILED,
    "receiving.pod": _SOILED,
    "receiving.apart": _SOILED,
    "loading": _ALL - {_R.ADMINISTRATOR},
    "loading.load": _ALL - {_R.ADMINISTRATOR},
    "loading.otherwise": _ALL - {_R.ADMINISTRATOR},
    "loading.check": _ALL - {_R.ADMINISTRATOR},
    "loading.begin": _SOILED,
    "loading.confirm": _SOILED,
    "loading.scan": _SOILED,
    "loading.undo": _SOILED,
    "loading.over": _SOILED,
    "loading.choose": _SOILED,
    "loading.start": _SOILED,
    "unloading": _ALL - {_R.ADMINISTRATOR},
    "unloading.load": _ALL - {_R.ADMINISTRATOR},
    "unloading.end": _SOILED | _CLEAN,
    "unloading.off": _SOILED | _CLEAN,
    "unloading.pack": _SOILED | _CLEAN,
    "unloading.looked": _SOILED | _CLEAN,
    "unloading.back": _SOILED | _CLEAN,
    "clean": _ALL - {_R.ADMINISTRATOR},
    "clean.set": _ALL - {_R.ADMINISTRATOR},
    "clean.scan": _ALL - {_R.ADMINISTRATOR},
    "clean.on": _CLEAN | {_R.COORDINATOR},
    "clean.test": _CLEAN,
    "clean.steam": _CLEAN,
    "clean.tests": _ALL - {_R.ADMINISTRATOR},
    "clean.tested": _CLEAN | {_R.ENGINEER},
    "finding": _ALL - {_R.ADMINISTRATOR},
    "finding.report": _SOILED | _CLEAN,
    "photo": _ALL - {_R.ADMINISTRATOR},
    "loading.swap": _ALL - {_R.ADMINISTRATOR},
    "loading.swapped": _SOILED,
    "staff": frozenset({_R.ADMINISTRATOR}),
    "staff.add": frozenset({_R.ADMINISTRATOR}),
}
"""Route to the roles that may take it."""


def may(route: str, roles: Mapping[Role, date | None], today: date) -> bool:
    """Say whether a person with these roles may take a route.

    Parameters
    ----------
    route
        Name of the route.
    roles
        The person's roles, each with its last day; None for no end.
    today
        The day.

    Returns
    -------
    bool
        Whether any role in force permits it.
    """
    return any(until is None or today <= until for role, until in roles.items() if role in MAY.get(route, ()))
