"""The plain values that commands, events and things are made of, and how each is written."""

from __future__ import annotations

import enum
import json
from datetime import date
from typing import Annotated, Any

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, StringConstraints, field_validator

from patency.ledger.chain import canonical
from patency.ledger.identity import Seen
from patency.ledger.states import Role

Key = Annotated[str, StringConstraints(pattern=r"^\S(?:[^\x00-\x1f\x7f\x85\u2028\u2029]*\S)?$", max_length=120)]
"""The name of one thing: one line, no space around it."""

Pseudonym = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9._-]*[0-9][A-Za-z0-9._-]*$", max_length=40)]
"""The key of a case or of a person: letters without accents, digits and ``.``, ``_``, ``-``, at least one digit, no
space, so that a name of a patient or of a colleague is not taken for one by mistake."""

Reason = Annotated[str, StringConstraints(pattern=r"\S", max_length=1000)]
"""Why something was done, in a person's words."""

Moment = AwareDatetime
"""A point in time with its offset from UTC."""


_LARGEST_PAYLOAD = 1_000_000


class Value(BaseModel):
    """A value that does not change once it is made and takes no unknown field."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Kind(enum.StrEnum):
    """The kinds of things the ledger follows."""

    PIECE = "piece"
    SET = "set"
    LOAD = "load"
    MACHINE = "machine"
    TYPE = "type"
    CASE = "case"
    WATER = "water"
    SAMPLE = "sample"
    PERSON = "person"
    HOLD = "hold"
    OVERRIDE = "override"
    ACCESSORY = "accessory"


class LoadKind(enum.StrEnum):
    """What a load goes through."""

    WASH = "wash"
    STEAM = "steam"


class Where(enum.StrEnum):
    """The kinds of places a piece can be in; it is always in exactly one."""

    SET = "set"
    MISSING = "missing"
    SPARE = "spare"
    QUARANTINE = "quarantine"
    REPAIR = "repair"
    OWNER = "owner"
    RETIRED = "retired"


class Place(Value):
    """Where a piece is.

    Parameters
    ----------
    where
        The kind of place.
    key
        Which one: the set it lies in, the set it is missing from, the shelf, the workshop.
    """

    where: Where
    key: Key


class Result(Value):
    """What another room found out, kept as it came: the ledger knows no physics.

    Parameters
    ----------
    format
        Name and version of the payload's format, such as ``patency-evidence/1``.
    verdict
        ``met``, ``not met`` or ``not evaluated``; only ``met`` counts for a release.
    data
        The payload, of JSON's own types.
    """

    format: Key
    verdict: Annotated[str, StringConstraints(pattern=r"^(met|not met|not evaluated)$")]
    data: dict[str, Any] = Field(default_factory=dict)

    @field_validator("data")
    @classmethod
    def _plain(cls, data: dict[str, Any]) -> dict[str, Any]:
        try:
            text = canonical(data)
            plain = len(text.encode()) <= _LARGEST_PAYLOAD and json.loads(text) == data
        except (RecursionError, TypeError, ValueError) as fault:
            raise ValueError("a payload is plain JSON with finite numbers") from fault
        if not plain:
            raise ValueError(f"a payload is plain JSON of at most {_LARGEST_PAYLOAD} bytes")
        return data


class Confirmation(enum.StrEnum):
    """How a person showed to be the one who confirms, also at a station that several people share."""

    BADGE = "badge"
    BADGE_AND_PIN = "badge and PIN"
    PASSWORD = "password"  # noqa: S105 - a word for a way of confirming
    PAPER = "signature on paper"


class Who(Value):
    """A person and how the person confirmed.

    Parameters
    ----------
    person
        The pseudonymous key of a member of staff.
    confirmed
        By what.
    """

    person: Pseudonym
    confirmed: Confirmation


class Versions(Value):
    """What a person could rely on at that moment.

    Parameters
    ----------
    plan, catalogue, limits
        The version of each that was in force, as a digest or a number; None where none was used.
    """

    plan: Key | None = None
    catalogue: Key | None = None
    limits: Key | None = None


class Circumstances(Value):
    """Who does it, when, where, relying on what, under which key.

    Parameters
    ----------
    command
        The idempotency key: a command that comes again under the same key does nothing again.
    who
        The person who confirms.
    second
        Another person who confirms too, where two are asked for.
    at
        When it happened.
    clock
        What clock said so.
    recorded
        When the ledger was told; later than `at` for what was written on paper first.
    station
        Where it happened.
    relies_on
        Versions of plan, catalogue and limits.
    """

    command: Key
    who: Who
    second: Who | None = None
    at: Moment
    clock: Key
    recorded: Moment
    station: Key
    relies_on: Versions = Versions()


Count = dict[Key, Seen]
"""The pieces of a set that were seen, each with how."""


class PersonFacts(Value):
    """A member of staff, what the person may do and until when; None means without end."""

    person: Pseudonym
    roles: dict[Role, date | None]


class Method(enum.StrEnum):
    """How somebody showed to be able to do a task."""

    THEORY = "theory"
    SUPERVISED = "supervised"
    OBSERVED = "observed"


class AssessmentFacts(Value):
    """A member of staff showed to be able to work with a family of instruments: how, and until when it counts."""

    person: Pseudonym
    family: Key
    method: Method
    until: date


class StockFacts(Value):
    """How many of an accessory are in working order, those in loads included."""

    accessory: Key
    usable: Annotated[int, Field(ge=0)]
    why: Reason


Pieces = dict[Key, Annotated[int, Field(ge=0)]]
"""Accessories, each with how many."""


class MachineFacts(Value):
    """A machine, what loads it takes and which water points feed it."""

    machine: Key
    kind: LoadKind
    water: tuple[Key, ...] = ()


class TestFacts(Value):
    """A test of a machine, whether it was passed and when it is due again."""

    __test__ = False

    machine: Key
    test: Key
    passed: bool
    due: Moment | None = None


class SampleFacts(Value):
    """A sample of water, from which point and when."""

    sample: Key
    point: Key
    taken: Moment


class JudgedFacts(Value):
    """Whether a sample was within its limits, and what was measured."""

    sample: Key
    within: bool
    result: Result | None = None


class SetFacts(Value):
    """A set, its type, how many pieces of each type belong to it, and whether it is on loan."""

    set_key: Key
    set_type: Key
    listed: dict[Key, Annotated[int, Field(ge=1)]]
    loaned: bool = False


class PieceFacts(Value):
    """A piece, its type and what is marked on it; None where nothing is."""

    piece: Key
    type_key: Key
    mark: Key | None = None
    place: Place


class HoldFacts(Value):
    """Nothing of this moves until the hold is lifted."""

    hold: Key
    scope: Kind
    key: Key
    reason: Reason


class PlanFacts(Value):
    """Which sets are to go into a load, on what carrier, in which machine, under which programme."""

    load: Key
    kind: LoadKind
    machine: Key
    carrier: Key
    programme: Key
    sets: Annotated[tuple[Key, ...], Field(min_length=1)]


class OverrideFacts(Value):
    """A set may go on incomplete: why, until when, and what has to be done instead."""

    override: Key
    set_key: Key
    reason: Reason
    until: Moment
    compensation: Reason


class NoteFacts(Value):
    """A result about one thing, kept as it came."""

    about: Kind
    key: Key
    result: Result
