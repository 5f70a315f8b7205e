"""Loading a carrier: one piece, one port, one touch."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter
from fastapi.responses import Response

from patency.bench.asking import Asked, Asking
from patency.ledger import Refused
from patency.steps import (
    Loading,
    Ways,
    Wrong,
    begin_load,
    choose_way,
    confirm_step,
    loads_of_day,
    picture_of_level,
    picture_of_type,
    pictures_of_floors,
    read_scan,
    show_before_start,
    show_loading,
    start_load,
    step_of_piece,
    swap_piece,
    swaps_on,
    take_over,
    undo_step,
    ways_on,
)

router = APIRouter(include_in_schema=False)
_PIECE_MM = (210.0, 62.0)
_CARRIER_MM = (150.0, 150.0)
_FLOOR_MM = (90.0, 90.0)


def _path(load: str, more: str = "") -> str:
    return f"/loading/{quote(load, safe='')}{more}"


def _show(asked: Asked, shown: Loading | Refused, reasons: object = (), told: str = "") -> Response:
    if isinstance(shown, Refused):
        return asked.go("/loading", shown.text, "bad")
    work, step = asked.opened.workplace, shown.now
    return asked.page(
        "loading",
        status=422 if reasons else 200,
        shown=shown,
        reasons=reasons,
        told=told,
        wrongs=tuple(Wrong),
        piece_svg=picture_of_type(work.department, step.picture_type, _PIECE_MM) if step else "",
        carrier_svg=picture_of_level(work, shown.load, step, _CARRIER_MM) if step else "",
        floors_svg=pictures_of_floors(work, shown.load, step, asked.opened.reach.meshes, _FLOOR_MM) if step else (),
    )


@router.get("/loading", name="loading")
def loads(asked: Asking) -> Response:
    """List the loads of the day and how far each is."""
    return asked.page("loading/list.html", loads=loads_of_day(asked.opened.workplace))


@router.get("/loading/{load}", name="loading.load")
def load_page(asked: Asking, load: str) -> Response:
    """Show the step in hand."""
    step = asked.request.query_params.get("step")
    return _show(asked, show_loading(asked.opened.workplace, load, step))


def _done(asked: Asked, load: str, outcome: Loading | Refused, told: str = "") -> Response:
    if not isinstance(outcome, Refused):
        return asked.go(_path(load), told or asked.gettext("Confirmed."))
    return _show(asked, show_loading(asked.opened.workplace, load, asked.form.get("step")), outcome.reasons)


@router.post("/loading/{load}/begin", name="loading.begin")
def begin(asked: Asking, load: str) -> Response:
    """Begin a load: its accessories are taken."""
    outcome = begin_load(asked.opened.workplace, load, asked.around())
    return _done(asked, load, outcome, asked.gettext("Begun: fetch what stands on the list."))


@router.post("/loading/{load}/confirm", name="loading.confirm")
def confirm(asked: Asking, load: str) -> Response:
    """Confirm the step in hand with a tap."""
    around = asked.around(asked.second_person())
    return _done(asked, load, confirm_step(asked.opened.workplace, load, asked.form.get("step", ""), (), around))


@router.post("/loading/{load}/scan", name="loading.scan")
def scan(asked: Asking, load: str) -> Response:
    """Confirm the step in hand by the mark of its piece; a piece out of turn lights its own port."""
    work, step = asked.opened.workplace, asked.form.get("step", "")
    scanned = read_scan(work, asked.form.get("code", ""))
    if isinstance(scanned, Refused):
        return _done(asked, load, scanned)
    if scanned.kind != "piece":
        return asked.go(_path(load), asked.gettext("That is no piece: {}").format(scanned.key), "bad")
    its_step = step_of_piece(work, load, scanned.key)
    if isinstance(its_step, Refused):
        return _done(asked, load, its_step)
    if its_step != step:
        where = _path(load, f"?step={quote(its_step, safe='')}")
        return asked.go(where, asked.gettext("Out of turn: this piece goes here."), "bad")
    return _done(asked, load, confirm_step(work, load, step, [scanned.key], asked.around()))


@router.post("/loading/{load}/undo", name="loading.undo")
def undo(asked: Asking, load: str) -> Response:
    """Take the last confirmation back."""
    outcome = undo_step(asked.opened.workplace, load, asked.around())
    return _done(asked, load, outcome, asked.gettext("Undone: this step is open again."))


@router.post("/loading/{load}/over", name="loading.over")
def over(asked: Asking, load: str) -> Response:
    """Go on with another person's load."""
    outcome = take_over(asked.opened.workplace, load, asked.around())
    return _done(asked, load, outcome, asked.gettext("Yours now. Look at what is done before you go on."))


def _ways(asked: Asked, load: str, what: str, port: str) -> Ways | Refused:
    if what not in tuple(Wrong):
        return Refused.because("deviation", f"{what!r} is not known", ", ".join(Wrong))
    return ways_on(asked.opened.workplace, load, Wrong(what), port)


@router.get("/loading/{load}/otherwise", name="loading.otherwise")
def otherwise(asked: Asking, load: str) -> Response:
    """Offer the next best permitted ways."""
    query = asked.request.query_params
    ways = _ways(asked, load, query.get("wrong", ""), query.get("port", ""))
    if isinstance(ways, Refused):
        return asked.go(_path(load), ways.text, "bad")
    return asked.page("loading/otherwise.html", ways=ways, load=load, reasons=())


@router.post("/loading/{load}/otherwise", name="loading.choose")
def choose(asked: Asking, load: str) -> Response:
    """Go on in one of the offered ways."""
    form = asked.form
    ways = _ways(asked, load, form.get("wrong", ""), form.get("port", ""))
    if isinstance(ways, Refused):
        return asked.go(_path(load), ways.text, "bad")
    around = asked.around(asked.second_person())
    outcome = choose_way(asked.opened.workplace, ways, form.get("way", ""), form.get("why", ""), around)
    if isinstance(outcome, Refused):
        return asked.page("loading/otherwise.html", ways=ways, load=load, reasons=outcome.reasons, status=422)
    return asked.go(_path(load), asked.gettext("Written down. Confirm what stands on the screen now."))


@router.get("/loading/{load}/swap", name="loading.swap")
def swap(asked: Asking, load: str) -> Response:
    """Offer equal spares for the pieces of a step."""
    step = asked.request.query_params.get("step", "")
    swaps = swaps_on(asked.opened.workplace, load, step)
    if isinstance(swaps, Refused):
        return asked.go(_path(load), swaps.text, "bad")
    return asked.page("loading/swap.html", swaps=swaps, load=load, step=step, reasons=())


@router.post("/loading/{load}/swap", name="loading.swapped")
def swapped(asked: Asking, load: str) -> Response:
    """Take a spare for a piece that cannot go in."""
    form, work = asked.form, asked.opened.workplace
    step, pair = form.get("step", ""), form.get("pair", "").splitlines()
    two = (pair[0], pair[-1]) if len(pair) > 1 else ("", "")
    outcome = swap_piece(work, load, step, two, form.get("why", ""), asked.around(asked.second_person()))
    if isinstance(outcome, Refused):
        swaps = swaps_on(work, load, step)
        if isinstance(swaps, Refused):
            return asked.go(_path(load), swaps.text, "bad")
        reasons = outcome.reasons
        return asked.page("loading/swap.html", swaps=swaps, load=load, step=step, reasons=reasons, status=422)
    return asked.go(
        _path(load, f"?step={quote(step, safe='')}"), asked.gettext("Swapped. Confirm the spare in its place.")
    )


@router.get("/loading/{load}/start", name="loading.check")
def check(asked: Asking, load: str) -> Response:
    """Show what is looked at before the start."""
    before = show_before_start(asked.opened.workplace, load)
    if isinstance(before, Refused):
        return asked.go("/loading", before.text, "bad")
    return asked.page("loading/start.html", before=before, reasons=(), ticked=(), scans={})


@router.post("/loading/{load}/start", name="loading.start")
def start(asked: Asking, load: str) -> Response:
    """Start the load, if all was looked at and what was scanned is what was planned."""
    work, form, ticked = asked.opened.workplace, asked.form, tuple(asked.lists.get("checked", ()))
    scans = {name: form.get(name, "").strip() for name in ("carrier", "machine", "programme")}
    found = read_scan(work, form.get("code", "")) if form.get("code", "").strip() else None
    if not isinstance(found, Refused) and found is not None and found.kind in scans:
        scans[found.kind] = found.key
    before = show_before_start(work, load)
    if isinstance(before, Refused):
        return asked.go("/loading", before.text, "bad")
    reasons: object = found.reasons if isinstance(found, Refused) else ()
    if form.get("act") == "start":
        three = (scans["carrier"], scans["machine"], scans["programme"])
        outcome = start_load(work, load, three, ticked, asked.around())
        if not isinstance(outcome, Refused):
            return asked.go("/loading", asked.gettext("Started: load {}").format(load))
        reasons = outcome.reasons
    status = 422 if reasons else 200
    return asked.page("loading/start.html", before=before, reasons=reasons, ticked=ticked, scans=scans, status=status)
