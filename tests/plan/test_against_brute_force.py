"""Plans of tiny departments have exactly as many loads and leave out as many sets as trying everything does."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from patency.catalogue import Department
from patency.plan import NoJudge, check_plan, plan_day
from tests.reference.fewest_loads import fewest
from tests.small_site import SMALL_SITE, small_department

BASE = small_department(SMALL_SITE)
# What one instrument of the small department takes of everything that can run out in a load.
TAKES = {
    "sleeve11": Counter(nozzle=1),
    "mod5": Counter(hose=1, sleeve=1),
    "fix5": Counter(hose=1),
    "cable": Counter(coil=1),
    "optic": Counter(holder=1),
}
POD = {"sleeve11"}


def drawn(rng: np.random.Generator) -> tuple[Department, dict[str, Counter[str]], dict[str, int]]:
    """Draw a department with up to five sets on the small carrier, whose ports, sleeves and coils run out in turn."""
    assert BASE.day is not None
    names = [f"Set {letter}" for letter in "ABCDE"[: rng.integers(2, 6)]]
    contents = {name: {key: int(n) for key in TAKES if (n := rng.integers(0, 3)) > 0} or {"fix5": 1} for name in names}
    areas = {
        name: int(rng.integers(0, 3)) if "mod5" not in contents[name] else int(rng.integers(1, 3)) for name in names
    }
    room = {
        "nozzle": 2,
        "hose": 3,
        "sleeve": int(rng.integers(1, 4)),
        "coil": 1,
        "holder": 1,
        "basket": 2,
        "pod": int(rng.integers(1, 3)),
    }
    needs = {
        name: sum((Counter({k: v * n for k, v in TAKES[key].items()}) for key, n in contents[name].items()), Counter())
        + Counter(basket=areas[name], pod=int(bool(POD & contents[name].keys())))
        for name in names
    }
    stock = {"sleeve_5": room["sleeve"], "pod": room["pod"], "hose_cap": 9, "nozzle_cap": 9, "net": 9, "nozzle_6": 9}
    accessories = {
        key: one.model_copy(update={"stock": stock.get(key, one.stock)}) for key, one in BASE.accessories.items()
    }
    pattern = BASE.sets["Morning"]
    sets = {
        name: pattern.model_copy(update={"contents": contents[name], "basket_areas": areas[name], "soiled_side_s": 0.0})
        for name in names
    }
    waiting = [BASE.day.waiting[0].model_copy(update={"set": name, "washed_by": None}) for name in names]
    carriers = {key: one.model_copy(update={"mass_limit_kg": None}) for key, one in BASE.carriers.items()}
    day = BASE.day.model_copy(update={"waiting": waiting})
    changed = {"accessories": accessories, "sets": sets, "day": day, "carriers": carriers}
    return BASE.model_copy(update=changed), needs, room


@pytest.mark.slow
@pytest.mark.parametrize("start", range(0, 200, 20))
def test_tiny_departments_are_planned_as_well_as_trying_everything_does(start: int) -> None:
    for seed in range(start, start + 20):
        department, needs, room = drawn(np.random.default_rng(seed))
        assert department.day is not None
        plan = plan_day(department, judge=NoJudge())
        assert (len(plan.left_out), len(plan.loads)) == fewest(needs, room), seed
        assert plan.proven_fewest, seed
        assert plan.loads_at_least == len(plan.loads), seed
        broken = [one for one in check_plan(plan, department, department.day) if one.rule != "fed"]
        assert broken == [], (seed, broken)
