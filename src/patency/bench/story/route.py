"""All that is known of one set."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from patency.bench.asking import Asking
from patency.steps import set_story_of

router = APIRouter(include_in_schema=False)


@router.get("/set/{key}", name="story")
def story(asked: Asking, key: str) -> Response:
    """Show where a set stands, what lies in it and everything that happened to it."""
    return asked.page("story", story=set_story_of(asked.opened.ledger, key))
