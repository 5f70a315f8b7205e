"""The open formats ``patency-network/1`` and ``patency-flow/1``: text in, text out, no file is touched."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from patency.catalogue import read_json
from patency.errors import InputErrors
from patency.flow.network_check import network_adapter, network_from_data

if TYPE_CHECKING:
    from patency.flow.network import Network
    from patency.flow.result import FlowResult


def parse_network(text: str, source: str = "network") -> Network:
    """Read a network file, strictly: unknown, missing and repeated keys are faults.

    Parameters
    ----------
    text
        The whole file, JSON in the format ``patency-network/1``.
    source
        What to call the text in the faults: the file's name.

    Returns
    -------
    Network
        The network, checked.

    Raises
    ------
    InputErrors
        If the text is not JSON, with line and column, or the network is not sound, with every fault found, each with
        its place in the file.
    """
    data, faults = read_json(text, source)
    try:
        network = network_from_data(data, source)
    except InputErrors as error:
        raise InputErrors([*faults, *error.faults]) from None
    if faults:
        raise InputErrors(faults)
    return network


def write_network(network: Network) -> str:
    """Write a network as JSON text that `parse_network` reads back to an equal value.

    Parameters
    ----------
    network
        The network.

    Returns
    -------
    str
        JSON in the format ``patency-network/1``, one key a line, ending with a line feed.
    """
    data = network_adapter().dump_python(network, by_alias=True, mode="json", exclude_none=True)
    return json.dumps(data, indent=1, ensure_ascii=False) + "\n"


def network_schema() -> dict[str, Any]:
    """Describe the network file as JSON Schema, made from the types themselves.

    Returns
    -------
    dict
        The schema, draft 2020-12, as plain data. What it cannot say (nodes that hang together, a rod
        thinner than its tube) only `parse_network` checks.
    """
    schema = network_adapter().json_schema(by_alias=True)
    schema["required"] = ["format", *schema["required"]]
    for kind in schema["$defs"].values():
        if "shape" in kind["properties"]:
            kind["required"] = ["shape", *kind["required"]]
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def result_to_dict(result: FlowResult) -> dict[str, Any]:
    """Put the result of a solve into the form of ``patency-flow/1``.

    Parameters
    ----------
    result
        The result.

    Returns
    -------
    dict
        Plain data, ready for JSON. A friction factor is null where nothing flows or no wall rubs (orifice).
    """
    return {
        "format": "patency-flow/1",
        "flows_m3_s": dict(result.flows_m3_s),
        "heads_m": dict(result.heads_m),
        "segments": {name: [asdict(segment) for segment in rows] for name, rows in result.segments.items()},
        "dry_outlets": list(result.dry_outlets),
        "mass_balance_error_m3_s": result.mass_balance_error_m3_s,
        "energy_error_m": result.energy_error_m,
        "iterations": result.iterations,
    }
