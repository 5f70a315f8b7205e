"""Who may come in: badges, PINs and sessions, in a file of their own; none of it stands in the ledger or in a log."""

from patency.bench.people.accounts import Account, People, open_people
from patency.bench.people.admission import Admission, Turned, admit
from patency.bench.people.pins import weak_pin
from patency.bench.people.sessions import Session

__all__ = ["Account", "Admission", "People", "Session", "Turned", "admit", "open_people", "weak_pin"]
