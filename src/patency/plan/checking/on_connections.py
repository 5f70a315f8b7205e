"""Rules on connections: every lumen at one port of its own, through links that join."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from patency.catalogue import (
    Adapter,
    ChainLink,
    Connector,
    FedBy,
    FlushingSleeve,
    Hose,
    InjectorNozzle,
    Placing,
    PortKind,
    Strainer,
)
from patency.plan.checking.finding import Observation
from patency.plan.checking.joints import joins
from patency.quantities import Answer

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.plan.checking.case import Case


def every_lumen_once(case: Case) -> Iterator[Observation]:
    """Find lumens that are not connected or connected more than once."""
    for place in case.places():
        connected = Counter(connection.lumen for connection in place.placed.lumens)
        for lumen in place.type.lumens:
            if connected[lumen] != 1:
                how = "is not connected" if connected[lumen] == 0 else f"is connected {connected[lumen]} times"
                yield Observation(f"its lumen {lumen} {how}", place.load.id, place.placed.set, place.placed.piece)


def one_piece_per_port(case: Case) -> Iterator[Observation]:
    """Find ports that feed lumens of two pieces."""
    for load in case.plan.loads:
        users: dict[str, list[str]] = {}
        for placed in load.pieces:
            for port in {connection.port for connection in placed.lumens}:
                users.setdefault(port, []).append(f"{placed.set} {placed.piece}")
        for port, pieces in users.items():
            if len(pieces) > 1:
                yield Observation(f"it feeds {' and '.join(pieces)}", load.id, port=port)


def no_lumens_in_series(case: Case) -> Iterator[Observation]:
    """Find two lumens of one piece that share a port, one behind the other."""
    for load in case.plan.loads:
        for placed in load.pieces:
            hanging: dict[str, set[str]] = {}
            for connection in placed.lumens:
                hanging.setdefault(connection.port, set()).add(connection.lumen)
            for port, lumens in hanging.items():
                if len(lumens) > 1:
                    sentence = f"its lumens {' and '.join(sorted(lumens))} hang on one port"
                    yield Observation(sentence, load.id, placed.set, placed.piece, port)


def stands_where_it_is_fed(case: Case) -> Iterator[Observation]:
    """Find pieces that stand at a port which feeds none of their lumens."""
    for place in case.places(Placing.PORT):
        placed = place.placed
        if placed.lumens and placed.position not in {connection.port for connection in placed.lumens}:
            sentence = f"it stands at {placed.position}, which feeds none of its lumens"
            yield Observation(sentence, place.load.id, placed.set, placed.piece, placed.position)


def kind_of_feed(case: Case) -> Iterator[Observation]:
    """Find lumens fed in another way than they need: an injector nozzle on a rigid port, or a connection."""
    for feed in case.feeds():
        nozzles = [link for link in feed.links if isinstance(link, InjectorNozzle)]
        if feed.lumen.fed_by is FedBy.INJECTOR_NOZZLE and not nozzles:
            yield feed.observe(f"lumen {feed.connection.lumen} needs an injector nozzle and has none")
        elif feed.lumen.fed_by is FedBy.CONNECTION and nozzles:
            yield feed.observe(f"lumen {feed.connection.lumen} needs a connection and gets an injector nozzle")
        elif nozzles and (feed.port.kind is PortKind.HOSE or any(isinstance(link, Hose) for link in feed.links)):
            yield feed.observe("its injector nozzle hangs on a hose and cannot carry it")


def links_join(case: Case) -> Iterator[Observation]:
    """Find chains of which two neighbours do not join: port, links, inlet of the lumen."""
    for feed in case.feeds():
        end: Connector | None = feed.port.hose.end if feed.port.hose else feed.port.end
        behind = f"port {feed.connection.port}"
        ended = False
        for name, link in zip(feed.connection.chain, feed.links, strict=True):
            if not ended and not joins(end, link.near):
                yield feed.observe(f"{behind} does not join {name}")
            # What hangs on a sleeve or nozzle is found by the rule on last links.
            ended = isinstance(link, FlushingSleeve | InjectorNozzle)
            end, behind = _far(link), name
        if feed.lumen.fed_by is FedBy.CONNECTION and end is not None and not joins(end, feed.lumen.inlet):
            yield feed.observe(f"{behind} does not join the inlet of lumen {feed.connection.lumen}")


def chain_length(case: Case) -> Iterator[Observation]:
    """Find chains with more adapters than the site allows."""
    limit = case.department.limits.load.longest_chain
    for feed in case.feeds():
        adapters = sum(isinstance(link, Adapter) for link in feed.links)
        if limit is None and adapters:
            yield feed.observe("the site does not state how many adapters a chain may have", Answer.UNKNOWN)
        elif limit is not None and adapters > limit.value:
            yield feed.observe(f"its chain has {adapters} adapters, allowed are {limit.value:g}")


def strainer_upstream(case: Case) -> Iterator[Observation]:
    """Find narrow lumens without the strainer they need before them."""
    for feed in case.feeds():
        if feed.lumen.strainer_upstream and not any(isinstance(link, Strainer) for link in feed.links):
            yield feed.observe(f"lumen {feed.connection.lumen} needs a strainer upstream and has none")
        elif feed.lumen.strainer_upstream is None:
            what = f"whether lumen {feed.connection.lumen} needs a strainer upstream is not known"
            yield feed.observe(what, Answer.UNKNOWN)


def _far(link: ChainLink) -> Connector | None:
    """Return the end of a link towards the piece; an injector nozzle has none, it stands in the bore."""
    if isinstance(link, FlushingSleeve):
        return link.grips
    return None if isinstance(link, InjectorNozzle) else link.far
