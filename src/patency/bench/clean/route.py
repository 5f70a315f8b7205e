"""The clean side: one next thing for each set, written down with one touch."""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import quote

from fastapi import APIRouter
from fastapi.responses import Response

from patency.bench.asking import Asked, Asking
from patency.ledger import Refused, SetState
from patency.steps import (
    bring_on,
    last_steam_tests,
    load_sterilizer,
    next_steam_load,
    note_steam_test,
    note_test,
    read_scan,
    sets_on_clean_side,
    show_clean_side,
    steam_choice,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

router = APIRouter(include_in_schema=False)


def _path(key: str) -> str:
    return f"/clean/{quote(key, safe='')}"


def _show(asked: Asked, key: str, reasons: object = ()) -> Response:
    shown = show_clean_side(asked.opened.workplace, key)
    if isinstance(shown, Refused):
        return asked.go("/clean", shown.text, "bad")
    return asked.page("clean", shown=shown, reasons=reasons, status=422 if reasons else 200)


def _list(asked: Asked, reasons: Sequence[object] = ()) -> Response:
    work = asked.opened.workplace
    found = sets_on_clean_side(work)
    packed = [one.set_key for one in found if one.state is SetState.PACKED]
    status = 422 if reasons else 200
    return asked.page(
        "clean/list.html", sets=found, packed=packed, steam=steam_choice(work), reasons=reasons, status=status
    )


def _tests(asked: Asked, reasons: Sequence[object] = ()) -> Response:
    shown = last_steam_tests(asked.opened.workplace, asked.now.date())
    return asked.page("clean/tests.html", tests=shown, reasons=reasons, status=422 if reasons else 200)


@router.get("/clean", name="clean")
def sets(asked: Asking) -> Response:
    """List the sets at the clean side, in the store and in theatre."""
    return _list(asked)


@router.post("/clean", name="clean.scan")
def scan(asked: Asking) -> Response:
    """Open the set that was scanned."""
    scanned = read_scan(asked.opened.workplace, asked.form.get("code", ""))
    if isinstance(scanned, Refused):
        return asked.go("/clean", scanned.text, "bad")
    if scanned.kind != "set":
        return asked.go("/clean", asked.gettext("That is no set: {}").format(scanned.key), "bad")
    return asked.go(_path(scanned.key))


@router.post("/clean-steam", name="clean.steam")
def steam(asked: Asking) -> Response:
    """Load a sterilizer with packed sets and start it."""
    work, form = asked.opened.workplace, asked.form
    chosen = tuple(asked.lists.get("sets", ()))
    machine = form.get("machine", "")
    load = next_steam_load(work, machine, asked.now.date())
    outcome = load_sterilizer(work, load, ("rack", machine, form.get("programme", "")), chosen, asked.around())
    if isinstance(outcome, Refused):
        return _list(asked, outcome.reasons)
    return asked.go("/clean", asked.gettext("Started: {}").format(load))


@router.get("/clean-tests", name="clean.tests")
def tests(asked: Asking) -> Response:
    """Show the last tests of the sterilizers, and whether loads of today can rest on them."""
    return _tests(asked)


@router.post("/clean-tests", name="clean.tested")
def tested(asked: Asking) -> Response:
    """Write down how a test of a sterilizer came out."""
    machine, name, verdict = (asked.form.get(field, "") for field in ("machine", "test", "verdict"))
    refused = note_steam_test(asked.opened.workplace, machine, name, verdict, asked.around())
    if refused:
        return _tests(asked, refused.reasons)
    if verdict == "met":
        return asked.go("/clean-tests", asked.gettext("Passed."))
    return asked.go("/clean-tests", asked.gettext("Not passed: {} is held.").format(machine), "bad")


@router.get("/clean/{key}", name="clean.set")
def set_page(asked: Asking, key: str) -> Response:
    """Show a set and the one next thing."""
    return _show(asked, key)


@router.post("/clean/{key}/on", name="clean.on")
def on(asked: Asking, key: str) -> Response:
    """Write down that the next thing was done."""
    work, shown = asked.opened.workplace, show_clean_side(asked.opened.workplace, key)
    if isinstance(shown, Refused):
        return _show(asked, key)
    if shown.next_by_hand is None or shown.next_by_hand != asked.form.get("to", ""):
        return _show(asked, key)  # it went on meanwhile, or the form was sent again
    missing, case = asked.lists.get("missing", ()), asked.form.get("case", "").strip()
    outcome = bring_on(work, key, shown.next_by_hand, missing, case, asked.around(asked.second_person()))
    if isinstance(outcome, Refused):
        return _show(asked, key, outcome.reasons)
    return asked.go(_path(key), asked.gettext("Written down: {}").format(asked.gettext(outcome.state)))


@router.post("/clean/{key}/test", name="clean.test")
def test(asked: Asking, key: str) -> Response:
    """Write down what a test of a piece showed."""
    form = asked.form
    facts = [form.get(name, "") for name in ("piece", "method", "verdict", "remark")]
    refused = note_test(asked.opened.workplace, facts[0], facts[1], facts[2], facts[3], asked.around())
    if refused:
        return _show(asked, key, refused.reasons)
    if facts[2] == "met":
        return asked.go(_path(key), asked.gettext("Passed."))
    return asked.go(_path(key), asked.gettext("Not passed: the piece is held."), "bad")
