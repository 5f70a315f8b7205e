"""Which link is missing where no connector chain reaches a lumen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue import ChainLink, FedBy, FlushingSleeve, InjectorNozzle, Strainer
from patency.plan.links.chains import LONGEST, find_chains
from patency.plan.links.ends import end_fit
from patency.quantities import Answer

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from patency.catalogue import Connector, Department, Lumen


def connector_words(department: Department, connector: Connector) -> str:
    """Name a connector as people do.

    Parameters
    ----------
    department
        The department, for the names of families.
    connector
        The connector.

    Returns
    -------
    str
        Such as ``luer lock, small bore, male``.
    """
    family = department.connector_families.get(connector.family)
    name = family.name if family else connector.family
    size = f" {connector.size_m.nominal * 1000:g} mm" if connector.size_m else ""
    return f"{name}{size}, {connector.gender}"


def missing_link(department: Department, starts: Iterable[Connector], lumen: Lumen) -> str:
    """Say why no chain leads from any of some connectors to a lumen.

    Parameters
    ----------
    department
        The department.
    starts
        The connectors of the ports in question.
    lumen
        The lumen that none of them reaches.

    Returns
    -------
    str
        The link that is missing, or the rule that keeps the nearest accessory from being it.
    """
    begins = _distinct(starts)
    if not begins:
        return "no carrier has a port for it"
    reached = _reachable(department, begins)
    if lumen.fed_by is FedBy.INJECTOR_NOZZLE:
        return _missing_end(department, reached, lumen, InjectorNozzle, "injector nozzle")
    if lumen.inlet is None:
        return "the connector at its inlet is not stated"
    without_strainer = lumen.model_copy(update={"strainer_upstream": False})
    if lumen.strainer_upstream and any(find_chains(department, start, without_strainer) for start in begins):
        return _missing_strainer(department)
    doubts = _doubts(department, reached, lumen.inlet)
    if doubts:
        return doubts
    if any(isinstance(a, FlushingSleeve) and _could_grip(a, lumen.inlet) for a in department.accessories.values()):
        return _missing_end(department, reached, lumen, FlushingSleeve, "flushing sleeve")
    ends = "; ".join(connector_words(department, end) for end in begins)
    return f"no adapter in the department joins {ends} to {connector_words(department, lumen.inlet)}"


def _distinct(connectors: Iterable[Connector]) -> list[Connector]:
    kept: list[Connector] = []
    for connector in connectors:
        if connector not in kept:
            kept.append(connector)
    return kept


def _reachable(department: Department, begins: list[Connector]) -> list[Connector]:
    """Return every end that links other than the last can bring to a lumen."""
    reached = list(begins)
    layer = list(begins)
    for _ in range(LONGEST - 1):
        layer = _distinct(
            link.far
            for end in layer
            for link in department.accessories.values()
            if isinstance(link, ChainLink) and not isinstance(link, FlushingSleeve | InjectorNozzle)
            if end.mates_with(link.near) is Answer.YES
        )
        reached = _distinct([*reached, *layer])
    return reached


def _could_grip(sleeve: FlushingSleeve, inlet: Connector) -> bool:
    return sleeve.grips.family == inlet.family and sleeve.grips.gender != inlet.gender


def _missing_end(
    department: Department, reached: list[Connector], lumen: Lumen, kind: type[ChainLink], word: str
) -> str:
    """Say why none of the accessories that end a chain does it for this lumen."""
    candidates = [(name, link) for name, link in department.accessories.items() if isinstance(link, kind)]
    if not candidates:
        return f"the department has no {word}"
    said = []
    for name, link in candidates:
        fit = end_fit(link, lumen, department.limits.load)
        if fit.answer is not Answer.YES:
            said.append(f"{name}: {fit.why}")
        elif not any(end.mates_with(link.near) is Answer.YES for end in reached):
            said.append(f"{name}: no adapter joins a port to {connector_words(department, link.near)}")
        else:
            said.append(f"{name}: the chain to it would have more links than allowed")
    return f"no {word} does it ({'; '.join(said)})"


def _missing_strainer(department: Department) -> str:
    strainers = [name for name, link in department.accessories.items() if isinstance(link, Strainer)]
    if not strainers:
        return "it needs a strainer in line and the department has none"
    return f"it needs a strainer in line and none joins in the chain ({', '.join(strainers)})"


def _doubts(department: Department, reached: list[Connector], inlet: Connector) -> str:
    """Name a pair of ends that might join if both sizes were known; unknown counts as no."""
    for end, where in _last_ends(department, reached):
        if end.mates_with(inlet) is Answer.UNKNOWN:
            return (
                f"whether {where} {connector_words(department, end)} joins {connector_words(department, inlet)} "
                "is unknown: only one of the two states its size"
            )
    return ""


def _last_ends(department: Department, reached: list[Connector]) -> Iterator[tuple[Connector, str]]:
    for end in reached:
        yield end, "the end"
        for name, link in department.accessories.items():
            if isinstance(link, InjectorNozzle) or not isinstance(link, ChainLink):
                continue
            if end.mates_with(link.near) is Answer.YES:
                yield (link.grips if isinstance(link, FlushingSleeve) else link.far), name
