"""The desk for programs: board, story, trace, holds, overrides, stock; what a scanned code means."""

from __future__ import annotations

from http import HTTPStatus
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Query
from fastapi.responses import Response

from patency.bench.interface.answers import (
    BoardAnswer,
    ExceptionsAnswer,
    LabelAnswer,
    PieceAnswer,
    ScannedAnswer,
    StockAnswer,
    StoryAnswer,
    StoryLineAnswer,
    TraceAnswer,
    TraceItemAnswer,
)
from patency.bench.interface.bodies import Broken, HoldIt, KeyText, Lift, Permit
from patency.bench.interface.calling import Call, Doing, Reading
from patency.bench.interface.faults import Declined, granted
from patency.bench.interface.showing import DRAWING, set_answer
from patency.errors import InputError
from patency.ledger import Direction, Kind, Shared
from patency.steps import (
    board_of,
    grant_override,
    label_of_set,
    lift_hold,
    note_broken,
    read_label,
    read_scan,
    set_hold,
    set_story_of,
    show_exceptions,
    show_stock,
)

if TYPE_CHECKING:
    from patency.steps import SetLabel

router = APIRouter(tags=["desk"])


@router.get("/board", name="board")
def board(call: Reading) -> BoardAnswer:
    """Every set, the most urgent first."""
    opened = call.opened
    return BoardAnswer.model_validate(board_of(opened.ledger, opened.department, opened.plan, call.now))


@router.get("/scan", name="find")
def scan(call: Reading, code: Annotated[str, Query(min_length=1, max_length=200)]) -> ScannedAnswer:
    """What a scanned text means; a label's code is read too."""
    found = granted(read_scan(call.opened.workplace, read_label(code)), HTTPStatus.NOT_FOUND)
    return ScannedAnswer.model_validate(found)


@router.get("/sets/{key}", name="story")
def story(call: Reading, key: KeyText) -> StoryAnswer:
    """A set, what lies in it with the strength of each identity, and everything that happened to it."""
    now = set_answer(call, key)
    told = set_story_of(call.opened.ledger, key)
    return StoryAnswer(
        **now.model_dump(),
        pieces=[PieceAnswer.of(one.piece, one.type_key, one.mark, one.strength) for one in told.pieces],
        lines=[StoryLineAnswer.model_validate(one) for one in told.lines],
    )


@router.get("/sets/{key}/label", name="label")
def label(call: Reading, key: KeyText) -> LabelAnswer:
    """What stands on the label of a set."""
    return LabelAnswer.model_validate(_label(call, key))


@router.get("/sets/{key}/label.svg", name="label.code", response_class=Response, responses=DRAWING)
def label_code(call: Reading, key: KeyText) -> Response:
    """The code of a set's label, a GS1 DataMatrix, drawn."""
    return Response(_label(call, key).svg, media_type="image/svg+xml")


def _label(call: Call, key: str) -> SetLabel:
    granted(call.opened.workplace.set_of(key), HTTPStatus.NOT_FOUND)
    return label_of_set(call.opened.ledger, key)


@router.get("/trace", name="trace")
def trace(
    call: Reading,
    kind: Kind,
    key: KeyText,
    direction: Direction = Direction.FORWARD,
    shared: Shared | None = None,
) -> TraceAnswer:
    """What a case, set, piece, load, machine or sample touched, each thing with its reason."""
    try:
        found = call.opened.ledger.trace(kind, key, direction, shared=shared)
    except InputError as fault:
        raise Declined(HTTPStatus.NOT_FOUND, [fault]) from fault
    return TraceAnswer(
        kind=found.kind,
        key=found.key,
        direction=found.direction,
        since=found.since,
        until=found.until,
        items=[
            TraceItemAnswer(
                kind=one.kind, key=one.key, seq=one.seq, strength=one.strength.name.lower(), distance=one.distance,
                why=list(one.why),
            )
            for one in found.items
        ],
        scope=list(found.scope),
    )  # fmt: skip


def _exceptions(call: Call) -> ExceptionsAnswer:
    return ExceptionsAnswer.model_validate(show_exceptions(call.opened.ledger, call.now))


@router.get("/holds", name="holds")
def holds(call: Reading) -> ExceptionsAnswer:
    """What is held, and what goes on under an override."""
    return _exceptions(call)


@router.post("/holds", name="holds.set")
def hold(call: Doing, body: HoldIt) -> ExceptionsAnswer:
    """Hold something: nothing of it is planned, loaded, released or issued."""
    granted(set_hold(call.opened.ledger, body.scope, body.key, body.reason, call.around()))
    return _exceptions(call)


@router.post("/holds/lift", name="holds.lift")
def lift(call: Doing, body: Lift) -> ExceptionsAnswer:
    """Lift a hold, when two people confirm."""
    second = call.confirmed_by(body.second)
    if second is None:
        raise Declined.because(HTTPStatus.FORBIDDEN, "body.second", "is nobody else", "badge and PIN of another person")
    call.confirms(body.pin)
    granted(lift_hold(call.opened.ledger, body.hold, body.why, call.around(second)))
    return _exceptions(call)


@router.post("/overrides", name="overrides.grant")
def override(call: Doing, body: Permit) -> ExceptionsAnswer:
    """Permit a set to go on incomplete."""
    call.confirms(body.pin)
    ledger = call.opened.ledger
    granted(grant_override(ledger, body.set_key, body.reason, body.hours, body.compensation, call.around()))
    return _exceptions(call)


@router.get("/stock", name="stock")
def stock(call: Reading) -> StockAnswer:
    """Every kind of accessory, and what the plan lacks."""
    return StockAnswer.model_validate(show_stock(call.opened.workplace))


@router.post("/stock/broken", name="stock.broken")
def broken(call: Doing, body: Broken) -> StockAnswer:
    """Take accessories out of use."""
    granted(note_broken(call.opened.workplace, body.accessory, body.number, body.why, call.around()))
    return StockAnswer.model_validate(show_stock(call.opened.workplace))
