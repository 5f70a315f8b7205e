"""The clean side for programs: inspect, assemble, pack, sterilize, store, issue, use."""

from __future__ import annotations

from http import HTTPStatus

from fastapi import APIRouter

from patency.bench.interface.answers import CleanAnswer, LastTestAnswer, SetAnswer, SteamAnswer
from patency.bench.interface.bodies import KeyText, On, Steam, SteamTest, Test
from patency.bench.interface.calling import Call, Doing, Reading
from patency.bench.interface.faults import granted
from patency.bench.interface.showing import set_answer
from patency.steps import (
    bring_on,
    last_steam_tests,
    load_sterilizer,
    next_steam_load,
    note_steam_test,
    note_test,
    sets_on_clean_side,
    show_clean_side,
)

router = APIRouter(tags=["clean side"])


@router.get("/clean", name="clean")
def sets(call: Reading) -> list[CleanAnswer]:
    """The sets at the clean side, in the store and in theatre."""
    return [CleanAnswer.model_validate(one) for one in sets_on_clean_side(call.opened.workplace)]


@router.get("/sets/{key}/clean", name="clean.set")
def at_clean_side(call: Reading, key: KeyText) -> CleanAnswer:
    """A set at the clean side, and what a person does next with it."""
    return CleanAnswer.model_validate(granted(show_clean_side(call.opened.workplace, key), HTTPStatus.NOT_FOUND))


@router.post("/sets/{key}/on", name="clean.on")
def on(call: Doing, key: KeyText, body: On) -> SetAnswer:
    """Write down that the next thing was done with a set: inspected, put together, packed, stored, issued, used."""
    around = call.around(call.confirmed_by(body.second))
    granted(bring_on(call.opened.workplace, key, body.to, body.missing, body.case.strip(), around))
    return set_answer(call, key)


@router.post("/sets/{key}/test", name="clean.test")
def test(call: Doing, key: KeyText, body: Test) -> SetAnswer:
    """Write down what a test of a piece showed; one that is not passed holds the piece."""
    facts = (body.piece, body.method, body.verdict, body.remark)
    granted(note_test(call.opened.workplace, *facts, call.around()))
    return set_answer(call, key)


@router.post("/steam", name="clean.steam")
def steam(call: Doing, body: Steam) -> SteamAnswer:
    """Load a sterilizer with packed sets and start it."""
    work = call.opened.workplace
    load = next_steam_load(work, body.machine, call.now.date())
    inside = load_sterilizer(work, load, ("rack", body.machine, body.programme), body.sets, call.around())
    sets = [set_answer(call, one.set_key) for one in granted(inside)]
    return SteamAnswer(load=sets[0].load if sets else None, sets=[one.set_key for one in sets])


def _tests(call: Call) -> list[LastTestAnswer]:
    return [
        LastTestAnswer(
            machine=one.machine, test=one.test, result=one.check.result if one.check else None,
            at=one.check.at if one.check else None, by=one.check.by if one.check else None, until=one.until,
            state=one.criterion.state, why=one.criterion.why,
        )
        for one in last_steam_tests(call.opened.workplace, call.now.date())
    ]  # fmt: skip


@router.get("/sterilizer-tests", name="clean.tests")
def tests(call: Reading) -> list[LastTestAnswer]:
    """The last tests of the sterilizers, and whether loads of today can rest on them."""
    return _tests(call)


@router.post("/sterilizer-tests", name="clean.tested")
def tested(call: Doing, body: SteamTest) -> list[LastTestAnswer]:
    """Write down how a test of a sterilizer came out; one that is not passed holds the sterilizer."""
    granted(note_steam_test(call.opened.workplace, body.machine, body.test, body.verdict, call.around()))
    return _tests(call)
