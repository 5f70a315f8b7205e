"""The pieces that jets strike least, as pages show them: as far as it was computed, with what is not known."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import date
from functools import cache
from typing import TYPE_CHECKING

import pytest

from patency.ledger import open_ledger
from patency.load import Plan
from patency.reach import JetSampling, held_bytes, reach_of_load
from patency.steps import KeptReach, LeastStruck, Looks, Move, Workplace, least_struck, sheet_of_load
from tests.reach.drawn import drawn_load

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from patency.catalogue import Department
    from patency.load import Load
    from patency.reach import LoadReach

TUBE = ("Gallbladder One", "mod5/1/tube")


def small() -> Load:
    _, load = drawn_load()
    kept = [one for one in load.pieces if one.piece in {TUBE[1], "sleeve11/1/valve flap"}]
    return load.model_copy(update={"pieces": tuple(kept)})


@cache
def found() -> LoadReach:
    site, load = drawn_load()[0], small()
    arms = site.machine_kinds[load.machine_kind].arms
    return reach_of_load(site, load, dict.fromkeys(arms, 95 / 60000), 50.0, sampling=JetSampling(8, 1))


@pytest.fixture
def workplace(tmp_path: Path) -> Iterator[Workplace]:
    """Where the plan has one load of two pieces."""
    site, load = drawn_load()[0], small()
    plan = Plan(
        site=site.site,
        day=date(2026, 5, 12),
        loads=(load,),
        loads_at_least=1,
        proven_fewest=False,
        objective={"loads": 1.0},
        bound={"loads": 1.0},
    )
    ledger = open_ledger(str(tmp_path / "ledger.sqlite"), create=True)
    yield Workplace(ledger, site, plan)
    ledger.close()


def test_a_load_of_which_something_is_not_known_says_of_how_many_pieces_and_lists_only_what_is_known(
    workplace: Workplace,
) -> None:
    kept = KeptReach({})
    kept._found["L1", ()] = found()
    told = least_struck(workplace, kept, "L1")
    assert told is not None
    assert told.computed
    assert told.unknown == 0
    flap = next(one for one in told.pieces if one.key[1] == "sleeve11/1/valve flap")
    assert 0.0 < flap.share < 1.0
    assert least_struck(workplace, kept, "steam-North-20260512-1") is None
    arranged = found().arranged
    kept._found["L1", ()] = replace(found(), arranged=replace(arranged, gaps={flap.key: ("its thickness",)}))
    told = least_struck(workplace, kept, "L1")
    assert told is not None
    assert told.unknown == 1
    assert flap.key not in [one.key for one in told.pieces]
    kept._found["L1", ()] = replace(found(), strikes=None)
    assert least_struck(workplace, kept, "L1") == LeastStruck(computed=True, pieces=(), unknown=2)


def test_a_sheet_lists_zones_in_shadow_and_says_of_what_nobody_knows(workplace: Workplace) -> None:
    site, load, key = workplace.department, small(), ("Gallbladder One", "sleeve11/1/valve flap")
    looks = Looks(site)
    assert sheet_of_load(site, workplace.plan, load).shadows == ()
    looks.keep(load, found())
    told = sheet_of_load(site, workplace.plan, load, (), looks)
    assert told.shadows[0].startswith(
        "set A: valve flap – trocar sleeve 11 mm, under the flap (0\u00a0%, no jet points"
    )
    assert told.reach is not None
    arranged = found().arranged
    looks.keep(load, replace(found(), arranged=replace(arranged, gaps={**arranged.gaps, key: ("how thick",)})))
    unknown = sheet_of_load(site, workplace.plan, load, (), looks).shadows
    assert unknown[-1] == "set A: valve flap – trocar sleeve 11 mm: not known, look at every side"
    assert not any("under the block" in line for line in unknown)
    looks.keep(load, replace(found(), strikes=None))
    nothing = sheet_of_load(site, workplace.plan, load, (), looks)
    assert nothing.shadows == ("not known for this load: look at every side of every piece",)
    assert nothing.reach is None


def test_a_load_that_was_looked_at_ahead_can_be_read_and_is_computed_once(
    workplace: Workplace, monkeypatch: pytest.MonkeyPatch
) -> None:
    computed: list[str] = []

    def compute(_: Department, load: Load, *__: object) -> LoadReach:
        computed.append(load.id)
        return found()

    monkeypatch.setattr("patency.steps.reach_trying.load_reach", compute)
    kept = KeptReach({})
    for _ in range(2):
        kept.read_ahead(workplace.department, small())
    assert computed == ["L1"]
    told = least_struck(workplace, kept, "L1")
    assert told is not None
    assert told.computed
    assert told.pieces
    read = kept.known(small())
    assert read is not None
    assert held_bytes([read]) == 0
    assert kept.of(workplace.department, small()) is found()
    assert computed == ["L1", "L1"]  # to move pieces in it takes what was not kept


def test_nobody_waits_for_what_is_being_computed_and_a_load_with_a_piece_moved_is_not_taken_for_it(
    workplace: Workplace,
) -> None:
    kept = KeptReach({})
    kept._found["L1", (Move(3, 1.0),)] = found()
    told: list[LeastStruck | None] = []
    asker = threading.Thread(target=lambda: told.append(least_struck(workplace, kept, "L1")), daemon=True)
    with kept._one_at_a_time:
        asker.start()
        asker.join(60)
        assert told == [LeastStruck(computed=False)]
