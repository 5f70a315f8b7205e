"""The soiled side for programs: receive, count, treat by hand, take apart."""

from __future__ import annotations

from http import HTTPStatus

from fastapi import APIRouter

from patency.bench.interface.answers import SetAnswer, SoiledAnswer
from patency.bench.interface.bodies import ByHand, Confirmed, Count, FoundInBox, KeyText, Pod
from patency.bench.interface.calling import Doing, Reading
from patency.bench.interface.faults import Declined, granted
from patency.bench.interface.showing import set_answer
from patency.ledger import Seen
from patency.steps import (
    all_seen,
    bind_pod,
    count_pieces,
    dismantle_set,
    end_bath,
    found_in_box,
    look_at_set,
    note_by_hand,
    receive_set,
    sets_coming_back,
    start_bath,
)

router = APIRouter(tags=["soiled side"])


@router.get("/soiled", name="receiving")
def waiting(call: Reading) -> list[SoiledAnswer]:
    """What comes back, the most urgent first."""
    return [SoiledAnswer.model_validate(one) for one in sets_coming_back(call.opened.workplace, call.now)]


@router.get("/sets/{key}/soiled", name="receiving.set")
def arrived(call: Reading, key: KeyText) -> SoiledAnswer:
    """A set at the soiled side: age of the soil, holds, urgency."""
    found = granted(look_at_set(call.opened.workplace, key, call.now), HTTPStatus.NOT_FOUND)
    return SoiledAnswer.model_validate(found)


@router.post("/sets/{key}/receive", name="receiving.receive")
def receive(call: Doing, key: KeyText) -> SoiledAnswer:
    """Receive a set; one without complete instructions is held at once."""
    return SoiledAnswer.model_validate(granted(receive_set(call.opened.workplace, key, call.around())))


@router.post("/sets/{key}/count", name="receiving.count")
def count(call: Doing, key: KeyText, body: Count) -> SetAnswer:
    """Write a count down; where something is missing the set stops."""
    work, missing = call.opened.workplace, set(body.missing)
    found = granted(work.set_of(key), HTTPStatus.NOT_FOUND)
    strangers = sorted(missing - {*found.pieces})
    if strangers:
        raise Declined.because(HTTPStatus.CONFLICT, f"piece {strangers[0]}", f"does not lie in {key}", "its pieces")
    seen = {piece: Seen.BY_EYE for piece in found.pieces if piece not in missing}
    granted(count_pieces(work, key, seen, call.around()))
    return set_answer(call, key)


@router.post("/sets/{key}/found", name="receiving.found")
def found_it(call: Doing, key: KeyText, body: FoundInBox) -> SetAnswer:
    """Write down in whose box a missing piece lay."""
    granted(found_in_box(call.opened.workplace, body.piece, body.box, Seen.BY_EYE, call.around()))
    return set_answer(call, key)


@router.post("/sets/{key}/by-hand", name="receiving.bath")
def by_hand(call: Doing, key: KeyText, body: ByHand) -> SetAnswer:
    """Begin or end a bath, or write down what was done by hand."""
    acts = {"start": start_bath, "end": end_bath, "done": note_by_hand}
    around = call.around(call.confirmed_by(body.second))
    granted(acts[body.act](call.opened.workplace, key, body.instrument, body.what, around))
    return set_answer(call, key)


@router.post("/sets/{key}/pod", name="receiving.pod")
def pod(call: Doing, key: KeyText, body: Pod) -> SetAnswer:
    """Bind a pod to the set: it holds the small parts of this one alone."""
    granted(bind_pod(call.opened.workplace, key, body.pod, call.around()))
    return set_answer(call, key)


@router.post("/sets/{key}/apart", name="receiving.apart")
def apart(call: Doing, key: KeyText, body: Confirmed) -> SetAnswer:
    """Write down that the set lies taken apart, every part there."""
    work = call.opened.workplace
    found = granted(work.set_of(key), HTTPStatus.NOT_FOUND)
    granted(dismantle_set(work, key, all_seen(found), call.around(call.confirmed_by(body.second))))
    return set_answer(call, key)
