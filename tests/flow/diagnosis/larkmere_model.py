"""The demo's load of Long Colon and Pelvis Two as a model of causes, built once for all tests."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from patency.flow import Rates
from patency.flow.diagnosis.signatures import CauseModel, Signatures, signatures_of
from tests.demo.larkmere import hand_made_load, larkmere

USUAL = Rates()
# Things go wrong about ten times as often as assumed, so that a few hundred cycles tell something.
OFTEN = replace(
    USUAL,
    faults={kind: 3.0 * rate for kind, rate in USUAL.faults.items()},
    pump_worn=0.05,
    sieve_clogged=0.05,
    foam=0.01,
    sensor_offset=0.05,
)


@cache
def model() -> CauseModel:
    return CauseModel(larkmere(), hand_made_load("L3"), USUAL)


def read() -> list[tuple[str, str]]:
    return [(stage, sensor.name) for stage in model().stages for sensor in model().sensors]


@cache
def signatures() -> Signatures:
    return signatures_of(model(), read())
