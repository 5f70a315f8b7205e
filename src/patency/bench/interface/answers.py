"""What a program gets: plain values with the names the rest of the house uses, moments with their zone."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, field_serializer

from patency.ledger import Kind, LoadState, Role, SetState, Strength
from patency.steps import StepKind, Urgency, Wrong


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


class StepAnswer(Answer):
    """A step of loading."""

    key: str
    kind: StepKind
    set_key: str
    where: list[str]
    name: str
    connect: list[str]
    set_up: list[str]
    lines: list[str]
    sharp: bool
    done: bool


class DeviationAnswer(Answer):
    """What was done otherwise than planned."""

    wrong: str
    chosen: str
    why: str
    person: str
    at: Moment


class LoadLineAnswer(Answer):
    """A load of the plan; `state` is empty before it was begun."""

    load: str
    state: LoadState | None
    done: int
    steps: int


class LoadAnswer(Answer):
    """A load where it stands; `now` is the step in hand."""

    load: str
    state: LoadState | None
    machine: str
    carrier: str
    programme: str
    sets: list[str]
    person: str | None
    now: str | None
    steps: list[StepAnswer]
    deviations: list[DeviationAnswer]


class BeforeStartAnswer(Answer):
    """What is looked at and scanned before a load starts, and what neither sensor nor glance will show of it."""

    carrier: str
    machine: str
    programme: str
    checks: list[str]
    open_ports: list[str]
    seen_by_nobody: list[str]


class PortAnswer(Answer):
    """A port to be looked at when unloading; `first` says why before the others."""

    port: str
    set_key: str
    piece: str
    first: str
    off: bool


class UnloadingAnswer(Answer):
    """A load that came out."""

    load_id: str
    state: LoadState
    question: str
    ports: list[PortAnswer]
    looked: bool
    taken: dict[str, int]
    held: list[str]


class WayAnswer(Answer):
    """A permitted way to go on, and what it costs the other lumens."""

    key: str
    words: str
    costs: list[str]
    shorts: int
    needs_lead: bool


class WaysAnswer(Answer):
    """What can be done about something wrong at a port."""

    load_id: str
    wrong: Wrong
    port: str
    ways: list[WayAnswer]
    otherwise: str


class CriterionAnswer(Answer):
    """A criterion in words and people's units; ``not evaluated`` is not passed."""

    name: str
    value: str
    limit: str
    margin: str
    source: str
    state: str
    why: str


class DecisionAnswer(Answer):
    """What a releaser has in front of them; who decides is a person."""

    load: str
    state: LoadState
    waiting: list[str]
    verdict: str
    lacks: list[str]
    against: list[HoldAnswer]
    deviations: list[DeviationAnswer]
    criteria: list[CriterionAnswer]
    can_be_released: bool


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
