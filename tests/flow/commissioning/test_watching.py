"""Later readings of ports: one that clogs is named with its days, one that stays is not."""

from __future__ import annotations

import math
from datetime import date, timedelta

import numpy as np
import pytest

from patency.catalogue import Measurements, read_described
from patency.errors import InputError
from patency.flow.commissioning.model import BenchModel
from patency.flow.commissioning.parameters import described_parameters
from patency.flow.commissioning.watching import WatchedPort, watch_ports
from tests.flow.commissioning.bench_cases import MEASURED
from tests.small_site import small_department

FIRST = date(2026, 3, 2)


def watched(losses: dict[str, list[float]], *, days: bool = True) -> tuple[WatchedPort, ...]:
    """Ports of set-up A whose flow falls short of the description by these shares, one reading a week."""
    department = small_department()
    model = BenchModel(department, read_described(Measurements, MEASURED, "bench.yaml"))
    shown = model.predict((), np.empty(0)).shown
    lines = []
    for port, shares in losses.items():
        row = next(k for k, one in enumerate(model.readings) if one.at == port and one.setup == "A")
        for week, share in enumerate(shares):
            seconds = 2e-3 / (math.exp(shown[row]) * (1.0 - share))
            on = f", on: {FIRST + timedelta(weeks=week)}" if days else ""
            lines.append(f"- {{setup: A, instrument: bucket, at: {port}, volume: 2 L, time: {seconds:.4f} s{on}}}")
    text = MEASURED.split("readings:")[0] + "readings:\n" + "\n".join(reversed(lines)) + "\n"
    later = BenchModel(department, read_described(Measurements, text, "bench.yaml"))
    known = described_parameters(list(later.benches.values()), department.limits.flow)
    return watch_ports(later, known, 1000.0)


def test_a_port_that_clogs_is_flagged_with_its_days_and_its_neighbour_is_not() -> None:
    steady = [0.0, 0.005, -0.005, 0.0] * 6
    clogging = [0.0] * 10 + [0.01 * week for week in range(1, 15)]
    found = {one.port: one for one in watched({"H1": clogging, "T1": steady})}
    assert found["T1"].drift.flagged_at is None
    at, began = found["H1"].drift.flagged_at, found["H1"].drift.began_at
    assert at is not None
    assert began is not None
    assert 10 <= began <= at < 18  # long before a tenth is lost in week 20
    assert found["H1"].days[at] == FIRST + timedelta(weeks=at)
    assert found["H1"].last_share == pytest.approx(1.0 - 0.14, rel=1e-4)
    assert found["H1"].days == tuple(sorted(found["H1"].days))


def test_a_fit_that_is_a_little_off_for_a_port_raises_no_flag() -> None:
    (one,) = watched({"H1": [0.03] * 40})
    assert one.drift.flagged_at is None


def test_a_reading_without_its_day_is_refused() -> None:
    with pytest.raises(InputError, match="the day is not stated"):
        watched({"H1": [0.0]}, days=False)
