"""Receiving a set: one scan says what it is; count by picture; treat by hand; take apart into its pod."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter
from fastapi.responses import Response

from patency.bench.asking import Asked, Asking
from patency.ledger import Refused, Seen, SetState
from patency.steps import (
    all_seen,
    bind_pod,
    count_pieces,
    dismantle_set,
    end_bath,
    found_in_box,
    look_at_set,
    missed_elsewhere,
    note_by_hand,
    picture_of_type,
    read_scan,
    receive_set,
    search_for,
    sets_coming_back,
    show_count,
    show_dismantling,
    show_treatment,
    start_bath,
)

router = APIRouter(include_in_schema=False)
_PICTURE_MM = (60.0, 26.0)
_PARTS = ("count", "hand", "apart")


def _path(key: str, part: str = "") -> str:
    return f"/receiving/{quote(key, safe='')}{'?part=' if part else ''}{part}"


def _show(asked: Asked, key: str, reasons: object = (), part: str = "") -> Response:
    work = asked.opened.workplace
    arrived = look_at_set(work, key, asked.now)
    if isinstance(arrived, Refused):
        return asked.go("/receiving", arrived.text, "bad")
    count, apart, treated = show_count(work, key), show_dismantling(work, key), show_treatment(work, key, asked.now)
    missing = () if isinstance(count, Refused) else count.missing
    part = part or asked.request.query_params.get("part", "")
    if part not in _PARTS:
        part = "count" if isinstance(count, Refused) or not count.counted else "hand"
    return asked.page(
        "receiving",
        status=422 if reasons else 200,
        arrived=arrived,
        count=count,
        apart=apart,
        part=part,
        elsewhere=missed_elsewhere(work, key),
        treated=treated,
        search={piece.key: search_for(work, piece.key) for piece in missing},
        picture=lambda type_key: picture_of_type(work.department, type_key, _PICTURE_MM),
        now=asked.now,
        reasons=reasons,
        open_states=(SetState.RECEIVED, SetState.REWASH),
    )


def _done(asked: Asked, key: str, outcome: object, told: str, part: str = "") -> Response:
    if isinstance(outcome, Refused):
        return _show(asked, key, outcome.reasons, part)
    return asked.go(_path(key, part), told)


@router.get("/receiving", name="receiving")
def waiting(asked: Asking) -> Response:
    """List what comes back, the most urgent first."""
    return asked.page("receiving/list.html", sets=sets_coming_back(asked.opened.workplace, asked.now))


@router.post("/receiving", name="receiving.scan")
def scan(asked: Asking) -> Response:
    """Receive the set that was scanned."""
    scanned = read_scan(asked.opened.workplace, asked.form.get("code", ""))
    if isinstance(scanned, Refused):
        return asked.go("/receiving", scanned.text, "bad")
    if scanned.kind != "set":
        return asked.go("/receiving", asked.gettext("That is no set: {}").format(scanned.key), "bad")
    return receive(asked, scanned.key)


@router.get("/receiving/{key}", name="receiving.set")
def set_page(asked: Asking, key: str) -> Response:
    """Show a set at the soiled side."""
    return _show(asked, key)


@router.post("/receiving/{key}/receive", name="receiving.receive")
def receive(asked: Asking, key: str) -> Response:
    """Receive a set."""
    arrived = receive_set(asked.opened.workplace, key, asked.around())
    if isinstance(arrived, Refused):
        known = look_at_set(asked.opened.workplace, key, asked.now)
        return asked.go("/receiving" if isinstance(known, Refused) else _path(key), arrived.text, "bad")
    if arrived.holds:
        return asked.go(_path(key), asked.gettext("Received and held: do not open."), "bad")
    return asked.go(_path(key), asked.gettext("Received."))


@router.post("/receiving/{key}/count", name="receiving.count")
def count(asked: Asking, key: str) -> Response:
    """Write a count down: what was not marked as missing was seen."""
    work = asked.opened.workplace
    found, missing = work.set_of(key), set(asked.lists.get("missing", ()))
    if isinstance(found, Refused):
        return asked.go("/receiving", found.text, "bad")
    seen = {piece: Seen.BY_EYE for piece in found.pieces if piece not in missing}
    outcome = count_pieces(work, key, seen, asked.around())
    if isinstance(outcome, Refused) or outcome.all_there:
        return _done(asked, key, outcome, asked.gettext("Counted: all there."))
    return asked.go(_path(key), asked.gettext("Counted: something is missing. Look below where it can be."), "bad")


@router.post("/receiving/{key}/found", name="receiving.found")
def found_it(asked: Asking, key: str) -> Response:
    """Write down in whose box a missing piece lay."""
    box = asked.form.get("box", "")
    outcome = found_in_box(asked.opened.workplace, asked.form.get("piece", ""), box, Seen.BY_EYE, asked.around())
    return _done(asked, key, outcome, asked.gettext("Found in the box of {}; back in its own set.").format(box))


@router.post("/receiving/{key}/extra", name="receiving.extra")
def extra(asked: Asking, key: str) -> Response:
    """Write down that a part another set misses lay in this box; it goes back to its own set."""
    outcome = found_in_box(asked.opened.workplace, asked.form.get("piece", ""), key, Seen.BY_EYE, asked.around())
    return _done(asked, key, outcome, asked.gettext("Written down: put it into the box of the set that misses it."))


@router.post("/receiving/{key}/bath", name="receiving.bath")
def bath(asked: Asking, key: str) -> Response:
    """Start or end a bath, or write down what was done by hand."""
    form, work = asked.form, asked.opened.workplace
    around, instrument = asked.around(asked.second_person()), form.get("instrument", "")
    if form.get("done"):
        outcome: object = note_by_hand(work, key, instrument, form["done"], around)
    else:
        act = end_bath if form.get("act") == "end" else start_bath
        outcome = act(work, key, instrument, form.get("bath", ""), around)
    return _done(asked, key, outcome, asked.gettext("Written down."), "hand")


@router.post("/receiving/{key}/pod", name="receiving.pod")
def pod(asked: Asking, key: str) -> Response:
    """Bind the scanned pod to the set."""
    code = asked.form.get("code", "").strip()
    name = code.removeprefix("pod:").strip()
    if not name:
        return asked.go(_path(key, "apart"), asked.gettext("Scan the pod's label."), "bad")
    outcome = bind_pod(asked.opened.workplace, key, name, asked.around())
    return _done(asked, key, outcome, asked.gettext("{} belongs to {} now.").format(name, key), "apart")


@router.post("/receiving/{key}/apart", name="receiving.apart")
def apart(asked: Asking, key: str) -> Response:
    """Write down that the set lies taken apart, every part there."""
    work = asked.opened.workplace
    found = work.set_of(key)
    if isinstance(found, Refused):
        return asked.go("/receiving", found.text, "bad")
    outcome = dismantle_set(work, key, all_seen(found), asked.around(asked.second_person()))
    return _done(asked, key, outcome, asked.gettext("Taken apart: ready to be loaded."), "apart")
