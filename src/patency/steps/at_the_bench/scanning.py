"""What a scan means: a set, a piece by its mark, a load, a machine, a carrier, a programme, a pod, a port."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.ledger import InstrumentSet, LoadRecord, Machine, Mark, Piece, Refused

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.steps.at_the_bench.workplace import Workplace

KINDS = ("set", "piece", "load", "machine", "carrier", "programme", "pod", "port")


@dataclass(frozen=True, slots=True)
class Scanned:
    """What was scanned.

    Parameters
    ----------
    kind
        One of `KINDS`.
    key
        Which one.
    """

    kind: str
    key: str


def read_scan(workplace: Workplace, text: str) -> Scanned | Refused:
    """Say what a scanned text means.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    text
        ``set:Heron`` and the like, a mark that is on a piece, or the bare name of a thing.

    Returns
    -------
    Scanned or Refused
        The thing; refused where the text means nothing or several things.
    """
    text = text.strip()
    kind, colon, key = text.partition(":")
    if colon and kind in KINDS:
        return Scanned(kind, key.strip())
    mark = workplace.ledger.find(Mark, text) if text else None
    if mark is not None:
        return Scanned("piece", mark.piece)
    meanings = list(_bare(workplace, text)) if text else []
    if len(meanings) == 1:
        return meanings[0]
    if meanings:
        several = ", ".join(f"{one.kind} {one.key}" for one in meanings)
        return Refused.because(f"scan {text!r}", f"can mean {several}", "its kind before it, such as set:…")
    return Refused.because(f"scan {text[:60]!r}", "is not known here", "a set, a marked piece, a load, a machine")


def _bare(workplace: Workplace, text: str) -> Iterator[Scanned]:
    find, department = workplace.ledger.find, workplace.department
    if find(InstrumentSet, text):
        yield Scanned("set", text)
    if find(Piece, text):
        yield Scanned("piece", text)
    if find(LoadRecord, text) or any(load.id == text for load in workplace.plan.loads):
        yield Scanned("load", text)
    if find(Machine, text) or text in department.machines:
        yield Scanned("machine", text)
    if text in department.carriers:
        yield Scanned("carrier", text)
    if text in department.programmes:
        yield Scanned("programme", text)
