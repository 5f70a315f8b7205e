"""What a program sends, for each thing a person does."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Base64Bytes, BaseModel, ConfigDict, Field, StringConstraints

from patency.evidence import SterilizerTest
from patency.ledger import SetState
from patency.steps import Found, Wrong

KeyText = Annotated[str, StringConstraints(pattern=r"^\S(?:[^\x00-\x1f\x7f\x85\u2028\u2029]*\S)?$", max_length=120)]
"""The key of a thing as the ledger takes it: one line, no space around it."""

Words = Annotated[str, StringConstraints(pattern=r"\S", max_length=1000)]
_Secret = Annotated[str, StringConstraints(min_length=1, max_length=200)]


class Body(BaseModel):
    """What is sent; an unknown field is a fault, since it may have meant something."""

    model_config = ConfigDict(extra="forbid")


class Second(Body):
    """Badge and PIN of a second person who confirms."""

    badge: _Secret
    pin: _Secret


class SignIn(Body):
    """Badge and PIN."""

    badge: _Secret
    pin: _Secret


class Confirmed(Body):
    """Nothing but, where it is needed, a second person."""

    second: Second | None = None


class Count(Body):
    """The pieces of the set that were not there; every other was seen."""

    missing: list[KeyText] = Field(default=[], max_length=500)


class FoundInBox(Body):
    """A missing piece and the set in whose box it lay."""

    piece: KeyText
    box: KeyText


class ByHand(Confirmed):
    """A bath that begins or ends, or something done by hand, on one instrument of the set."""

    instrument: KeyText
    act: Literal["start", "end", "done"]
    what: KeyText


class Pod(Body):
    """The pod for the set's small parts."""

    pod: KeyText


class Step(Confirmed):
    """A step of loading; with the mark of its piece, where that was read."""

    step: KeyText
    mark: KeyText | None = None


class Otherwise(Confirmed):
    """What is wrong at a port, the way chosen, and why."""

    wrong: Wrong
    port: KeyText
    way: KeyText
    why: Words


class SwapIt(Confirmed):
    """The step, the piece that goes out, the spare that comes in, and why."""

    step: KeyText
    out: KeyText
    into: KeyText
    why: Words


class Start(Body):
    """What was scanned, and every question that was looked at."""

    carrier: KeyText
    machine: KeyText
    programme: KeyText
    checked: list[Words] = Field(default=[], max_length=200)


class End(Body):
    """Whether the machine says that the programme ran to its end."""

    completed: bool


class Off(Body):
    """The port at which something was off."""

    port: KeyText


class BadPack(Body):
    """The set whose pack came out not as it should."""

    set_key: KeyText
    fault: Literal["wet", "damaged"]


class Back(Body):
    """How many of each accessory came back in working order, and why fewer than went in."""

    counts: dict[KeyText, Annotated[int, Field(ge=0, le=10_000)]] = Field(max_length=200)
    why: Annotated[str, StringConstraints(max_length=1000)] = ""


class Decide(Body):
    """A named decision about a load, with the decider's PIN."""

    decision: Literal["release", "wash again", "ask the engineer"]
    pin: _Secret
    why: Annotated[str, StringConstraints(max_length=1000)] = ""


class On(Confirmed):
    """The next thing done with a set at the clean side: into which state, what was missing, for which case."""

    to: SetState
    missing: list[KeyText] = Field(default=[], max_length=500)
    case: Annotated[str, StringConstraints(max_length=40)] = ""


class Test(Body):
    """What a test of a piece showed."""

    piece: KeyText
    method: Words
    verdict: Literal["met", "not met"]
    remark: Annotated[str, StringConstraints(max_length=1000)] = ""


class SteamTest(Body):
    """How a test of a sterilizer came out."""

    machine: KeyText
    test: SterilizerTest
    verdict: Literal["met", "not met"]


class Steam(Body):
    """Packed sets for a sterilizer."""

    machine: KeyText
    programme: KeyText
    sets: list[KeyText] = Field(min_length=1, max_length=100)


class HoldIt(Body):
    """A thing to be held, and why."""

    scope: Literal["set", "piece", "type", "load", "machine"]
    key: KeyText
    reason: Words


class Lift(Body):
    """A hold to be lifted by two people: why, the caller's PIN, the other's badge and PIN."""

    hold: KeyText
    why: Words
    pin: _Secret
    second: Second


class Permit(Body):
    """Permits a set to go on incomplete: why, for how long, and what is done instead."""

    set_key: KeyText
    reason: Words
    hours: Annotated[float, Field(gt=0, le=168)]
    compensation: Words
    pin: _Secret


class Broken(Body):
    """Accessories out of use."""

    accessory: KeyText
    number: Annotated[int, Field(ge=1, le=10_000)]
    why: Words


_Picture = Annotated[Base64Bytes, Field(max_length=11_000_000)]
"""A JPEG or PNG file of at most 8 MB in base64; what a camera wrote into it is not kept."""


class Report(Body):
    """What was found, with a picture where one helps."""

    found: Found
    photo: _Picture | None = None


class Pictured(Body):
    """A picture of something that was found before."""

    photo: _Picture
