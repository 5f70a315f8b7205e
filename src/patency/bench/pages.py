"""The pages there are: one folder each, with its routes, template, style and script."""

from __future__ import annotations

from patency.bench.board.route import router as board
from patency.bench.find.route import router as find
from patency.bench.setup.route import router as setup
from patency.bench.sign_in.route import router as sign_in
from patency.bench.staff.route import router as staff
from patency.bench.start.route import router as start
from patency.bench.story.route import router as story

ROUTERS = (start, setup, sign_in, find, staff, board, story)
"""Their routes."""
