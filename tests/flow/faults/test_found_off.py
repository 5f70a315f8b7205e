"""What lumens still reach with something off: the same as *fed* says of the load put together with open ports there."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.errors import PhysicsError
from patency.flow import FaultKind, StillReached, effects_of_faults, fed, flow_of_load, still_reached
from patency.quantities import Answer
from tests.demo.larkmere import hand_made_load, larkmere
from tests.small_plan import MORNING_LOAD
from tests.small_site import SMALL_SITE, changed, small_department

if TYPE_CHECKING:
    from patency.load import Load

DAY = date(2026, 5, 12)
OFF = {FaultKind.HOSE_OFF_PORT, FaultKind.HOSE_OFF_PIECE, FaultKind.PIECE_OFF_PORT, FaultKind.PIECE_OFF_NOZZLE}


@cache
def reached(load_id: str, *ports: str) -> StillReached:
    return still_reached(larkmere(), hand_made_load(load_id), ports, DAY)


def ports_of(load: Load, instrument: str) -> list[str]:
    return [one.port for piece in load.pieces if instrument in piece.piece for one in piece.lumens]


def left_open(load: Load, ports: tuple[str, ...]) -> Load:
    """Put the load together without what hung on some ports, and leave these open."""
    pieces = tuple(
        piece.model_copy(update={"lumens": tuple(one for one in piece.lumens if one.port not in ports)})
        for piece in load.pieces
    )
    return load.model_copy(update={"pieces": pieces, "open_ports": (*load.open_ports, *ports)})


def doubtful(found: StillReached) -> set[tuple[str, str]]:
    return {key[:2] for key in found.margin if found.doubt(key)}


@pytest.mark.parametrize(("instruments", "others"), [(("fix3/1", "fix3/4"), False), (("shaver", "pumpadapter"), True)])
def test_others_are_fed_where_fed_says_so_of_the_load_with_open_ports(
    instruments: tuple[str, ...], *, others: bool
) -> None:
    # Independent way: another load, its own network, intervals and answers.
    load = hand_made_load("D1")
    ports = tuple(port for instrument in instruments for port in ports_of(load, instrument))
    opened = left_open(load, ports)
    replies = fed(larkmere(), opened, flow_of_load(larkmere(), opened), DAY)
    starved = {key for key, reply in replies.items() if reply.answer is not Answer.YES}
    assert doubtful(reached("D1", *ports)) == starved
    own = {(one.set, one.piece) for one in load.pieces if {lumen.port for lumen in one.lumens} & {*ports}}
    assert own <= starved
    assert bool(starved - own) is others


def test_one_thing_off_reaches_the_least_of_its_single_faults_and_of_the_plan() -> None:
    load = hand_made_load("D1")
    effects = effects_of_faults(larkmere(), load, DAY)
    (port,) = ports_of(load, "fix3/2")
    rows = [row for row, one in enumerate(effects.faults) if one.place == port and one.kind in OFF]
    assert len(rows) == 2
    least = np.vstack((effects.margin[rows], effects.planned_margin)).min(axis=0)
    found = reached("D1", port)
    np.testing.assert_allclose([found.margin[key] for key in effects.lumens], least, rtol=1e-9)


def test_what_hung_there_is_dry_whatever_way_it_came_off() -> None:
    load = hand_made_load("D1")
    for instrument in ("fix3/1", "sleeve4/1", "shaver"):  # a hose, a piece over its nozzle, a piece on its port
        port = ports_of(load, instrument)[0]
        found = reached("D1", port)
        own = next(key for key in found.margin if instrument in key[1])
        assert found.margin[own] == 0.0
        assert found.doubt(own) == "reaches 0% of what it has to reach"


def test_what_cannot_be_computed_is_said_and_nothing_counts_as_fed(monkeypatch: pytest.MonkeyPatch) -> None:
    load = hand_made_load("D1")
    nothing = reached("D1", "H1", "nowhere")
    assert nothing.doubt(("Little Otter", "fix3/1/body", "lumen")) == "what comes off at nowhere cannot be computed"
    nine = [one.port for piece in load.pieces for one in piece.lumens][:9]
    assert still_reached(larkmere(), load, nine, DAY).not_computed == "more than 8 came off"
    assert not still_reached(larkmere(), load, nine[:8], DAY).not_computed

    def fails(*_: object) -> None:
        raise PhysicsError("pump", "beyond its run-out", "less open")

    monkeypatch.setattr("patency.flow.faults.found_off.solve_load", fails)
    assert "beyond its run-out" in still_reached(larkmere(), load, nine[:1], DAY).not_computed


def test_a_lumen_without_a_known_limit_or_with_something_open_does_not_count_as_fed() -> None:
    found = reached("D1", ports_of(hand_made_load("D1"), "fix3/1")[0])
    key = next(key for key in found.margin if not found.doubt(key))
    assert found.doubt(("no set", "no piece", "no lumen")) == "was not computed"
    unknown = replace(found, margin={**found.margin, key: float("nan")})
    assert unknown.doubt(key) == "is held against nothing that is known"
    still_open = replace(found, left_open={**found.left_open, key: ("its bore is not stated",)})
    assert still_open.doubt(key) == "its bore is not stated"


def test_a_lumen_that_falls_short_as_planned_does_not_become_fed_by_what_came_off() -> None:
    hungry = small_department(changed(SMALL_SITE, "least_flow: {value: 50 mL/min", "least_flow: {value: 600 mL/min"))
    effects = effects_of_faults(hungry, MORNING_LOAD, DAY)
    short = [key for key, margin in zip(effects.lumens, effects.planned_margin, strict=True) if margin < 1.0]
    port = next(fault.place for fault in effects.faults if fault.kind in OFF and fault.lumen != short[0])
    found = still_reached(hungry, MORNING_LOAD, [port], DAY)
    assert all(found.doubt(key) for key in short)
