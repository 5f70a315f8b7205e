"""What is wrong with the description of a network: every fault at once, each with its place.

Two readings of the same data: the types of ``network.py`` judge every value by itself, and the rules
below judge how links, nodes and outlets hang together, as far as their names can be read.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields
from functools import cache
from typing import Any, NamedTuple

from pydantic import TypeAdapter, ValidationError

from patency.errors import InputError, InputErrors
from patency.flow.network import SUMP, Annulus, Bore, Link, Network, Orifice, Outlet, PumpLaw, PumpPoints, Water

_BY_TAG: dict[str | int, type] = {
    "bore": Bore,
    "annulus": Annulus,
    "orifice": Orifice,
    "law": PumpLaw,
    "points": PumpPoints,
    "water": Water,
}
_BY_LIST: dict[str | int, type] = {"links": Link, "outlets": Outlet}
_KEYS_OF_OTHER_NAME = {"from_node": "from", "to_node": "to"}


class _Path(NamedTuple):
    """A link or an outlet by its names; an outlet ends nowhere."""

    place: str
    name: str | None
    start: str | None
    end: str | None


@cache
def network_adapter() -> TypeAdapter[Network]:
    """The reader and writer of networks that the types themselves define."""
    return TypeAdapter(Network)


def check_network(network: Network, source: str = "network") -> None:
    """Refuse a network that the file format would refuse, however it was made.

    Parameters
    ----------
    network
        The network.
    source
        What to call it in the faults: a file's name, for instance.

    Raises
    ------
    InputErrors
        With every fault found, each with its place.
    """
    network_from_data(network_adapter().dump_python(network, by_alias=True, warnings=False), source)


def network_from_data(data: object, source: str) -> Network:
    """Read a network from plain data, or say everything that is wrong with it.

    Parameters
    ----------
    data
        What a JSON reader gives: mappings, sequences, strings, numbers.
    source
        What to call the data in the faults.

    Returns
    -------
    Network
        The network.

    Raises
    ------
    InputErrors
        With every fault found, each with its place.
    """
    faults = []
    if isinstance(data, Mapping) and "format" not in data:
        faults.append(InputError("format", "missing", "'patency-network/1'"))
    network = None
    try:
        network = network_adapter().validate_python(data)
    except ValidationError as error:
        faults += _value_faults(error)
    faults += _topology_faults(data)
    if network is None or faults:
        raise InputErrors(
            [InputError(f"{source}: {f.where}" if f.where else source, f.what, f.expected) for f in faults]
        )
    return network


def _place(location: tuple[str | int, ...]) -> str:
    """Write a place the way a person would: links[0].segments[2].diameter_m."""
    text = ""
    for depth, part in enumerate(location):
        before = location[depth - 1] if depth else ""
        chosen_kind = part in _BY_TAG and (before == "pump" or (isinstance(before, int) and part != "water"))
        if isinstance(part, int):
            text += f"[{part}]"
        elif not chosen_kind:
            text += f".{part}" if text else part
    return text


def _known_keys(parent: tuple[str | int, ...]) -> str:
    """Name the keys that the format knows at a place."""
    kind: type = Network
    if parent:
        kind = _BY_LIST[parent[-2]] if isinstance(parent[-1], int) else _BY_TAG[parent[-1]]
    return ", ".join(_KEYS_OF_OTHER_NAME.get(field.name, field.name) for field in fields(kind))


def _value_faults(error: ValidationError) -> list[InputError]:
    """Put what the types found into our words, in the order of the file."""
    details = error.errors(include_url=False)
    faults = []
    for detail in details:
        location, kind = detail["loc"], detail["type"]
        context = detail.get("ctx", {})
        if kind == "too_short" and any(o["loc"][: len(location)] == location and o is not detail for o in details):
            continue  # the list is only short of the items that are refused by themselves
        what, expected = _shown(detail["input"]), detail["msg"].removeprefix("Input should be ")
        if kind == "missing":
            what, expected = "missing", "the key with its value"
        elif kind == "unexpected_keyword_argument":
            what, expected = "unknown key", f"one of {_known_keys(location[:-1])}"
        elif kind == "refused":
            location = (*location, context["key"])
            what, expected = context["what"], context["expected"]
        elif kind == "too_short":
            what, expected = "too few", f"at least {context['min_length']}"
        elif kind == "dataclass_type":
            expected = "a mapping of keys to values"
        elif kind == "tuple_type":
            expected = "a list"
        elif kind.startswith("union_tag"):
            expected = "a shape: bore, annulus or orifice"
        faults.append(InputError(_place(location), what, expected))
    return faults


def _shown(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:57]}..."


def _paths(data: object, key: str, start: str, end: str) -> list[_Path]:
    """Collect the names of links or outlets that can be read."""
    rows = data.get(key) if isinstance(data, Mapping) else None
    if not isinstance(rows, Sequence) or isinstance(rows, str):
        return []

    def text(row: Mapping[str, Any], name: str) -> str | None:
        value = row.get(name)
        return value if isinstance(value, str) and value else None

    return [
        _Path(f"{key}[{place}]", text(row, "id"), text(row, start), text(row, end))
        for place, row in enumerate(rows)
        if isinstance(row, Mapping)
    ]


def _topology_faults(data: object) -> list[InputError]:
    """Find double names, links that lead nowhere, and water that cannot arrive."""
    links, outlets = _paths(data, "links", "from", "to"), _paths(data, "outlets", "node", "")
    return [*_double_names([*links, *outlets]), *_sump_faults(links, outlets), *_unreached(links, outlets)]


def _double_names(paths: list[_Path]) -> list[InputError]:
    first: dict[str, str] = {}
    faults = []
    for path in paths:
        if path.name is None:
            continue
        if path.name in first:
            faults.append(InputError(f"{path.place}.id", repr(path.name), f"a name unlike that of {first[path.name]}"))
        first.setdefault(path.name, path.place)
    return faults


def _sump_faults(links: list[_Path], outlets: list[_Path]) -> list[InputError]:
    faults = []
    pumped = [link for link in links if link.start == SUMP]
    if links and not pumped and all(link.start for link in links):
        faults.append(InputError("links", f"none leaves {SUMP}", "one link that holds the pump"))
    faults += [InputError(f"{link.place}.from", repr(SUMP), "one link only that holds the pump") for link in pumped[1:]]
    for link in links:
        if link.end == SUMP:
            faults.append(InputError(f"{link.place}.to", repr(SUMP), "a node; describe a return as an outlet"))
        if link.start is not None and link.start == link.end:
            faults.append(InputError(f"{link.place}.to", repr(link.end), "another node than the one it leaves"))
    for outlet in outlets:
        if outlet.start == SUMP:
            faults.append(InputError(f"{outlet.place}.node", repr(SUMP), "a node behind the pump"))
    return faults


def _unreached(links: list[_Path], outlets: list[_Path]) -> list[InputError]:
    """Find what no path from the sump reaches, in whatever direction the links are written."""
    if any(link.start is None or link.end is None for link in links):
        return []  # with a link's end unread, nothing can be said of the rest
    nodes = {node for link in links for node in (link.start, link.end)}
    reached, grown = {SUMP}, True
    while grown:
        grown = False
        for link in links:
            if (link.start in reached) != (link.end in reached):
                reached |= {str(link.start), str(link.end)}
                grown = True
    faults = [
        InputError(link.place, f"no path from {SUMP} to {link.start!r}", "a network in one piece")
        for link in links
        if link.start not in reached and SUMP in nodes
    ]
    faults += [
        InputError(f"{outlet.place}.node", repr(outlet.start), "the end of a link")
        for outlet in outlets
        if outlet.start is not None and outlet.start not in nodes
    ]
    return faults
