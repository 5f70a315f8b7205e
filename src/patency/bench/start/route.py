"""Where everybody begins."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from patency.bench.asking import Asking

router = APIRouter(include_in_schema=False)


@router.get("/", name="start")
def start(asked: Asking) -> Response:
    """Show the first look to whoever is signed in, and the way in to everybody else."""
    if not asked.person:
        return asked.go("/sign-in")
    waiting = asked.opened.department.day.waiting if asked.opened.department.day else []
    return asked.page("start", sets=len(waiting), loads=asked.opened.plan.loads)


@router.get("/alive", name="alive")
def alive() -> Response:
    """Say that the bench answers, for whoever watches over it."""
    return Response("alive\n", media_type="text/plain")
