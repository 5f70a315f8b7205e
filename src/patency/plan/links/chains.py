"""Every legal connector chain from a port to a lumen, and which link is missing where there is none."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import Adapter, ChainLink, FedBy, FlushingSleeve, InjectorNozzle, Strainer
from patency.plan.links.ends import end_fit
from patency.quantities import Answer

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue import Connector, Department, Lumen, Port

LONGEST = 3
"""Links that are searched in one chain: adapters, hoses, strainers, and the sleeve or nozzle at its end."""
# More than any sum of ranks can differ by through the number of links.
_PER_RANK = LONGEST + 1


@dataclass(frozen=True, slots=True, order=True)
class Chain:
    """One way to join a port to a lumen.

    Parameters
    ----------
    cost
        Ranks of its links first, then their number, as one integer: the smaller the better.
    links
        Accessories from the port to the lumen, in order.
    depth_m
        Least and largest depth [m] of an injector nozzle inside the bore; None without one.
    """

    cost: int
    links: tuple[str, ...]
    depth_m: tuple[float, float] | None = None


def start_of(port: Port) -> Connector:
    """Return the connector at which a chain begins.

    Parameters
    ----------
    port
        The port.

    Returns
    -------
    Connector
        The end of the port's hose, or the port's own end where it has none.
    """
    return port.hose.end if port.hose else port.end


def chain_cost(department: Department, links: tuple[str, ...]) -> int:
    """Return what a chain costs when chains are compared.

    Parameters
    ----------
    department
        The department.
    links
        Accessories of the chain.

    Returns
    -------
    int
        Sum of ranks first, number of links second.
    """
    return _PER_RANK * sum(department.accessories[name].rank for name in links) + len(links)


def find_chains(department: Department, start: Connector, lumen: Lumen) -> list[Chain]:
    """Find every legal chain from a connector to the inlet of a lumen.

    Parameters
    ----------
    department
        The department; its accessories are the links, whatever their stock.
    start
        Where the chain begins, see ``start_of``.
    lumen
        The lumen. It is fed at its inlet, also where its direction would not matter.

    Returns
    -------
    list[Chain]
        The best first. Ends join only where ``Connector.mates_with`` answers yes; a strainer stands in line where the
        lumen asks for one; the last link keeps the rules of ``end_fit``; no chain has more than ``LONGEST`` links, nor
        more adapters than the site's limit.
    """
    limit = department.limits.load.longest_chain
    found = []
    for links in _paths(department, start, ()):
        named = [department.accessories[name] for name in links]
        if limit is not None and sum(isinstance(link, Adapter) for link in named) > limit.value:
            continue
        if lumen.strainer_upstream and not any(isinstance(link, Strainer) for link in named):
            continue
        depth = None
        if not links:
            if lumen.fed_by is not FedBy.CONNECTION or not _joins(start, lumen.inlet):
                continue
        else:
            last = named[-1]
            fit = end_fit(last, lumen, department.limits.load) if isinstance(last, ChainLink) else None
            if fit is None or fit.answer is not Answer.YES:
                continue
            depth = fit.depth_m
        found.append(Chain(chain_cost(department, links), links, depth))
    return sorted(found, key=lambda chain: (chain.cost, chain.links))


def useful_chains(chains: list[Chain]) -> list[Chain]:
    """Keep the chains that can be of use in a plan.

    Parameters
    ----------
    chains
        Chains from one connector to one lumen.

    Returns
    -------
    list[Chain]
        Those to which no other is preferred: none that costs as little and takes no accessory that this one does not.
    """
    kept: list[Chain] = []
    for chain in sorted(chains, key=lambda chain: (chain.cost, len(chain.links), chain.links)):
        if not any(_within(other.links, chain.links) for other in kept):
            kept.append(chain)
    return kept


def _within(few: tuple[str, ...], many: tuple[str, ...]) -> bool:
    return all(few.count(link) <= many.count(link) for link in set(few))


def _joins(one: Connector, other: Connector | None) -> bool:
    return other is not None and one.mates_with(other) is Answer.YES


def _paths(department: Department, end: Connector, before: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """Walk through all strings of links that hang on a connector."""
    yield before
    if len(before) == LONGEST:
        return
    for name, link in department.accessories.items():
        if isinstance(link, ChainLink) and _joins(end, link.near):
            if isinstance(link, FlushingSleeve | InjectorNozzle):
                yield (*before, name)
            else:
                yield from _paths(department, link.far, (*before, name))
