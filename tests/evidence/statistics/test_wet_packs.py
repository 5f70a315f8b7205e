"""Patterns of wet packs: a place is told from a wet load, and chance from both."""

from __future__ import annotations

import json

import numpy as np
import pytest

from patency.errors import InputErrors
from patency.evidence import read_packs, wet_document, wet_patterns

HEAD = "load,wet,position,machine\n"


def table(chance: np.random.Generator, *, at: str = "", of_load: float = 0.0, loads: int = 40) -> str:
    rows = []
    for load in range(loads):
        wet_load = chance.random() < of_load
        for position in ("top", "middle", "drain", "door"):
            likely = 0.6 if wet_load else 0.35 if position == at else 0.02
            wet = "yes" if chance.random() < likely else "no"
            rows.append(f"{load},{wet},{position},{'Yew' if load % 2 else 'Elm'}\n")
    return HEAD + "".join(rows)


def test_a_place_where_packs_are_wet_stands_out() -> None:
    patterns = wet_patterns(read_packs(table(np.random.default_rng(1), at="drain")))
    assert (patterns[0].trait, patterns[0].value) == ("position", "drain")
    assert patterns[0].adjusted < 0.001
    assert all(one.adjusted > 0.05 for one in patterns[1:])
    assert json.loads(json.dumps(wet_document(patterns)))["patterns"][0]["wet"] == patterns[0].wet


def test_false_alarms_come_no_more_often_than_asked_for_though_whole_loads_are_wet() -> None:
    chance = np.random.default_rng(2)
    alarms = sum(wet_patterns(read_packs(table(chance, of_load=0.2)))[0].adjusted <= 0.05 for _ in range(200))
    assert alarms <= 0.05 * 200 + 3 * (0.05 * 0.95 * 200) ** 0.5


def test_a_machine_is_judged_by_loads_and_one_wet_load_blames_no_place() -> None:
    one_load = "".join(f"0,yes,{place},Yew\n" for place in ("top", "middle", "drain", "door"))
    others = "".join(f"{n},no,{place},Elm\n" for n in range(1, 4) for place in ("top", "middle", "drain", "door"))
    patterns = {one.value: one for one in wet_patterns(read_packs(HEAD + one_load + others))}
    assert patterns["drain"].chance == 1.0
    assert (patterns["Yew"].wet, patterns["Yew"].of) == (1, 1)
    assert patterns["Yew"].chance == pytest.approx(0.25)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("load,wet,colour\n", "p.csv:1: column 'colour'"),
        ("load,wet,load\n", "p.csv:1: column 'load'"),
        ("load\n", "p.csv:1: no column 'wet'"),
        (HEAD, "p.csv:1: no pack in it"),
        (HEAD + "1,maybe,top,Yew\n", "p.csv:2: wet: 'maybe' (expected: yes or no)"),
        (HEAD + "1,yes,,Yew\n", "p.csv:2: a cell is empty"),
        (HEAD + "1,yes,top,Yew,x\n", "p.csv:2: a cell is empty, missing or too many"),
        (HEAD + "1,yes,top,Yew\n1,no,top,Elm\n", "p.csv:3: machine: load '1' in another machine than above"),
        (HEAD + '1,"yes', "p.csv:2: not a table"),
    ],
)
def test_a_bad_table_is_refused_with_its_place(text: str, says: str) -> None:
    with pytest.raises(InputErrors) as refused:
        read_packs(text, "p.csv")
    assert refused.value.faults[0].line.startswith(says)
