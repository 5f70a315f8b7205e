"""What a program gets: plain values with the names the rest of the house uses, moments with their zone."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, field_serializer

from patency.ledger import Kind, Role, SetState, Strength
from patency.steps import Found, Urgency


def _in_utc(moment: datetime) -> datetime:
    """Give a local time of a plan or a department its zone: the bench's clock runs in UTC."""
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)


Moment = Annotated[datetime, AfterValidator(_in_utc)]
"""A point in time with its zone."""


class Answer(BaseModel):
    """Read from the fields of the same names of what a step gave."""

    model_config = ConfigDict(from_attributes=True)


class Opened(Answer):
    """A session that was opened: its token, whose it is, and after how long without a request it locks."""

    token: str
    person: str
    roles: list[Role]
    locks_after_s: float


class Closed(Answer):
    """A session that was ended."""

    person: str


class HoldAnswer(Answer):
    """A hold: nothing of what it is on moves until two people lift it."""

    hold: str
    scope: Kind
    key: str
    reason: str
    set_by: str


class OverrideAnswer(Answer):
    """A permission to go on incomplete."""

    override: str
    set_key: str
    reason: str
    until: Moment
    compensation: str
    granted_by: str


class ExceptionsAnswer(Answer):
    """What is held, and what goes on otherwise than it should."""

    holds: list[HoldAnswer]
    overrides: list[OverrideAnswer]
    expired: list[OverrideAnswer]


class BoardLineAnswer(Answer):
    """A set on the board; `holds` says why nothing of it may move."""

    set_key: str
    state: SetState
    since: Moment | None
    washed_by: Moment | None
    urgency: Urgency
    load: str | None
    load_starts: Moment | None
    case: str | None
    holds: list[str]


class BoardAnswer(Answer):
    """All sets, the most urgent first."""

    at: Moment
    lines: list[BoardLineAnswer]


class PieceAnswer(Answer):
    """A piece of a set, with the strength of its identity: an unmarked one is never ``scanned``."""

    piece: str
    type_key: str
    mark: str | None
    strength: str

    @classmethod
    def of(cls, piece: str, type_key: str, mark: str | None, strength: Strength) -> PieceAnswer:
        """Say the strength in a word."""
        return cls(piece=piece, type_key=type_key, mark=mark, strength=strength.name.lower())


class StoryLineAnswer(Answer):
    """An event."""

    seq: int
    at: Moment
    who: str
    station: str
    words: str
    why: str


class SetAnswer(Answer):
    """A set as it is now."""

    set_key: str
    set_type: str
    state: SetState
    load: str | None
    case: str | None
    expires: Moment | None
    incomplete: str | None
    holds: list[HoldAnswer]


class StoryAnswer(SetAnswer):
    """A set with what lies in it and everything that happened to it, the latest first."""

    pieces: list[PieceAnswer]
    lines: list[StoryLineAnswer]


class SoiledAnswer(Answer):
    """A set at the soiled side; where age or limit are not known, it counts as too old."""

    set_key: str
    state: SetState
    pieces: int
    used_at: Moment | None
    soil_age_s: timedelta | None = Field(validation_alias="soil_age")
    soil_limit_s: timedelta | None = Field(validation_alias="soil_limit")
    too_old: bool
    holds: list[HoldAnswer]
    case: str | None
    washed_by: Moment | None
    place_in_line: int | None
    load: str | None
    cautions: list[str]

    @field_serializer("soil_age_s", "soil_limit_s")
    def _seconds(self, time: timedelta | None) -> float | None:
        return None if time is None else time.total_seconds()


class CleanPieceAnswer(Answer):
    """A piece of a set at the clean side."""

    key: str
    type_key: str
    name: str
    mark: str | None
    sharp: bool
    small: bool


class CleanAnswer(Answer):
    """A set at the clean side and the state a person brings it to next, if a person does."""

    set_key: str
    state: SetState
    next_by_hand: SetState | None
    pieces: list[CleanPieceAnswer]
    holds: list[HoldAnswer]
    expires: Moment | None
    case: str | None


class SteamAnswer(Answer):
    """A sterilizer load that was started; the load is empty where its first set has left it since."""

    load: str | None
    sets: list[str]


class TraceItemAnswer(Answer):
    """A thing a trace lists: the way to it, and how sure the identities on the way are."""

    kind: Kind
    key: str
    seq: int
    strength: str
    distance: int
    why: list[str]


class TraceAnswer(Answer):
    """What one thing touched; `scope` says what bounds the list."""

    kind: Kind
    key: str
    direction: str
    since: int
    until: int
    items: list[TraceItemAnswer]
    scope: list[str]


class StockLineAnswer(Answer):
    """One kind of accessory."""

    accessory: str
    name: str
    usable: int
    free: int
    out: dict[str, int]


class ShortageAnswer(Answer):
    """A load that cannot be put together with what is there."""

    load_id: str
    accessory: str
    needs: int
    there: int


class StockAnswer(Answer):
    """All accessories, and where the plan falls short of them."""

    lines: list[StockLineAnswer]
    shortages: list[ShortageAnswer]
    plan_holds: bool


class ScannedAnswer(Answer):
    """What a scanned text means."""

    kind: str
    key: str


class LabelAnswer(Answer):
    """What stands on the label of a set: the content of its code as GS1 writes it, and the words beside it."""

    set_key: str
    content: str
    expires: Moment | None
    load: str | None


class PhotoAnswer(Answer):
    """A picture of a finding, at `/photos/` and its digest."""

    sha256: str
    kind: str
    size: int


class FindingAnswer(Answer):
    """What was found; `what_next` says what to do now."""

    seq: int
    found: Found
    person: str
    at: Moment
    photos: list[PhotoAnswer]
    what_next: list[str]


class LastTestAnswer(Answer):
    """A test of a sterilizer as it was entered last, and whether loads of today can rest on it."""

    machine: str
    test: str
    result: str | None
    at: Moment | None
    by: str | None
    until: Moment | None
    state: str
    why: str
