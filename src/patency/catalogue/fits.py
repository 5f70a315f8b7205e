"""Which fit is in force, and whether it is still the one that was made."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING

from patency.catalogue.faults import unnamed
from patency.catalogue.nodes import Finding

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from patency.catalogue.commissioning import CommissionedFit
    from patency.catalogue.department import Department


def fit_in_force(department: Department, carrier: str, machine_kind: str) -> CommissionedFit | None:
    """Find the fit with which the flow of a carrier in a kind of machine is computed.

    Parameters
    ----------
    department
        The department.
    carrier
        Key of the carrier.
    machine_kind
        Key of the kind of machine.

    Returns
    -------
    CommissionedFit | None
        The one with the highest number; None where nothing was commissioned.
    """
    return _latest(fit for fit in department.commissioned.values() if _is_of(fit, carrier, machine_kind))


def bench_fit_of(department: Department, carrier: str, machine_kind: str) -> CommissionedFit | None:
    """Find what is known from readings on the bench alone, which every further fit starts from.

    Kept cycles of a load share errors that do not get smaller with their number, so a fit to cycles never starts from
    another: it takes all cycles there are, on top of the bench.

    Parameters
    ----------
    department
        The department.
    carrier
        Key of the carrier.
    machine_kind
        Key of the kind of machine.

    Returns
    -------
    CommissionedFit | None
        The one with the highest number of those made from readings on the bench; None where there is none.
    """
    fits = (fit for fit in department.commissioned.values() if _is_of(fit, carrier, machine_kind))
    return _latest(fit for fit in fits if fit.cycles is None)


def _is_of(fit: CommissionedFit, carrier: str, machine_kind: str) -> bool:
    return (fit.carrier, fit.machine_kind) == (carrier, machine_kind)


def _latest(fits: Iterable[CommissionedFit]) -> CommissionedFit | None:
    return max(fits, key=lambda fit: fit.number, default=None)


def content_id(fit: CommissionedFit) -> str:
    """Compute the id of a fit from its content.

    Parameters
    ----------
    fit
        The fit; its own id does not count.

    Returns
    -------
    str
        SHA-256 over its canonical JSON, 64 hexadecimal digits.
    """
    # Fits that were kept before there were any of cycles have their ids from files without that entry.
    left_out = {"id"} if fit.cycles is not None else {"id", "cycles"}
    data = fit.model_dump(mode="json", by_alias=True, exclude=left_out)
    text = json.dumps(data, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def fit_findings(department: Department, names: Callable[..., set[str]]) -> Iterator[Finding]:
    """Find fits of what does not exist, fits that were changed after they were made, and numbers given twice.

    Parameters
    ----------
    department
        The department, or as much of it as could be read.
    names
        Gives the names that stand at a path of the files.

    Yields
    ------
    Finding
        Each fault.
    """
    first: dict[tuple[str, str, int], str] = {}
    for key, fit in department.commissioned.items():
        path = ("commissioned", key)
        yield from unnamed((*path, "carrier"), fit.carrier, names("carriers"), "a carrier")
        yield from unnamed((*path, "machine_kind"), fit.machine_kind, names("machine_kinds"), "a kind of machine")
        if content_id(fit) != fit.id:
            yield Finding((*path, "id"), "the entry was changed after the fit", "the entry as it was written")
        other = first.setdefault((fit.carrier, fit.machine_kind, fit.number), key)
        if other != key:
            yield Finding((*path, "number"), f"{fit.number} is that of {other!r} too", "each number once")
