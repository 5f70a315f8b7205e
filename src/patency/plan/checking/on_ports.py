"""Rules on ports that feed nothing: capped with a cap that fits, or openly listed as open."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from patency.catalogue import Cap
from patency.plan.checking.finding import Observation
from patency.plan.checking.joints import joins

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue import Port
    from patency.load import Load
    from patency.plan.checking.case import Case


def every_unused_port_closed(case: Case) -> Iterator[Observation]:
    """Find unused ports that are neither capped nor listed as open."""
    for load in case.plan.loads:
        carrier = case.carrier(load)
        told = {capped.port for capped in load.capped_ports} | set(load.open_ports) | _used(load)
        for port in carrier.ports if carrier else ():
            if port not in told:
                yield Observation("it feeds nothing and is neither capped nor listed as open", load.id, port=port)


def no_used_port_closed(case: Case) -> Iterator[Observation]:
    """Find ports that feed a lumen and are capped or listed as unused."""
    for load in case.plan.loads:
        used = _used(load)
        for capped in load.capped_ports:
            if capped.port in used:
                yield Observation(f"it feeds a lumen and is closed with {capped.cap}", load.id, port=capped.port)
        for port in load.open_ports:
            if port in used:
                yield Observation("it feeds a lumen and is listed as unused", load.id, port=port)


def closed_once(case: Case) -> Iterator[Observation]:
    """Find unused ports that are listed more than once."""
    for load in case.plan.loads:
        listed = Counter([*(capped.port for capped in load.capped_ports), *load.open_ports])
        for port, count in listed.items():
            if count > 1:
                yield Observation(f"it is listed {count} times as capped or open", load.id, port=port)


def caps_fit(case: Case) -> Iterator[Observation]:
    """Find caps that do not join the end they close."""
    for load in case.plan.loads:
        carrier = case.carrier(load)
        for capped in load.capped_ports:
            port = carrier.ports.get(capped.port) if carrier else None
            cap = case.department.accessories.get(capped.cap)
            if port is not None and isinstance(cap, Cap) and not _closes(cap, port):
                yield Observation(f"{capped.cap} does not close it", load.id, port=capped.port)


def open_only_without_caps(case: Case) -> Iterator[Observation]:
    """Find ports left open although a cap that fits is in stock and on no other load of that time."""
    for load in case.plan.loads:
        carrier = case.carrier(load)
        for name in load.open_ports:
            port = carrier.ports.get(name) if carrier else None
            left = [key for key in _caps_left(case, load) if port is not None and _fits(case, key, port)]
            if left:
                yield Observation(f"it is left open although {left[0]} is in stock", load.id, port=name)


def _used(load: Load) -> set[str]:
    return {connection.port for placed in load.pieces for connection in placed.lumens}


def _caps_left(case: Case, load: Load) -> list[str]:
    """Name the caps of which one more could be used for the whole time of a load."""
    together = [
        other
        for other in case.plan.loads
        if other.starts < case.free_again(load) and load.starts < case.free_again(other)
    ]
    used = Counter(capped.cap for other in together for capped in other.capped_ports)
    caps = {key: accessory for key, accessory in case.department.accessories.items() if isinstance(accessory, Cap)}
    return [key for key, cap in caps.items() if used[key] < cap.stock]


def _fits(case: Case, key: str, port: Port) -> bool:
    cap = case.department.accessories[key]
    return isinstance(cap, Cap) and _closes(cap, port)


def _closes(cap: Cap, port: Port) -> bool:
    return joins(cap.near, port.hose.end if port.hose else port.end)
