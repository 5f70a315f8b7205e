"""The pages there are: one folder each, with its routes, template, style and script."""

from __future__ import annotations

from patency.bench.board.route import router as board
from patency.bench.clean.route import router as clean
from patency.bench.find.route import router as find
from patency.bench.finding.route import router as finding
from patency.bench.holds.route import router as holds
from patency.bench.labels.route import router as labels
from patency.bench.laboratory.route import router as laboratory
from patency.bench.loading.route import router as loading
from patency.bench.reach.route import router as reach
from patency.bench.receiving.route import router as receiving
from patency.bench.release.route import router as release
from patency.bench.setup.route import router as setup
from patency.bench.sign_in.route import router as sign_in
from patency.bench.staff.route import router as staff
from patency.bench.start.route import router as start
from patency.bench.stock.route import router as stock
from patency.bench.story.route import router as story
from patency.bench.trace.route import router as trace
from patency.bench.unloading.route import router as unloading

ROUTERS = (
    start,
    setup,
    sign_in,
    find,
    staff,
    board,
    story,
    labels,
    release,
    laboratory,
    reach,
    holds,
    trace,
    stock,
    receiving,
    loading,
    unloading,
    clean,
    finding,
)
"""Their routes."""
