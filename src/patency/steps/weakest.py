"""Which lumens of a load are worth the first look: those nearest to, or below, what they are held against."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.load import pieces_of_set
from patency.papers import LumenLine
from patency.quantities import Answer
from patency.texts import people_flow, people_shear

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from patency.catalogue import Department
    from patency.flow import LoadFlow, LumenFlow
    from patency.load import Load, Reply
    from patency.quantities import Interval

_WORST_FIRST = (Answer.NO, Answer.UNKNOWN, Answer.YES)


def weakest_lumens(
    department: Department, load: Load, load_flow: LoadFlow, fed: Mapping[tuple[str, str], Reply], count: int
) -> list[LumenLine]:
    """List the weakest lumens of a load, weakest first.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    load_flow
        The water in it.
    fed
        Set and piece to the answer whether it is fed.
    count
        How many at most.

    Returns
    -------
    list[LumenLine]
        ``no`` before ``unknown`` before ``yes``; within each by the lower end of wall shear, unknown shear last.
    """
    names = {(piece.set, piece.key): piece.words for name in load.sets for piece in pieces_of_set(department, name)}
    ports = {
        (piece.set, piece.piece, connection.lumen): connection.port
        for piece in load.pieces
        for connection in piece.lumens
    }

    def rank(item: tuple[tuple[str, str, str], LumenFlow]) -> tuple[int, float, float]:
        (set_name, piece, _), flow = item
        shear = flow.shear_pa.low if flow.shear_pa is not None else float("inf")
        return _WORST_FIRST.index(fed[set_name, piece].answer), shear, flow.flow_m3_s.low

    weakest = sorted(load_flow.lumens.items(), key=rank)[:count]
    return [
        LumenLine(
            set=set_name,
            piece=names[set_name, piece],
            port=ports[set_name, piece, lumen],
            flow=_words(flow.flow_m3_s, people_flow),
            shear="not known over a nozzle" if flow.shear_pa is None else _words(flow.shear_pa, people_shear),
            answer=fed[set_name, piece].answer.value,
            why=fed[set_name, piece].why,
        )
        for (set_name, piece, lumen), flow in weakest
    ]


def _words(interval: Interval, people: Callable[[float], str]) -> str:
    low, high = people(interval.low), people(interval.high)
    return f"{people(interval.nominal)} ({low.split()[0]}–{high.split()[0]})"
