"""Rules on stock: what all loads of one time take has to be there."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from patency.catalogue import Accessory, Cap, ChainLink, Net, OpticHolder, Placing, Pod
from patency.plan.checking.finding import Observation

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from patency.load import Load
    from patency.plan.checking.case import Case


def stock_of_links(case: Case) -> Iterator[Observation]:
    """Find hoses, adapters, strainers, sleeves and nozzles that are used more often at one time than there are."""
    return _short(case, _links)


def stock_of_caps(case: Case) -> Iterator[Observation]:
    """Find caps that are used more often at one time than there are."""
    return _short(case, _caps)


def stock_of_holders(case: Case) -> Iterator[Observation]:
    """Find optic holders that are used more often at one time than there are."""
    return _short(case, _holders)


def stock_of_pods(case: Case) -> Iterator[Observation]:
    """Find times at which more sets need a pod than there are pods."""
    return _short_of_kind(case, Pod, "pods", _pods)


def stock_of_nets(case: Case) -> Iterator[Observation]:
    """Find times at which more basket areas need a net than there are nets."""
    return _short_of_kind(case, Net, "hold-down nets", _nets)


def _links(load: Load) -> Counter[str]:
    return Counter(name for placed in load.pieces for connection in placed.lumens for name in connection.chain)


def _caps(load: Load) -> Counter[str]:
    return Counter(capped.cap for capped in load.capped_ports)


def _holders(load: Load) -> Counter[str]:
    return Counter(placed.position for placed in load.pieces if placed.placing is Placing.OPTIC_HOLDER)


def _pods(load: Load) -> int:
    return len({placed.position for placed in load.pieces if placed.placing is Placing.POD})


def _nets(load: Load) -> int:
    return len({placed.position for placed in load.pieces if placed.net})


def _together(case: Case) -> Iterator[tuple[Load, list[Load]]]:
    """Walk through the starts of loads, each with all loads that keep their accessories at that moment."""
    for load in case.plan.loads:
        at = load.starts
        yield load, [other for other in case.plan.loads if other.starts <= at < case.free_again(other)]


def _short(case: Case, of: Callable[[Load], Counter[str]]) -> Iterator[Observation]:
    for load, together in _together(case):
        used = sum((of(other) for other in together), Counter[str]())
        for name in of(load):
            accessory = case.department.accessories.get(name)
            if isinstance(accessory, Cap | OpticHolder | ChainLink) and used[name] > accessory.stock:
                sentence = f"{used[name]} of {name} are needed {_when(load, together)}, in stock are {accessory.stock}"
                yield Observation(sentence, load.id)


def _short_of_kind(case: Case, kind: type[Accessory], words: str, of: Callable[[Load], int]) -> Iterator[Observation]:
    stock = sum(accessory.stock for accessory in case.department.accessories.values() if isinstance(accessory, kind))
    for load, together in _together(case):
        used = sum(of(other) for other in together)
        if of(load) and used > stock:
            yield Observation(f"{used} {words} are needed {_when(load, together)}, in stock are {stock}", load.id)


def _when(load: Load, together: list[Load]) -> str:
    others = [other.id for other in together if other is not load]
    return f"at {load.starts:%H:%M}" + (f" with {', '.join(others)}" if others else "")
