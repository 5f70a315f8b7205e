"""A small checker of JSON Schema: as much of it as the department's schema uses."""

from __future__ import annotations

import re
from typing import Any

TYPES: dict[str, type | tuple[type, ...]] = {
    "object": dict,
    "array": list,
    "string": str,
    "integer": int,
    "number": (int, float),
    "boolean": bool,
    "null": type(None),
}
USED = {
    "$ref",
    "type",
    "enum",
    "const",
    "pattern",
    "properties",
    "required",
    "additionalProperties",
    "propertyNames",
    "items",
    "anyOf",
    "oneOf",
    "minItems",
    "minLength",
    "maxLength",
    "minProperties",
    "minimum",
    "maximum",
    "exclusiveMinimum",
}
SILENT = {"description", "title", "default", "examples", "format", "$defs", "$schema"}


def keywords(schema: object) -> set[str]:
    """Name all keywords a schema uses."""
    if isinstance(schema, list):
        return set().union(*map(keywords, schema)) if schema else set()
    if not isinstance(schema, dict):
        return set()
    found = set(schema)
    for key, inner in schema.items():
        if key in {"properties", "$defs"}:
            found |= set().union(*map(keywords, inner.values()))
        elif key not in {"default", "examples", "enum", "const", "required"}:
            found |= keywords(inner)
    return found


def accepts(schema: dict[str, Any], value: object, root: dict[str, Any]) -> bool:
    """Tell whether a schema accepts a value."""
    if "$ref" in schema:
        name = schema["$ref"].removeprefix("#/$defs/")
        return accepts(root["$defs"][name], value, root)
    if "anyOf" in schema and not any(accepts(choice, value, root) for choice in schema["anyOf"]):
        return False
    if "oneOf" in schema and sum(accepts(choice, value, root) for choice in schema["oneOf"]) != 1:
        return False
    kind = schema.get("type")
    if kind and (not isinstance(value, TYPES[kind]) or (isinstance(value, bool) and kind != "boolean")):
        return False
    if ("enum" in schema and value not in schema["enum"]) or ("const" in schema and value != schema["const"]):
        return False
    return _sizes(schema, value) and _inside(schema, value, root)


def _sizes(schema: dict[str, Any], value: object) -> bool:
    if isinstance(value, str):
        long_enough = schema.get("minLength", 0) <= len(value) <= schema.get("maxLength", 10**9)
        return long_enough and bool(re.search(schema.get("pattern", ""), value))
    if isinstance(value, int | float) and not isinstance(value, bool):
        above = "exclusiveMinimum" not in schema or value > schema["exclusiveMinimum"]
        return bool(above and schema.get("minimum", -1e99) <= value <= schema.get("maximum", 1e99))
    least = schema.get("minItems" if isinstance(value, list) else "minProperties", 0)
    return not isinstance(value, list | dict) or len(value) >= least


def _inside(schema: dict[str, Any], value: object, root: dict[str, Any]) -> bool:
    if isinstance(value, list):
        return all(accepts(schema.get("items", {}), item, root) for item in value)
    if not isinstance(value, dict):
        return True
    if not set(schema.get("required", ())) <= set(value):
        return False
    if not all(accepts(schema.get("propertyNames", {}), key, root) for key in value):
        return False
    more, known = schema.get("additionalProperties", {}), schema.get("properties", {})
    return all(
        accepts(known.get(key, more), inner, root) if key in known or isinstance(more, dict) else False
        for key, inner in value.items()
    )
