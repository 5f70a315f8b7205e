"""Invented departments of any size, put together from the instruments, carriers and machines of the demo department.

Sets are drawn from four families (abdominal, groin, paediatric, joint) and filled up until the department has the
number of pieces asked for; they come back over the day, some are needed soon. Carriers and machines are those of the
demo department, as many as needed; its stock of accessories grows with the number of sets.
"""

from __future__ import annotations

import math
from datetime import timedelta
from typing import TYPE_CHECKING

from patency.catalogue import Department, SetType, Waiting, read_department
from patency.demo import larkmere_texts
from patency.load import pieces_of_set

if TYPE_CHECKING:
    from numpy.random import Generator

FAMILIES = {
    "abdominal": (
        {"sleeve6": 1, "veress": 1, "optic": 1, "hfcable": 1},
        ["mod5", "mod5", "mod5", "sleeve11", "sleeve6", "bip5", "hook", "clip10", "suction5", "lightcable"],
    ),
    "groin": ({"sleeve11": 1, "optic": 1, "lightcable": 1}, ["fix5", "fix5", "fix5", "needleholder", "sleeve6"]),
    "paediatric": (
        {"sleeve4": 2, "optic": 1, "lightcable": 1},
        ["fix3", "fix3", "fix3", "suction3", "veress", "hfcable"],
    ),
    "joint": (
        {"shaver": 1, "scopesheath": 1, "cannula": 1, "optic": 1, "lightcable": 1},
        ["cannula", "suctionpunch", "passer", "hfcable", "cannula"],
    ),
}
# One instrument of a single piece fills up to the exact number.
FILLER = "suction3"
MOST_OF_A_KIND = 6
FAMILY_SHARES = (0.5, 0.15, 0.15, 0.2)
PRESSING_SHARE = 0.15


def realistic_department(chance: Generator, sets: int, pieces: int, carriers: int) -> Department:
    """Draw a department.

    Parameters
    ----------
    chance
        The source of chance.
    sets
        Number of sets that wait.
    pieces
        Number of all their pieces.
    carriers
        Number of load carriers: two wide ones for each narrow one.

    Returns
    -------
    Department
        The department with its day.
    """
    base = read_department(larkmere_texts())
    sizes = _sizes(chance, sets, pieces)
    contents = {f"Set {number + 1:02}": _contents(chance, base, size) for number, size in enumerate(sizes)}
    described = {
        name: SetType.model_validate(
            {"contents": what, "basket_areas": 2 if size > 22 else 1, "soiled_side": f"{6 + size // 3} min"}
        )
        for (name, what), size in zip(contents.items(), sizes, strict=True)
    }
    department = base.model_copy(update={"sets": described, **_equipment(base, sets, carriers)})
    day = base.day
    if day is None:
        raise ValueError("the demo department has a day")
    waiting = []
    for name in described:
        back = day.shift_starts + timedelta(minutes=int(chance.integers(0, 390)))
        due = day.shift_ends
        if chance.random() < PRESSING_SHARE:
            due = min(due, back + timedelta(minutes=int(chance.integers(200, 300))))
        waiting.append(Waiting(set=name, back_at=back, washed_by=due))
    return department.model_copy(update={"day": day.model_copy(update={"waiting": waiting})})


def count_pieces(department: Department) -> int:
    """Count the pieces of all sets.

    Parameters
    ----------
    department
        The department.

    Returns
    -------
    int
        The number.
    """
    return sum(len(pieces_of_set(department, name)) for name in department.sets)


def _sizes(chance: Generator, sets: int, pieces: int) -> list[int]:
    mean = pieces / sets
    drawn = [max(12, round(float(chance.normal(mean, mean / 4)))) for _ in range(sets)]
    position = 0
    while (missing := pieces - sum(drawn)) != 0:
        step = 1 if missing > 0 else -1
        if drawn[position % sets] + step >= 12:
            drawn[position % sets] += step
        position += 1
    return drawn


def _contents(chance: Generator, base: Department, size: int) -> dict[str, int]:
    family = list(FAMILIES)[int(chance.choice(len(FAMILIES), p=FAMILY_SHARES))]
    start, more = FAMILIES[family]
    what = dict(start)
    while True:
        room = size - sum(_pieces(base, name) * number for name, number in what.items())
        able = [n for n in more if _pieces(base, n) <= room and what.get(n, 0) < MOST_OF_A_KIND]
        if not able:
            break
        name = able[int(chance.integers(0, len(able)))]
        what[name] = what.get(name, 0) + 1
    if room > 0:
        what[FILLER] = what.get(FILLER, 0) + room
    return what


def _pieces(base: Department, instrument: str) -> int:
    return sum(piece.count for piece in base.instruments[instrument].pieces.values())


def _equipment(base: Department, sets: int, carriers: int) -> dict[str, object]:
    wide, narrow = base.carriers["Lapwing"], base.carriers["Dunlin"]
    fleet = {
        f"{'Dunlin' if number % 3 == 2 else 'Lapwing'} {number + 1}": narrow if number % 3 == 2 else wide
        for number in range(carriers)
    }
    machine = base.machines["Alder"].model_copy(update={"docks": list(fleet)})
    machines = {f"Machine {number + 1}": machine for number in range(max(2, carriers - 1))}
    stock = {
        name: accessory.model_copy(update={"stock": math.ceil(accessory.stock * sets / len(base.sets))})
        for name, accessory in base.accessories.items()
    }
    return {"carriers": fleet, "machines": machines, "accessories": stock}
