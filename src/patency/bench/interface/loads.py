"""Loads for programs: begin, confirm piece by piece, start, unload, decide."""

from __future__ import annotations

from http import HTTPStatus

from fastapi import APIRouter
from fastapi.responses import Response

from patency.bench.interface.bodies import Back, BadPack, Decide, End, KeyText, Off, Otherwise, Start, Step, SwapIt
from patency.bench.interface.calling import Call, Doing, Reading
from patency.bench.interface.faults import Declined, granted
from patency.bench.interface.load_answers import (
    BeforeStartAnswer,
    DecisionAnswer,
    LoadAnswer,
    LoadLineAnswer,
    SwapAnswer,
    UnloadingAnswer,
    WaitingAnswer,
    WaysAnswer,
)
from patency.bench.interface.showing import DRAWING, decision_answer, decision_on, load_answer
from patency.steps import (
    Wrong,
    begin_load,
    choose_way,
    confirm_step,
    count_back,
    end_load,
    loads_of_day,
    loads_to_decide,
    note_bad_pack,
    note_looked,
    note_off,
    read_scan,
    refuse_load,
    release_load,
    show_before_start,
    show_unloading,
    start_load,
    step_of_piece,
    swap_piece,
    swaps_on,
    take_over,
    undo_step,
    ways_on,
)

router = APIRouter(tags=["loads"])


@router.get("/loads", name="loading")
def loads(call: Reading) -> list[LoadLineAnswer]:
    """The loads of the day and how far each is."""
    return [
        LoadLineAnswer(load=one.load.id, state=one.state, done=one.done, steps=one.steps)
        for one in loads_of_day(call.opened.workplace)
    ]


@router.get("/loads/{load}", name="loading.load")
def load_status(call: Reading, load: KeyText) -> LoadAnswer:
    """A load where it stands: its steps, and what of them is confirmed."""
    return load_answer(call, load)


@router.post("/loads/{load}/begin", name="loading.begin")
def begin(call: Doing, load: KeyText) -> LoadAnswer:
    """Begin a load: its accessories are taken."""
    granted(begin_load(call.opened.workplace, load, call.around()))
    return load_answer(call, load)


@router.post("/loads/{load}/confirm", name="loading.confirm")
def confirm(call: Doing, load: KeyText, body: Step) -> LoadAnswer:
    """Confirm a step, with a piece of it whose mark was read or without; a piece of another step is out of turn."""
    scanned = [] if body.mark is None else [_piece(call, load, body.step, body.mark)]
    around = call.around(call.confirmed_by(body.second))
    granted(confirm_step(call.opened.workplace, load, body.step, scanned, around))
    return load_answer(call, load)


def _piece(call: Call, load: str, step: str, mark: str) -> str:
    """Find the piece that carries a mark, if it belongs to a step."""
    work = call.opened.workplace
    scanned = granted(read_scan(work, mark))
    if scanned.kind != "piece":
        raise Declined.because(HTTPStatus.CONFLICT, "body.mark", f"is of the {scanned.kind} {scanned.key}", "a piece")
    its_step = granted(step_of_piece(work, load, scanned.key))
    if its_step != step:
        raise Declined.because(HTTPStatus.CONFLICT, f"piece {scanned.key}", f"is of step {its_step}", f"step {step}")
    return scanned.key


@router.post("/loads/{load}/undo", name="loading.undo")
def undo(call: Doing, load: KeyText) -> LoadAnswer:
    """Take the last confirmation back."""
    granted(undo_step(call.opened.workplace, load, call.around()))
    return load_answer(call, load)


@router.post("/loads/{load}/take-over", name="loading.over")
def over(call: Doing, load: KeyText) -> LoadAnswer:
    """Go on with another person's load."""
    granted(take_over(call.opened.workplace, load, call.around()))
    return load_answer(call, load)


@router.get("/loads/{load}/otherwise", name="loading.otherwise")
def otherwise(call: Reading, load: KeyText, wrong: Wrong, port: KeyText) -> WaysAnswer:
    """The next best permitted ways when something is wrong at a port."""
    found = granted(ways_on(call.opened.workplace, load, wrong, port), HTTPStatus.NOT_FOUND)
    return WaysAnswer.model_validate(found)


@router.post("/loads/{load}/otherwise", name="loading.choose")
def choose(call: Doing, load: KeyText, body: Otherwise) -> LoadAnswer:
    """Go on in one of the offered ways."""
    work = call.opened.workplace
    ways = granted(ways_on(work, load, body.wrong, body.port), HTTPStatus.NOT_FOUND)
    granted(choose_way(work, ways, body.way, body.why, call.around(call.confirmed_by(body.second))))
    return load_answer(call, load)


@router.get("/loads/{load}/swap", name="loading.swap")
def swaps(call: Reading, load: KeyText, step: KeyText) -> list[SwapAnswer]:
    """The pieces of a step, and for each the equal spares that may take its place."""
    found = granted(swaps_on(call.opened.workplace, load, step), HTTPStatus.NOT_FOUND)
    return [SwapAnswer.model_validate(one) for one in found]


@router.post("/loads/{load}/swap", name="loading.swapped")
def swap(call: Doing, load: KeyText, body: SwapIt) -> LoadAnswer:
    """Take a spare for a piece that cannot go in; its step is open again."""
    around, pair = call.around(call.confirmed_by(body.second)), (body.out, body.into)
    granted(swap_piece(call.opened.workplace, load, body.step, pair, body.why, around))
    return load_answer(call, load)


@router.get("/loads/{load}/start", name="loading.check")
def check(call: Reading, load: KeyText) -> BeforeStartAnswer:
    """What is looked at before the start: what the faults of this load need, and what any load needs."""
    found = granted(show_before_start(call.opened.workplace, load), HTTPStatus.NOT_FOUND)
    return BeforeStartAnswer.model_validate(found)


@router.post("/loads/{load}/start", name="loading.start")
def start(call: Doing, load: KeyText, body: Start) -> LoadAnswer:
    """Start the load, if every check was looked at and what was scanned is what was planned."""
    three = (body.carrier, body.machine, body.programme)
    granted(start_load(call.opened.workplace, load, three, body.checked, call.around()))
    return load_answer(call, load)


@router.get("/loads/{load}/unloading", name="unloading.load")
def unloading(call: Reading, load: KeyText) -> UnloadingAnswer:
    """What is looked at when the load comes out."""
    found = granted(show_unloading(call.opened.workplace, load), HTTPStatus.NOT_FOUND)
    return UnloadingAnswer.model_validate(found)


@router.post("/loads/{load}/end", name="unloading.end")
def end(call: Doing, load: KeyText, body: End) -> UnloadingAnswer:
    """Write down that the load came out."""
    outcome = end_load(call.opened.workplace, load, completed=body.completed, around=call.around())
    return UnloadingAnswer.model_validate(granted(outcome))


@router.post("/loads/{load}/off", name="unloading.off")
def off(call: Doing, load: KeyText, body: Off) -> UnloadingAnswer:
    """Write down that something was off at a port: its set goes back to be washed again."""
    return UnloadingAnswer.model_validate(granted(note_off(call.opened.workplace, load, body.port, call.around())))


@router.post("/loads/{load}/pack", name="unloading.pack")
def pack(call: Doing, load: KeyText, body: BadPack) -> UnloadingAnswer:
    """Write down that a pack came out of the sterilizer wet or damaged: its set is held."""
    outcome = note_bad_pack(call.opened.workplace, load, body.set_key, body.fault, call.around())
    return UnloadingAnswer.model_validate(granted(outcome))


@router.post("/loads/{load}/looked", name="unloading.looked")
def looked(call: Doing, load: KeyText) -> UnloadingAnswer:
    """Write down that every port was looked at."""
    return UnloadingAnswer.model_validate(granted(note_looked(call.opened.workplace, load, call.around())))


@router.post("/loads/{load}/back", name="unloading.back")
def back(call: Doing, load: KeyText, body: Back) -> UnloadingAnswer:
    """Count accessories back."""
    outcome = count_back(call.opened.workplace, load, body.counts, body.why, call.around())
    return UnloadingAnswer.model_validate(granted(outcome))


@router.get("/decisions", name="releases")
def decisions(call: Reading) -> list[WaitingAnswer]:
    """The loads that wait for a decision, of the washers and the sterilizers, and those that still run."""
    return [
        WaitingAnswer(load=one.load, kind=one.kind, machine=one.machine, state=one.state, waiting=list(waiting))
        for one, waiting in loads_to_decide(call.opened.workplace)
    ]


@router.get("/loads/{load}/record.svg", name="release.record", response_class=Response, responses=DRAWING)
def record(call: Reading, load: KeyText) -> Response:
    """The record of a load over time, drawn."""
    shown = decision_on(call, load)
    if shown.file is None:
        raise Declined.because(HTTPStatus.NOT_FOUND, f"load {load}", "has no record", "a load whose record came")
    return Response(shown.file.plot_svg, media_type="image/svg+xml")


@router.get("/loads/{load}/decision", name="release")
def decision(call: Reading, load: KeyText) -> DecisionAnswer:
    """What there is to decide: every criterion, what is missing, what stands against a release."""
    return decision_answer(decision_on(call, load))


@router.post("/loads/{load}/decision", name="release.decide")
def decide(call: Doing, load: KeyText, body: Decide) -> DecisionAnswer:
    """Write the decision of a named person down, if the PIN is right."""
    shown, work = decision_on(call, load), call.opened.workplace
    call.confirms(body.pin)
    if body.decision == "release":
        refused = release_load(work, shown, call.around())
    else:
        refused = refuse_load(work, load, body.why, call.around(), ask=body.decision)
    granted(refused)
    return decision_answer(decision_on(call, load))
