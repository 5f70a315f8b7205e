"""The page of the interface lists what the interface has, and nothing else."""

from __future__ import annotations

import re
from pathlib import Path

from fastapi.routing import APIRoute

from patency.bench.interface import clean, desk, findings, loads, sessions, soiled

PAGE = Path(__file__).parents[2] / "docs" / "bench-interface.md"


def test_the_page_lists_every_route() -> None:
    listed = re.findall(r"`(GET|POST|DELETE) (/[^`]*)`", PAGE.read_text(encoding="utf-8").split("## What there is")[1])
    routes = [one for part in (clean, desk, findings, loads, sessions, soiled) for one in part.router.routes]
    there = {(method, one.path) for one in routes if isinstance(one, APIRoute) for method in one.methods or ()}
    assert {*listed} == there
    assert len(listed) == len(there)
